package core

import (
	"time"

	"trueup/loop"
	"trueup/loop/solve"
)

// station sets a unit to a drive that the estimate did not ask for, takes
// readings there, and lets the estimate learn from them.
type station struct {
	u     *unit
	match *solve.Match // nil: nobody learns
	drive solve.Drive
	why   string
	left  int // usable readings still wanted

	after  time.Duration       // nothing is read before this moment
	heard  func(solve.Reading) // is told each reading where nobody learns; may be nil
	stands *loop.Arrival
	onWay  bool // the visit goes on to another setting, whatever is read here
	dim    dim
	weak   *weak // why there is no light, or none that can be told, once that is decided
	began  bool
}

// step is done (next) when the readings are in, or when weak says why there is no
// light.
func (s *station) step(c *Core, in input) want {
	switch {
	case in.arrived != nil:
		s.stands = in.arrived
		c.stood(s.u, Step{Action: "sent", Codes: in.arrived.Sent})
	case in.reading != nil:
		net, w := c.netOf(s.u, in.reading)
		if w != nil {
			s.dim.add(c)
			why := w.why
			if s.onWay && w.coloured {
				why = s.why + ": " + why + "; the match goes on without it"
			}
			c.setAside(s.u, in.reading, why)
			if (s.dim.decides(c) || s.onWay && (w.leaves(s.dim.n) || s.u.glows != "")) && !c.mayBeStale(s.u, w) {
				c.unlit(s.u, w)
				s.weak = w
				return want{next: true}
			}
			break
		}
		s.dim = dim{}
		if c.inBeam(s.u, s.match, in.reading, &net, false) {
			return want{read: c.askOf(s.u, max(s.after, in.reading.At+beamPause))}
		}
		if s.match != nil && c.risesYet(s.u, in.reading, &net) {
			break
		}
		s.left--
		net.Drive, net.Around, net.Dark = s.stands.Sent, c.around(s.u), s.u.inTheDark
		c.keepReading(s.u, in.reading, &net)
		if s.heard != nil {
			s.heard(net)
		}
		if s.match != nil {
			c.gave(s.u, &net)
			s.match.Common(c.common(s.u.Info.Probe, net.UV.XYZ(net.Y)))
			c.account(s.u, s.match.Observe(net))
		}
	case !s.began:
		s.began = true
		c.decided(s.u, Step{Action: s.why, Codes: s.drive})
		return want{set: &move{unit: s.u, drive: s.drive}}
	}
	if s.left <= 0 {
		return want{next: true}
	}
	return want{read: c.askOf(s.u, max(s.after, s.dim.next(c)))}
}

// goOnWith has another match learn, where one does.
func (s *station) goOnWith(m *solve.Match) {
	if s.match != nil {
		s.match = m
	}
}

// stays has a station begin at a unit that stands at its drive already.
func (s *station) stays(c *Core) {
	at := s.u.at
	s.began, s.stands = true, &at
	c.decided(s.u, Step{Action: s.why, Codes: s.drive})
	c.stood(s.u, Step{Action: "sent", Codes: at.Sent})
}

// asFound reads a unit at what its profile says is the reference's colour, or at
// what the desk has set.
type asFound struct{ station }

func (a *asFound) unit() *unit { return a.u }

func (a *asFound) step(c *Core, in input) want {
	if in.refused != "" {
		a.held(c, in.refused)
		return want{next: true}
	}
	if !a.began {
		c.visit(a.u)
		m, err := c.matchFrom(a.u, nil, 0) // as found is what the profile says, not what sisters taught
		if err != nil {
			return want{fail: err}
		}
		a.match, a.drive, a.why, a.left = m, a.u.Found, "as found", 1
		if a.drive == nil {
			d := m.Next(c.now)
			if d.Action != solve.Move {
				a.held(c, "no setting to begin with: "+d.Reason)
				return want{next: true}
			}
			a.drive = d.Drive
		}
	}
	w := a.station.step(c, in)
	switch {
	case w.next && a.weak != nil:
		a.held(c, a.weak.noLight(a.dim.n))
	case w.next && a.u.tally.kept > 0:
		a.u.prior = new(a.match.Posterior()) // for whoever asks later what the lamp may reach
	}
	return w
}

func (a *asFound) held(c *Core, why string) {
	c.enter(Entry{Kind: KindOutcome, Fixture: a.u.Info.Name, Outcome: c.outcomeOf(a.u, solve.Decision{Outcome: solve.Held, Reason: why})})
}

func (a *asFound) skipped(c *Core, why string) {
	a.held(c, why)
	*a = asFound{station{u: a.u, began: true, match: a.match}}
	a.left = 0
}
