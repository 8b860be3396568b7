package core

import "slices"

// What a lamp is handed back to is another mix than it was matched at, and emitters go there no faster than light may: two seconds from full to nothing, also
// where the dimmer is down and nobody sees it. So the lamps that nobody lights any more are set to the colour of their rest while the last one is read, and in
// the dark at the end. Nobody waits for it. A lamp that is visited again after all takes its colour as it fades in.

// restColours sets such lamps to the colour of their rest, where a lane reads something and has no visit before it.
func (c *Core) restColours(l *lane) {
	if c.cfg.Work != Match || !c.cfg.Plan.Preset || c.cfg.Plan.KeepLit || c.cfg.Plan.HandMeter || c.several() {
		return
	}
	_, round2 := atFixture(l.task).(*secondVisit)
	if !round2 && !passage(l.task) || slices.ContainsFunc(l.tasks, visits) || !slices.ContainsFunc(l.tasks, proves) {
		return
	}
	for _, u := range c.units {
		if !c.ours(u) || u.bright || u.adrift || len(u.Dark) == 0 || u.at.Sent == nil || slices.Contains(l.moving, u) || slices.Contains(c.colouring, u) {
			continue
		}
		if k := u.claim; k != nil && !(u.outcome.Landed() && c.holds(k) >= keepAt) {
			continue
		}
		d := u.Darkened(u.Rest)
		if slices.Equal(d, u.at.Sent) || !slices.Equal(u.Darkened(u.at.Sent), u.at.Sent) {
			continue
		}
		u.wished, u.ahead = slices.Clone(d), nil
		c.do.Wishes = append(c.do.Wishes, Wish{Head: u.Head, Codes: slices.Clone(d)})
		c.colouring = append(c.colouring, u)
	}
}

// visits tells whether a task is a visit to a lamp, or a way back to one.
func visits(t task) bool { u := t.unit(); return u != nil && u.Head >= 0 }

// proves tells whether a task looks at all claims.
func proves(t task) bool { _, ok := t.(proof); return ok }
