package report

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/gel"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session"
	"trueup/loop/solve"
)

// Extras is what a report tells beside the run itself.
type Extras struct {
	Cautions string // the program's standing words
	// Common is what other targets would cost, the target of the run first and the best common colour last, of so
	// many Fixtures; nil: not asked, or nothing better than the target.
	Common   []session.Choice
	Fixtures int
	// History is a plot of how the lamps have aged, as SVG, and HistoryWords what stands out of it.
	History      template.HTML
	HistoryWords []string
	Paper        Paper
}

// MissedByReach tells whether a run left a lamp out of reach.
func MissedByReach(s *session.Summary) bool {
	return slices.ContainsFunc(s.Fixtures, func(f session.FixtureSummary) bool {
		o := f.Final()
		return o != nil && o.Result == solve.OutOfReach && o.Final != nil
	})
}

// helpPart says what would help lamps that are out of reach.
type helpPart struct {
	Lamps   []helpRow
	Own     bool // the filters are those of the rig's list, not the nominal series
	More    int
	Notes   []string
	Choices []choiceRow
}

type helpRow struct{ Name, Off, Filters, Left, Stops string }

type choiceRow struct{ Target, UV, Beside, Reached, Brightest, Out string }

// mostHelped lamps have their filters sought.
const mostHelped = 40

// helpOf seeks filters of the rig's list, else of the nominal series, for every lamp out of reach; nil: there is none.
func helpOf(s *session.Summary, x *Extras) *helpPart {
	if s.Reference == nil || !MissedByReach(s) {
		return nil
	}
	h := &helpPart{Own: len(s.Info.Gels) > 0}
	to := s.Reference.UV.XY()
	list := s.Info.Filters()
	if !h.Own {
		list = gel.Nominal()
	}
	for i := range s.Fixtures {
		f := &s.Fixtures[i]
		o := f.Final()
		if o == nil || o.Result != solve.OutOfReach || o.Final == nil {
			continue
		}
		if len(h.Lamps) == mostHelped {
			h.More++
			continue
		}
		h.Lamps = append(h.Lamps, h.filters(f, o.Final, to, list))
	}
	for i, c := range x.Common {
		if len(x.Common) < 2 {
			break // no other target is better
		}
		h.Choices = append(h.Choices, choiceRow{Target: ChoiceName(i, c, "the target", x.Fixtures), UV: fmt.Sprintf("%.4f %.4f", c.UV.U, c.UV.V),
			Beside: besideWish(i, c, x.Common[0].UV), Reached: fmt.Sprintf("%d of %d", c.Reached, x.Fixtures), Brightest: BrightestWords(c), Out: outWords(c)})
	}
	return h
}

// FilterAdvice says of every lamp out of reach which filters of the rig's own list would help; nil where it has none.
func FilterAdvice(s *session.Summary) (words []string) {
	if len(s.Info.Gels) == 0 {
		return nil
	}
	h := helpOf(s, &Extras{})
	if h == nil {
		return nil
	}
	for _, l := range h.Lamps {
		if l.Left == "" {
			words = append(words, fmt.Sprintf("%s: %s", l.Name, l.Filters))
			continue
		}
		words = append(words, fmt.Sprintf("%s: of the rig's filters %s would leave %s (predicted)", l.Name, l.Filters, l.Left))
	}
	return words
}

// longList filters are more than three layers are sought of here: it takes seconds a lamp, while lamps are handed back.
const longList = 60

// filters seeks what brings a lamp from where it stands to the target.
func (h *helpPart) filters(f *session.FixtureSummary, at *session.Stand, to colorcalc.XY, list []gel.Gel) helpRow {
	row := helpRow{Name: f.Name, Off: fmt.Sprintf("%.4f", at.Delta), Filters: "none of the nominal series helps by what it costs"}
	layers := gel.MaxLayers
	if h.Own {
		row.Filters = "none of the rig's list helps by what it costs"
	}
	if len(list) > longList {
		layers = 2
		h.note("Of so long a list at most two layers were sought; trueup gel --rig seeks three.")
	}
	src := gel.Source{XY: at.UV.XY()}
	var own spectrum.Spectrum
	if f.Light != nil {
		own = *f.Light
		src.Spectrum = &own
	}
	all, err := gel.Choose(src, to, list, layers)
	if err != nil {
		row.Filters = err.Error()
		return row
	}
	best := all[len(all)-1]
	if len(best.Layers) == 0 {
		return row
	}
	var names []string
	for _, g := range best.Layers {
		names = append(names, g.Name)
	}
	row.Filters, row.Left = strings.Join(names, " + "), fmt.Sprintf("%.4f", best.Residual)
	if best.StopsKnown {
		row.Stops = fmt.Sprintf("%.1f", best.Stops)
	}
	for _, n := range best.Notes {
		h.note(n)
	}
	return row
}

func (h *helpPart) note(n string) {
	if !slices.Contains(h.Notes, n) {
		h.Notes = append(h.Notes, n)
	}
}

// ChoiceName names the i-th of the targets that might be taken; wish is the first.
func ChoiceName(i int, c session.Choice, wish string, fixtures int) string {
	switch {
	case i == 0:
		return wish
	case c.Reached == fixtures:
		return "best common of all"
	}
	return fmt.Sprintf("best common of %d", c.Reached)
}

func besideWish(i int, c session.Choice, wish colorcalc.UV) string {
	if i == 0 {
		return ""
	}
	return fmt.Sprintf("%.4f: %s", c.Off, colorcalc.Describe(wish.XY(), c.UV.XY()))
}

// BrightestWords is the most light that all who reach a choice can hold.
func BrightestWords(c session.Choice) string {
	if !(c.Lux > 0) {
		return "not known before a reading"
	}
	return fmt.Sprintf("%s lux at the probe, by %s", luxText(c.Lux), c.Weakest)
}

// mostOut are named in one line.
const mostOut = 6

func outWords(c session.Choice) string {
	var names []string
	for i, o := range c.Out {
		if i == mostOut {
			names = append(names, fmt.Sprintf("and %d more", len(c.Out)-i))
			break
		}
		names = append(names, fmt.Sprintf("%s (%.4f)", o.Fixture, o.Off))
	}
	return strings.Join(names, ", ")
}
