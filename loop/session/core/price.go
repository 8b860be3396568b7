package core

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"trueup/colorcalc/quality"
	"trueup/loop/solve"
)

// Spending says what a wish by spectra costs in light and brings, for the fixtures of one type, before the first of
// them is matched. All of it is predicted.
type Spending struct {
	Wish      solve.Wish   `json:"wish"`
	Floor     float64      `json:"floor"` // least part of the most light that is kept
	Fixtures  []string     `json:"fixtures"`
	Reference string       `json:"reference"`       // what they are to look like, in words
	Seen      string       `json:"seen"`            // by whom, in words
	Price     *solve.Price `json:"price,omitempty"` // nil: there is nothing to choose by; Note says why
	Note      string       `json:"note,omitempty"`
	NoLight   bool         `json:"no_light,omitempty"` // the emitters have spectra, the reference has none yet
}

// Predicted is how alike a fixture is predicted to be to the reference where it stands. No reading stands behind it.
type Predicted struct {
	Now       float64 `json:"mean_de"`            // mean difference of the 99 samples over all observers
	Brightest float64 `json:"mean_de_most_light"` // the same with the most light of the colour
}

// pricing says the price of likeness once for each type.
type pricing struct{}

func (pricing) unit() *unit { return nil }

func (pricing) step(c *Core, _ input) want {
	told := map[string]bool{}
	c.each(func(u *unit) {
		key := u.Type
		if key == "" {
			key = u.Info.Name
		}
		if told[key] || u.Spec.Kind != solve.Emitters {
			return
		}
		told[key] = true
		s := c.spendingOf(u)
		c.enter(Entry{Kind: KindSpend, Spending: &s, Note: s.Words()})
	})
	return want{next: true}
}

// spendingOf asks the match that a unit would begin with.
func (c *Core) spendingOf(u *unit) Spending {
	s := Spending{Wish: c.cfg.Plan.Spend.Wish, Floor: c.cfg.Plan.Spend.Floor, Reference: c.likeToWords(), Seen: c.seenBy()}
	c.each(func(o *unit) {
		if o.Type == u.Type && (u.Type != "" || o == u) {
			s.Fixtures = append(s.Fixtures, o.Info.Name)
		}
	})
	spectra := c.cfg.Spectra[u.Type]
	_, like := c.spendOn(u)
	switch {
	case len(spectra) == 0 || slices.Contains(spectra, nil):
		s.Note = "the profile has no spectra of its emitters: by chromaticity alone nothing is claimed, and the mix is chosen for most white light. Measure them: trueup profile probe, with a spectrometer"
		return s
	case like == nil:
		s.NoLight = true
		s.Note = "the reference was read without a spectrum: by chromaticity alone nothing is claimed, and the mix is chosen for most white light. Read it with a spectrometer"
		return s
	}
	m, err := c.newMatch(u, 0)
	if err != nil {
		s.Note = err.Error()
		return s
	}
	p, ok := m.Price()
	if !ok {
		s.Note = "no mix of its emitters is predicted to reach the target"
		return s
	}
	s.Price = &p
	if p.Emitters <= solve.LittleToGain {
		s.Note = fmt.Sprintf("with %d emitters there is hardly anything to choose: colour and level leave almost no freedom", p.Emitters)
	}
	return s
}

// likeToWords says what the lamps are to look like.
func (c *Core) likeToWords() string {
	name := c.cfg.Plan.Target.Reference
	if c.cfg.Plan.Spend.Wish == solve.Alike && name != "" {
		return name + ", by its measured spectrum"
	}
	return "daylight or a black body of its colour temperature (CIE 224)"
}

// seenBy says who looks.
func (c *Core) seenBy() string {
	switch cam := c.cfg.Plan.Spend.Camera; {
	case c.cfg.Plan.Spend.Wish == solve.Rendering:
		return "the eye, as Rf of CIE 224 has it"
	case cam != nil:
		return "your camera, " + cam.Name
	}
	return "a set of observers, as no camera was described; to none of them it looks less alike than the most light, by the prediction"
}

// Words is the price in one sentence.
func (s *Spending) Words() string {
	if s.Price == nil {
		return strings.Join(s.Fixtures, ", ") + ": " + s.Note
	}
	mean := func(r solve.PriceRow) string { return s.Figure(r.Means) }
	bright := s.Price.Rows[0]
	var parts []string
	rest := ""
	for i, r := range s.Price.Rows[1:] {
		part := fmt.Sprintf("%s at %.0f %%", mean(r), 100*r.Level)
		if i > 0 && part == parts[len(parts)-1] {
			rest = "; to give up more of it brings nothing"
			break
		}
		parts = append(parts, part)
	}
	what := "mean difference"
	if s.Wish == solve.Rendering {
		what = "Rf"
	}
	text := fmt.Sprintf("predicted for %s: %s %s with the most light; %s of that light%s", strings.Join(s.Fixtures, ", "), what, mean(bright), strings.Join(parts, ", "), rest)
	if s.Note != "" {
		text += "; " + s.Note
	}
	return text
}

// Figure is the mean over the observers, or the Rf.
func (s *Spending) Figure(means []float64) string {
	if s.Wish == solve.Rendering {
		return fmt.Sprintf("%.0f", quality.FidelityOf(meanOf(means)))
	}
	return fmt.Sprintf("%.1f", meanOf(means))
}

func meanOf(v []float64) (mean float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	return mean
}

// alikeNow predicts how a unit looks where its match left it; nil: it has no spectra to tell by.
func (c *Core) alikeNow(m *solve.Match) *Predicted {
	if c.spending == nil {
		return nil
	}
	p, ok := m.Price()
	if !ok || p.Now == nil {
		return nil
	}
	out := &Predicted{Now: meanOf(p.Now), Brightest: meanOf(p.Rows[0].Means)}
	if math.IsNaN(out.Now) || math.IsNaN(out.Brightest) {
		return nil
	}
	return out
}
