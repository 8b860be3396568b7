package core

import (
	"slices"

	"trueup/loop"
	"trueup/loop/solve"
)

// settledReadings are those of a measurement of the dead time that began after the light had settled, by what was
// measured here and by what counts for the type; none where it was not measured to its end.
func (d *deadTime) settledReadings() (got []Reading) {
	if !d.known {
		return nil
	}
	for _, r := range d.heard {
		if r.At-r.Integration >= d.arrived+max(d.own, d.u.settle) && !r.TooDark {
			got = append(got, r)
		}
	}
	return got
}

// where begins the loop on a unit that stands at the first setting already, and gives the estimate what was read of
// it there. Where the match would begin elsewhere, it begins as any other.
func (m *matching) where(c *Core, u *unit, match *solve.Match, got []Reading) want {
	m.visit = &loop.Visit{Match: match, Settle: u.settle, At: u.at}
	n := m.visit.Step(c.now, loop.Happened{})
	if len(got) == 0 || n.Move == nil || !slices.Equal(n.Move, u.at.Sent) {
		return m.next(c, u, n)
	}
	d := n.Decision
	c.decided(u, Step{Action: d.Action.String(), Codes: d.Drive, Predicted: d.Predicted, PredictedSD: d.PredictedSD, Probability: d.P, Words: d.Reason})
	c.stood(u, Step{Action: "sent", Codes: u.at.Sent, Predicted: d.Predicted, PredictedSD: d.PredictedSD})
	m.visit.Step(c.now, loop.Happened{Arrived: &u.at})
	last := len(got) - 1
	for i := range got[:last] {
		net, w := c.net(&got[i])
		if w != nil {
			c.setAside(u, &got[i], w.why)
			continue
		}
		net.Drive = u.at.Sent
		c.keepReading(u, &got[i], net)
		match.Common(c.common(u.Info.Probe, net.UV.XYZ(net.Y)))
		c.account(u, match.Observe(net))
		m.visit.Readings++
	}
	return m.step(c, u, match, input{reading: &got[last]})
}
