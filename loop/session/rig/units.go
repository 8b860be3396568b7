package rig

// units gives the lamps of an entry their serials: one for each.
func (r *reader) units(at string, raw *fileFixture, all []Fixture) {
	if raw.Unit == "" {
		return
	}
	s, err := parseSpan(raw.Unit)
	if err != nil {
		r.fault(at+".unit", "unit: %v", err)
		return
	}
	if n := s.count(); n != len(all) {
		r.fault(at+".unit", "unit %q names %d fixtures, and there are %d", raw.Unit, n, len(all)).Advise("a serial is that of one fixture: write a range, or an entry for each fixture")
		return
	}
	seen := map[string]bool{}
	for i := range r.rig.Fixtures {
		seen[r.rig.Fixtures[i].Unit] = true
	}
	for i := range all {
		all[i].Unit = s.name(i)
		if seen[all[i].Unit] {
			r.fault(at+".unit", "unit %q is the serial of another fixture of this rig", all[i].Unit).Advise("every fixture has its own")
			return
		}
	}
}
