package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/colorcalc/expr"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/profiles/printable"
)

// reachesOf is what the fixtures of a job reach, by the newest match of the rig, else its newest
// survey, else what earlier runs learnt of their types; and in words where that comes from. earlier is the
// light of the reference as that run read it; nil: there is none.
func reachesOf(set *settings, j session.Job) (r *session.Reaches, words string, earlier *session.Reference, err error) {
	own, err := core.New(j.Config())
	if err != nil {
		return nil, "", nil, err
	}
	words = "the profiles, and what earlier runs learnt of these types; no reading of this rig"
	var known []*core.Core
	for _, find := range []func(string, string) (string, error){session.NewestRun, session.NewestSurvey} {
		dir, err := find(set.Out, j.Rig.Name)
		if err != nil {
			continue
		}
		past, err := readPast(dir)
		if err != nil {
			continue
		}
		s := past.sum
		if earlier == nil {
			earlier = s.Reference
		}
		c, err := past.learnt()
		if err != nil {
			continue // of another version: its readings can not be weighed again
		}
		if known = append(known, c); len(known) == 1 {
			words = fmt.Sprintf("the %s of %s (%s)", s.Info.Work, s.Started.Format("2 January 2006, 15:04"), dir)
		}
	}
	r, err = session.KnownReaches(j.Compiled.Units, j.Plan.Target.Reference, j.Plan.Tolerance, append(known, own)...)
	return r, words, earlier, err
}

// wishOf is the colour that a best common one shall be near: the one a person names, else the rig's
// target, else the light of its reference as an earlier run read it.
func wishOf(r *rig.Rig, said string, earlier *session.Reference) (text string, uv colorcalc.UV, err error) {
	if said == "" {
		said = r.Target.Color
	}
	if said == "" {
		if earlier == nil || !strings.EqualFold(earlier.Name, r.Target.Reference) {
			return "", uv, usageError("the light of %s was not read yet: name a colour, or survey the rig first with --live", r.Target.Reference)
		}
		return "the light of " + earlier.Name, earlier.UV, nil
	}
	c, err := expr.Parse(said)
	if err == nil && c.XY.UV() == (colorcalc.UV{}) {
		err = errors.New("it is none of light")
	}
	if err != nil {
		return "", uv, usageError("%q is no colour: %v", said, err)
	}
	return said, c.XY.UV(), nil
}

// commonChoices is what each choice of a target costs, the wish first and the best common one last.
type commonChoices struct {
	wish  string
	from  string // where what is known of the fixtures comes from
	reach *session.Reaches
	all   []session.Choice
}

// aimAtBestCommon takes the best common target for a match, where the rig asks for it, and says what each choice costs; nil where there
// was none. A verification has the target of the match that it verifies; a survey has the wish.
func aimAtBestCommon(set *settings, j *session.Job) (*commonChoices, error) {
	switch {
	case !j.Rig.Target.BestCommon:
		return nil, nil
	case j.Work != core.Match:
		if j.Previous != nil && j.Previous.Info.Core != nil {
			j.Plan.Target = j.Previous.Info.Core.Plan.Target
		}
		return nil, nil
	}
	reaches, words, earlier, err := reachesOf(set, *j)
	if err != nil {
		return nil, err
	}
	wish, uv, err := wishOf(j.Rig, "", earlier)
	if err != nil {
		return nil, err
	}
	k := &commonChoices{wish, words, reaches, reaches.Choices(uv)}
	best := k.all[len(k.all)-1]
	j.Plan.Target = core.Target{Text: wish, UV: best.UV}
	if len(k.all) > 1 {
		j.Plan.Target.Text = fmt.Sprintf("uv %.4f %.4f, the best common colour near %s", best.UV.U, best.UV.V, wish)
	}
	return k, nil
}

// commonByHand is the target of lamps that a person sets: in a rig that asks for a best common colour the one that
// the newest match of its other lamps went to.
func commonByHand(set *settings, r *rig.Rig, plain core.Target) (core.Target, error) {
	if !r.Target.BestCommon {
		return plain, nil
	}
	_, s, err := previousRun(set.Out, r.Name, "")
	if err == nil && s.Info.Core == nil {
		err = errors.New("the newest match is of a version that does not tell")
	}
	if err != nil {
		return plain, fmt.Errorf("%s:%d:%d: best_common: fixtures set by hand go to the colour that the other fixtures were matched to: match those first, or take best_common out (%w)",
			r.Path, r.Target.Pos.Line, r.Target.Pos.Col, err)
	}
	return s.Info.Core.Plan.Target, nil
}

// show writes a table for a terminal.
func (k *commonChoices) show(w io.Writer) {
	fmt.Fprintln(w, k.lead())
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "  target\tu' v'\tbeside the wish\treached by\tbrightest for all of them")
	for i, c := range k.all {
		fmt.Fprintf(tw, "  %s\t%.4f %.4f\t%s\t%d of %d\t%s\n", k.name(i), c.UV.U, c.UV.V, k.beside(i), c.Reached, k.reach.Fixtures(), report.BrightestWords(c))
	}
	tw.Flush()
	for _, line := range k.leftOut() {
		fmt.Fprintln(w, " ", line)
	}
}

// sentences are the same for a page, where a table is too wide.
func (k *commonChoices) sentences() []string {
	lines := []string{k.lead()}
	for i, c := range k.all {
		lines = append(lines, fmt.Sprintf("%s: u′v′ %.4f %.4f, %s; reached by %d of %d; brightest for all of them: %s",
			k.name(i), c.UV.U, c.UV.V, k.beside(i), c.Reached, k.reach.Fixtures(), report.BrightestWords(c)))
	}
	return append(lines, k.leftOut()...)
}

func (k *commonChoices) lead() string {
	return fmt.Sprintf("what %s can reach, predicted from %s:", printable.Count(k.reach.Fixtures(), "fixture"), k.from)
}

// leftOut says of each choice whom it leaves out.
func (k *commonChoices) leftOut() (lines []string) {
	for i, c := range k.all {
		for n, s := range c.Out {
			if n == mostShortfalls {
				lines = append(lines, fmt.Sprintf("%s: and %s more", k.name(i), printable.Count(len(c.Out)-n, "fixture")))
				break
			}
			sd := ""
			if s.SD > 0 {
				sd = fmt.Sprintf(" (± %.4f, 1 sd)", s.SD)
			}
			in := ""
			if s.Nearest != (colorcalc.UV{}) {
				in = ": at its nearest " + colorcalc.Describe(c.UV.XY(), s.Nearest.XY())
			}
			lines = append(lines, fmt.Sprintf("%s leaves out %s, %.4f short%s%s", k.name(i), s.Fixture, s.Off, sd, in))
		}
	}
	return lines
}

// mostShortfalls are named for each choice.
const mostShortfalls = 12

func (k *commonChoices) name(i int) string {
	return report.ChoiceName(i, k.all[i], k.wish, k.reach.Fixtures())
}

func (k *commonChoices) beside(i int) string {
	if i == 0 {
		return "the wish"
	}
	return fmt.Sprintf("%.4f: %s", k.all[i].Off, colorcalc.Describe(k.all[0].UV.XY(), k.all[i].UV.XY()))
}
