package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"trueup/cmd/trueup/report"
	"trueup/loop/rehearse"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/safety"

	"trueup/profiles/printable"
)

// rehearseInTime plays the whole run in virtual time, on lamps as the profiles describe them: every fixture's
// first setting, and how long the real run will take. Nothing is sent and nothing is read.
func rehearseInTime(w io.Writer, dir string, j session.Job) error {
	fmt.Fprintln(w, "rehearsal: nothing is sent and no light changes; add --live to do it")
	if name := j.Plan.Target.Reference; name != "" {
		fmt.Fprintf(w, "  the reference %s would be measured first; settings below are for an ordinary fixture of its profile (predicted)\n", name)
	}
	shown := map[string]bool{}
	var began time.Time
	j.Listen = func(e session.Entry) {
		if began.IsZero() {
			began = e.Time
		}
		if e.Kind == core.KindSpend && e.Spending != nil {
			sayPrice(w, j.Plan.Target.Reference, e)
		}
		if e.Kind != core.KindSent || shown[e.Fixture] || e.Step == nil {
			return
		}
		shown[e.Fixture] = true
		fmt.Fprintf(w, "  %s after %.1f s: %s\n", e.Fixture, e.Time.Sub(began).Seconds(), settingsWords(e.Step.Settings))
	}
	if session.ReadByHand(j.Rig) {
		j.Plan = session.Patient(j.Plan)
	}
	paces, from := pacesOf(dir, j.Rig)
	plays, err := played(rehearse.Job{Job: j, Meters: paces})
	if err != nil {
		return err
	}
	sayPredicted(w, j, plays, paces, from)
	fmt.Fprintln(w, "rehearsal done; no light was changed")
	return nil
}

// settingsWords are settings that are predicted: no more digits than mean something.
func settingsWords(all []session.Setting) string {
	var words []string
	for _, s := range all {
		words = append(words, strings.TrimSpace(fmt.Sprintf("%s %.5g %s", s.Name, s.Value, s.Unit)))
	}
	return strings.Join(words, ", ")
}

// draws of lamps that a rehearsal is played with; a rig of more fixtures than fewFixtures, whose lamps make up for one
// another, with one.
const (
	draws       = 5
	fewFixtures = 60
)

// played plays a job with several draws of lamps, and gives the plays in the order of how long they take.
func played(j rehearse.Job) (plays []*rehearse.Played, err error) {
	n := draws
	if len(j.Compiled.Units) > fewFixtures {
		n = 1
	}
	for seed := range n {
		j.Seed = uint64(seed + 1)
		p, err := j.Play()
		if err != nil {
			return nil, err
		}
		if p.Err != nil {
			return nil, fmt.Errorf("the rehearsal did not come to its end: %w", p.Err)
		}
		plays = append(plays, p)
		j.Listen = nil
	}
	slices.SortFunc(plays, func(a, b *rehearse.Played) int { return cmp.Compare(a.Whole(), b.Whole()) })
	return plays, nil
}

// sayPredicted says how long the run will take, for what, and what that rests on.
func sayPredicted(w io.Writer, j session.Job, plays []*rehearse.Played, paces map[string]session.Pace, from map[string]string) {
	p := plays[len(plays)/2]
	var spending session.Spending
	for i := range p.Entries {
		spending.Take(&p.Entries[i])
	}
	s := spending.Spent()
	fmt.Fprintf(w, "the run will take about %s (predicted): %s\n", report.Roughly(p.Whole()), report.SpentWords(s))
	fmt.Fprintf(w, "  about %s of %s (predicted); before them %s to listen and to take over, after them %s to hand back\n",
		printable.Count(p.Readings, "reading"), printable.Count(len(j.Compiled.Heads), "fixture"), report.Roughly(p.Before), report.Roughly(p.HandBack))
	if n := len(plays); n > 1 {
		span := report.Roughly(plays[0].Whole())
		if most := report.Roughly(plays[n-1].Whole()); most != span {
			span += " to " + most
		}
		fmt.Fprintf(w, "  %s with other fixtures of the same kinds (predicted, of %d)\n", span, n)
	}
	for i := range j.Rig.Feeds {
		name := j.Rig.Feeds[i].Name
		if pace := paces[name]; pace.OnRequest {
			fmt.Fprintf(w, "  meter %s: %s\n", name, from[name])
		} else {
			fmt.Fprintf(w, "  meter %s: a reading every %s, gathered over %s; %s\n", name, printable.Span(pace.Period), printable.Span(pace.Integration), from[name])
		}
	}
	if words := fasterWords(s, j.Rig.Safety.Limits); words != "" {
		fmt.Fprintf(w, "  %s (predicted)\n", words)
	}
}

// fasterWords says what a faster limit would save; "" where that is little, or nobody may choose one.
func fasterWords(s session.Spent, l safety.Limits) string {
	faster := 2 * min(l.Rise, l.Fall)
	if l.PeopleAloft || faster > safety.MaxRate || s.Fade < s.Total()/10 {
		return ""
	}
	return fmt.Sprintf("fades take %s of it; with rise and fall at %.0f %%/s it would be about %s less, if people there may be lit so fast",
		report.Roughly(s.Fade), 100*faster, report.Roughly(s.Fade/2))
}

// sayPrice says what likeness costs in light. A rehearsal knows no spectrum of a reference that is to be measured.
func sayPrice(w io.Writer, reference string, e session.Entry) {
	if e.Spending.NoLight {
		fmt.Fprintf(w, "  %s: what likeness costs in light is told when %s was read, before the first fixture is matched\n", strings.Join(e.Spending.Fixtures, ", "), reference)
		return
	}
	fmt.Fprintf(w, "  %s\n", e.Note)
}
