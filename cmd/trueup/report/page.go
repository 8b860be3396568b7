package report

import (
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/profiles/printable"
)

//go:embed page.html
var pageText string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"uv":     func(v float64) string { return fmt.Sprintf("%.4f", v) },
	"num":    func(v float64) string { return figure(&v) },
	"figure": figure,
}).Parse(pageText))

type pageRow struct {
	Name, Patch, Result, Reason, Advice, Found, Now, SD, Words, Lux, Readings string
	Computed                                                                  string // of Found: that it was computed, and how far that may be off, or not read; empty: it was read
	Missed                                                                    bool
	off                                                                       float64 // now, in u'v'
}

type pageDiagram struct {
	SVG     template.HTML
	Caption string
}

// WritePage writes the report of a run: one self-contained HTML file without
// scripts, to be read on a screen or printed.
func WritePage(w io.Writer, s *session.Summary, x Extras) error {
	diagrams, err := runDiagrams(s)
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	data := struct {
		S                                         *session.Summary
		Date, Duration, Lead, Warning, TargetText string
		Cautions                                  []cautionPart
		Rows, Rest                                []pageRow
		Many                                      bool // fixtures: what all have alike is folded away
		Diagrams                                  []pageDiagram
		Trace                                     template.HTML
		Sheet                                     []SheetRow
		Third                                     string
		How, Time, Levels                         []string
		Walls                                     []pageDiagram
		Likeness                                  *likenessPart
		Help                                      *helpPart
		History                                   template.HTML
		HistoryWords                              []string
		Points                                    []pointRow
		PointMaps                                 []pageDiagram
		Paper                                     template.CSS
	}{S: s, Paper: x.Paper.css(), Date: s.Started.Format("2 January 2006, 15:04"), Duration: Roughly(s.Ended.Sub(s.Started)),
		Lead: Lead(s), Warning: warning(s), TargetText: targetText(s), Cautions: cautionParts(x.Cautions),
		Rows: pageRows(s), Diagrams: diagrams, Trace: traceChart(s), Sheet: Sheet(s), How: how(s), Time: whereTimeWent(s), Walls: wallMaps(s), Likeness: likenessOf(s),
		Help: helpOf(s, &x), History: x.History, HistoryWords: x.HistoryWords}
	if s.Info.Work == string(core.Points) { // nothing was matched: the points are all there is to tell
		data.Rows, data.Diagrams, data.Walls, data.Sheet, data.Trace = nil, nil, nil, nil, ""
		data.Points, data.PointMaps = pointRows(s), pointMaps(s)
		data.Third, data.Levels = "", nil // the lead tells both
		return page.Execute(w, data)
	}
	data.Many = len(data.Rows) > maxRows
	data.Rows, data.Rest = worthARow(data.Rows)
	data.Third, data.Levels = spreadOf(s)
	return page.Execute(w, data)
}

// maxRows is how many fixtures have all their lines shown; maxGood how many of more have one that landed.
const (
	maxRows = 40
	maxGood = 10
)

// worthARow parts the fixtures of a large rig: first those that missed and the farthest of those that
// landed, in the order of the rig, then the rest.
func worthARow(all []pageRow) (rows, rest []pageRow) {
	if len(all) <= maxRows {
		return all, nil
	}
	var landed []int
	for i, r := range all {
		if !r.Missed && r.Now != "" {
			landed = append(landed, i)
		}
	}
	slices.SortStableFunc(landed, func(a, b int) int { return cmp.Compare(all[b].off, all[a].off) })
	near := map[int]bool{}
	for _, i := range landed[min(len(landed), maxGood):] {
		near[i] = true
	}
	for i, r := range all {
		if near[i] || r.Result == readAsFound {
			rest = append(rest, r)
		} else {
			rows = append(rows, r)
		}
	}
	return rows, rest
}

const readAsFound = "read as found"

func targetText(s *session.Summary) string {
	if s.Reference == nil {
		return s.Info.Target
	}
	text := fmt.Sprintf("%s, u′ %.4f v′ %.4f", s.Reference.Name, s.Reference.UV.U, s.Reference.UV.V)
	if s.Reference.Frozen {
		text += ", frozen as it was read first"
	}
	return text
}

