package core

import (
	"fmt"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// Palette reads settings that were predicted for other colours, and corrects those that lie off: each is a first visit
// that begins at the predicted setting, with what an earlier run has learnt of the unit.
const Palette Work = "palette"

// MostWished bounds how many settings one run reads.
const MostWished = 4000

// Wished is a colour that a unit is to reach, and the setting that is predicted for it.
type Wished struct {
	Fixture string       `json:"fixture"`
	Text    string       `json:"text"` // the colour, as the person wrote it
	UV      colorcalc.UV `json:"uv"`
	Codes   solve.Drive  `json:"codes"`
}

// restSince is how long ago the readings were that a palette is predicted from, in seconds: long enough for a lamp to
// have gone cold or warm.
const restSince = 3600.0

func (c *Config) checkPalette() error {
	if n := len(c.Wished); n < 1 || n > MostWished {
		return fmt.Errorf("%d settings of a palette: want 1 to %d", n, MostWished)
	}
	for _, w := range c.Wished {
		known := false
		for i := range c.Units {
			u := &c.Units[i]
			known = known || u.Info.Name == w.Fixture && u.Head >= 0 && len(w.Codes) == len(u.Spec.Channels)
		}
		if !known || c.Priors[w.Fixture] == nil {
			return fmt.Errorf("%q is no fixture that is driven and of which something was learnt", w.Fixture)
		}
		if !w.UV.XY().Valid() {
			return fmt.Errorf("%s: %q is no colour of light", w.Fixture, w.Text)
		}
	}
	return nil
}

// palette lays out the visits.
func (c *Core) palette() (all []task) {
	for i := range c.cfg.Wished {
		w := &c.cfg.Wished[i]
		u := c.find(w.Fixture)
		if u.prior == nil {
			p := *c.cfg.Priors[w.Fixture]
			p.IdleSeconds = restSince
			u.prior = &p
		}
		all = append(all, &firstVisit{u: u, wish: w})
	}
	return append(all, c.passages()...) // what the background did is known of the last ones too
}

// seek makes a colour of the palette what is aimed at. What the unit has cost so far was for another.
func (c *Core) seek(u *unit, w *Wished) {
	if c.ref == nil || c.ref.Name != w.Text || c.ref.UV != w.UV {
		c.ref = &Reference{Name: w.Text, UV: w.UV}
		c.enter(Entry{Kind: KindReference, Reference: c.ref, Note: "a colour of the palette, not measured"})
	}
	u.tally, u.found, u.before, u.final, u.outcome, u.claim = tally{}, nil, nil, nil, nil, nil
	u.begunAnew, u.crossed = 0, 0
}
