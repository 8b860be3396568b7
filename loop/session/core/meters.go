package core

// meters is the noise of each feed. Two meters commonly scatter unlike: a lamp is matched with the noise of the
// meter that reads it, not with that of the one that read the reference.
type meters struct {
	first meterNoise             // of the feed that reads the reference, or the first unit where none is read; of every probe that no unit has
	more  map[string]*meterNoise // of each other feed
	feeds map[string]string      // by probe: its feed, of those in more
}

// metersOf are the feeds that read some units, none read yet. A feed without a name is not told from the first.
func metersOf(units []*unit, reference string) (m meters) {
	first := ""
	for _, u := range units {
		if u.Feed != "" && (first == "" || u.Info.Name == reference) {
			first = u.Feed
		}
	}
	m.more, m.feeds = map[string]*meterNoise{}, map[string]string{}
	for _, u := range units {
		if u.Feed != "" && u.Feed != first {
			m.more[u.Feed], m.feeds[u.Info.Probe] = &meterNoise{}, u.Feed
		}
	}
	return m
}

// at is the noise of the meter at a probe. One that showed none of its own yet is taken to be as the noisiest of the others, or as is
// assumed of a meter where that is more: too little noise makes false landings.
func (m *meters) at(probe string) *meterNoise {
	n := m.more[m.feeds[probe]]
	if n == nil {
		return &m.first
	}
	if n.dof == 0 && n.dofY == 0 {
		n.assumedUV, n.assumedLnY = m.first.sigmaUV(), m.first.sigmaLnY()
		for _, o := range m.more {
			if o.dof > 0 {
				n.assumedUV, n.assumedLnY = max(n.assumedUV, o.sigmaUV()), max(n.assumedLnY, o.sigmaLnY())
			}
		}
	}
	return n
}

// noiseAt is the noise of the meter at a probe.
func (c *Core) noiseAt(probe string) *meterNoise { return c.meters.at(probe) }

// noiseOf is the noise of the meter that gave some readings of one probe.
func (c *Core) noiseOf(got []Reading) *meterNoise {
	if len(got) == 0 {
		return &c.meters.first
	}
	return c.noiseAt(got[0].Probe)
}

// noiseOfRef is the noise of the meter that reads the reference.
func (c *Core) noiseOfRef() *meterNoise { return &c.meters.first }