// Lead is the run in one or two sentences.
func Lead(s *session.Summary) string {
	if s.Info.Work == string(core.Points) {
		return pointsLead(s)
	}
	count := map[string]int{}
	asked, leftOut, worst := 0, 0, 0.0
	for _, f := range s.Fixtures {
		if f.Fixed || s.IsReference(f) {
			continue
		}
		o := f.Final()
		if f.LeftOut && o == nil && f.Found == nil {
			leftOut++
			continue
		}
		asked++
		if o == nil && f.Found != nil {
			count[readAsFound]++
			continue
		}
		if o == nil {
			count["not matched"]++
			continue
		}
		count[o.Result.String()]++
		if o.Landed() && o.Final != nil {
			worst = max(worst, o.Final.Delta)
		}
	}
	var parts []string
	for _, r := range []string{"landed", "predicted", "out of reach", "unsettled", "held", readAsFound, "not matched"} {
		if count[r] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", count[r], r))
		}
	}
	text := fmt.Sprintf("Of %s: %s.", printable.Count(asked, "fixture"), strings.Join(parts, ", "))
	if leftOut > 0 {
		text += fmt.Sprintf(" Left out by choice: %d.", leftOut)
	}
	if count["landed"] > 0 {
		text += fmt.Sprintf(" The farthest of the landed ones is %.4f from the reference.", worst)
	}
	return text
}

func warning(s *session.Summary) string {
	var w []string
	if s.Info.Rehearsal {
		w = append(w, "This was a rehearsal: no light was meant to change.")
	}
	if s.Stop != "" {
		w = append(w, "The run was stopped early: "+s.Stop+".")
	} else if !s.Complete {
		w = append(w, "The journal has no end entry: the run broke off. What is shown was measured before that.")
	}
	w = append(w, s.Notes...)
	if s.Torn {
		w = append(w, "The last line of the journal was cut short and is left out.")
	}
	return strings.Join(w, " ")
}

func pageRows(s *session.Summary) []pageRow {
	var rows []pageRow
	for _, f := range s.Fixtures {
		r := pageRow{Name: f.Name, Patch: strings.TrimSpace(f.Profile + " " + f.Mode + " " + f.Address)}
		o := f.Final()
		switch {
		case f.Fixed && s.IsReference(f):
			r.Result, r.Words = "cannot be changed", "the reference"
		case f.Fixed:
			r.Result, r.Words = "cannot be changed", "left as it is"
		case s.IsReference(f):
			r.Result, r.Words = asReference, "left as it is"
		case o == nil && f.Found != nil && s.Reference != nil:
			r.Result, r.Found, r.Readings = readAsFound, fmt.Sprintf("%.4f", f.Found.Delta), f.Readings.String()
			r.Words = colorcalc.Describe(s.Reference.UV.XY(), f.Found.UV.XY())
			if f.Found.Lux > 0 {
				r.Lux = luxText(f.Found.Lux)
			}
		case o == nil && f.LeftOut:
			r.Result, r.Words = "left out", "not asked for in this run"
		case o == nil:
			r.Result, r.Missed = "not matched", true
		default:
			r.Result, r.Reason, r.Advice, r.Words = o.Result.String(), o.Reason, o.Advice, o.Words
			if r.Found, r.Computed = FoundText(o); r.Computed == computed {
				r.Computed += fmt.Sprintf(", ± %.4f", o.Found.SD)
			}
			if n := o.Final; n != nil {
				r.off = n.Delta
				r.Now, r.SD = fmt.Sprintf("%.4f", n.Delta), fmt.Sprintf("%.4f", n.SD)
				if n.Lux > 0 {
					r.Lux = luxText(n.Lux)
				}
			}
			r.Readings = f.Readings.String()
			r.Missed = !o.Landed()
		}
		rows = append(rows, r)
	}
	return rows
}

func how(s *session.Summary) []string {
	lines := []string{fmt.Sprintf("Readings taken in all: %d; %s.", s.Readings, outputText(s))}
	if r := s.Reference; r != nil && r.Readings > 0 {
		lines = append(lines, fmt.Sprintf("The reference rests on %s, known to ± %.4f; one reading scatters by %.4f per axis.", printable.Count(r.Readings, "reading"), r.SigmaUV, r.MeterSigmaUV))
		if r.Frozen {
			lines = append(lines, fmt.Sprintf("It was frozen as it was read first: that is what fixtures were matched to. When it was read last it was %.4f from there.", r.Moved))
		}
	}
	lines = append(lines,
		"A reading counts only if the meter began to integrate after the light had settled.",
		"“landed” means: with 95 % confidence within the tolerance, by all readings together, not by the last one.")
	if line := UnreadAsFound(s); line != "" {
		lines = append(lines, line)
	}
	if s.Backgrounds > 0 {
		return append(lines, "The background was measured with the fixtures dark and taken off, where the feed tells a level.")
	}
	return append(lines, "No background was taken off.")
}

func outputText(s *session.Summary) string {
	switch s.Info.Mode {
	case "by hand":
		return "the fixtures were set by hand, and nothing was sent to them"
	case "overlay":
		return fmt.Sprintf("our slots were laid over the desk's stream at priority %d", s.Info.Priority)
	}
	return fmt.Sprintf("the universes were our own, at priority %d", s.Info.Priority)
}
