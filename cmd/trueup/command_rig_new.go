package main

import (
	"errors"
	"fmt"
	"io"
	"net/netip"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"trueup/dmx"
	"trueup/loop/session/rig"
	"trueup/profiles"
)

func newRigNewCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "new [FILE]",
		Short: "Ask about a rig and write its file (default rig.yaml)",
		Long: `Asks, in this order, for the name of the rig, whether a desk sends beside us, where levels go and readings come from, the most light
that is allowed, whether people are aloft; then for each fixture its name, profile file, mode, address and desk channel; and at last
what everything is to be matched to. Equal fixtures in a row are one answer: wash 1..8.

Every answer is checked at once: an address that overlaps another fixture is refused, and a free one named. Enter takes what stands in
brackets. Profiles are looked for beside the rig file; trueup profile new writes one, trueup rig copy-example brings some to copy.
Nothing is sent, and an existing file is never overwritten. What is not asked (probes, groups, a grid, more limits) is written into
the file by hand: trueup rig schema lists every key for an editor.

Exit codes: 0 written; 1 it could not be, or needs your hand; 2 wrong command line; 3 the answers ended, or you stopped.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := "rig.yaml"
			if len(args) == 1 {
				path = args[0]
			}
			if err := absent(path); err != nil {
				return err
			}
			q := &questions{in: newAnswers(c.InOrStdin()), out: c.OutOrStdout()}
			d, err := askRig(q, filepath.Dir(path), false)
			if err != nil {
				return err
			}
			return writeRig(c, d, path)
		},
	}
}

// questions asks a person on a terminal, or a script, line by line.
type questions struct {
	in  answers
	out io.Writer
}

// unanswered says why a person was asked and nothing came of it: they, or the end of the
// input, ended the questions, before anything was written.
func unanswered(err error) error {
	if stopped(err) {
		return fmt.Errorf("%w; nothing is written", err)
	}
	return errors.New("the answers ended before the questions; nothing is written")
}

// ask asks until check is content; an empty answer stands for def.
func (q *questions) ask(question, def string, check func(string) error) (string, error) {
	for {
		shown := question + ": "
		if def != "" {
			shown = fmt.Sprintf("%s [%s]: ", question, def)
		}
		line, err := q.in.line(q.out, shown)
		if err != nil && line == "" {
			fmt.Fprintln(q.out)
			return "", &exitError{exitStopped, unanswered(err)}
		}
		answer := strings.TrimSpace(line)
		if answer == "" {
			answer = def
		}
		if bad := check(answer); bad != nil {
			fmt.Fprintf(q.out, "  %v\n", bad)
			continue
		}
		return answer, nil
	}
}

// percent adds the sign where the question has said the unit.
func percent(answer string) string {
	if _, err := strconv.ParseFloat(answer, 64); err == nil {
		return answer + " %"
	}
	return answer
}

// yes asks a question of yes or no.
func (q *questions) yes(question string, def bool) (bool, error) {
	word := "no"
	if def {
		word = "yes"
	}
	answer, err := q.ask(question+" (yes or no)", word, func(s string) error {
		switch s {
		case "yes", "no", "y", "n":
			return nil
		}
		return errors.New("yes or no?")
	})
	return strings.HasPrefix(answer, "y"), err
}

func some(what string) func(string) error {
	return func(s string) error {
		if s == "" {
			return fmt.Errorf("%s is needed", what)
		}
		return nil
	}
}

// askRig asks for all that a first rig needs; profile files are looked up
// beside dir.
func askRig(q *questions, dir string, besideDesk bool) (rig.Draft, error) {
	d := rig.Draft{Mode: rig.Own}
	var err error
	if d.Name, err = q.ask("Name of the rig", "", some("a name")); err != nil {
		return d, err
	}
	desk, err := q.yes("Does a desk send to the fixtures while we work", besideDesk)
	if err != nil {
		return d, err
	}
	if desk {
		d.Mode = rig.Overlay
	}
	to, err := q.ask("Receiver's IP address, if it wants unicast (empty: multicast)", "", receiver)
	if err != nil {
		return d, err
	}
	if to != "" {
		d.Unicast = []string{to}
	}
	if d.Meter, err = q.ask("Meter's address and port (empty: none yet)", "", meterAddress); err != nil {
		return d, err
	}
	if d.LevelCap, err = q.ask("Most light of any fixture, in percent of full", "60 %", func(s string) error { return rig.CheckFraction(percent(s)) }); err != nil {
		return d, err
	}
	d.LevelCap = percent(d.LevelCap)
	if d.Aloft, err = q.yes("Is anybody on a ladder or in the grid", false); err != nil {
		return d, err
	}
	fmt.Fprintln(q.out, "\nNow the fixtures, one or a range (wash 1..8) at a time. An empty name ends the list.")
	footprints := map[string]int{}
	for {
		f, err := askFixture(q, dir, d, footprints)
		if err != nil {
			return d, err
		}
		if f.Name == "" {
			break
		}
		d.Fixtures = append(d.Fixtures, f)
	}
	return d, askTarget(q, &d)
}

// askFixture asks for one entry; an empty name means no more.
func askFixture(q *questions, dir string, d rig.Draft, footprints map[string]int) (f rig.DraftFixture, err error) {
	f.Name, err = q.ask("\nName of the fixture", "", func(s string) error {
		if s == "" && len(d.Fixtures) == 0 {
			return errors.New("a rig needs at least one fixture")
		}
		if s == "" {
			return nil
		}
		return d.CheckName(s)
	})
	if err != nil || f.Name == "" {
		return f, err
	}
	var p *profiles.Profile
	last := ""
	if n := len(d.Fixtures); n > 0 {
		last = d.Fixtures[n-1].Profile
	}
	f.Profile, err = q.ask("  Profile file", last, func(s string) (err error) {
		if s == "" {
			return errors.New("a profile file is needed; trueup profile new writes one")
		}
		p, err = profiles.Load(filepath.Join(dir, s))
		return err
	})
	if err != nil {
		return f, err
	}
	mode := &p.Modes[0]
	if len(p.Modes) > 1 {
		f.Mode, err = q.ask("  Mode ("+strings.Join(p.ModeNames(), ", ")+")", mode.Name, func(s string) (err error) {
			mode, err = p.Mode(s)
			return err
		})
		if err != nil {
			return f, err
		}
	}
	footprints[f.Name] = max(1, mode.Footprint)
	switch {
	case mode.Kind == profiles.Fixed:
		f.Fixed = true
		return f, nil
	case mode.Footprint == 0:
		f.ByHand = true
		return f, nil
	}
	footprint := func(x rig.DraftFixture) int { return footprints[x.Name] }
	text, err := q.ask("  Address, universe/slot (hand: set by a person)", d.Free(footprint).String(), func(s string) error {
		if s == "hand" {
			return nil
		}
		a, err := dmx.ParseAddress(s)
		if err != nil {
			return err
		}
		return d.CheckPlace(f, a, mode.Footprint, footprint)
	})
	if err != nil {
		return f, err
	}
	if text == "hand" {
		f.ByHand = true
	} else if f.Address, err = dmx.ParseAddress(text); err != nil {
		return f, err
	}
	if f.Heads, err = askHeads(q, mode); err != nil {
		return f, err
	}
	f.DeskChannel, err = q.ask("  Channel at the desk (empty: none)", "", f.CheckDeskChannel)
	return f, err
}

// askHeads asks how many heads to work on; 0 is all. Heads that share a
// parameter can not be matched one by one.
func askHeads(q *questions, mode *profiles.Mode) (int, error) {
	n := mode.Heads.Count
	if n < 2 {
		return 0, nil
	}
	for _, p := range mode.Params() {
		if p.Common {
			fmt.Fprintf(q.out, "  its %d heads share %s: only the first one will be worked on\n", n, p.Name)
			return 1, nil
		}
	}
	k := 0
	_, err := q.ask(fmt.Sprintf("  How many of its %d heads to work on", n), strconv.Itoa(n), func(s string) (err error) {
		if k, err = strconv.Atoi(s); err != nil || k < 1 || k > n {
			return fmt.Errorf("want 1 to %d", n)
		}
		return nil
	})
	if k == n {
		k = 0
	}
	return k, err
}

func askTarget(q *questions, d *rig.Draft) error {
	names := []string{}
	for _, f := range d.Fixtures {
		names = append(names, f.Name)
	}
	answer, err := q.ask("\nMatch everything to which fixture, or colour (such as 4300 K)", "", func(s string) error {
		if s != "" && (rig.Has(names, s) || rig.CheckColor(s) == nil) {
			return nil
		}
		return fmt.Errorf("%q is neither a fixture of the list (%s) nor a colour, such as 4300 K or D65", s, strings.Join(names, ", "))
	})
	if err != nil {
		return err
	}
	if rig.Has(names, answer) {
		d.Reference = answer
	} else {
		d.Color = answer
	}
	return nil
}

func receiver(s string) error {
	if s == "" {
		return nil
	}
	if _, err := netip.ParseAddr(s); err == nil {
		return nil
	}
	if _, err := netip.ParseAddrPort(s); err != nil {
		return fmt.Errorf("%q is no IP address, such as 10.0.0.7 or 10.0.0.7:5568", s)
	}
	return nil
}

func meterAddress(s string) error {
	if s == "" {
		return nil
	}
	if _, port, ok := strings.Cut(s, ":"); !ok || port == "" {
		return fmt.Errorf("%q has no port; want host:port, such as 10.0.0.9:7000", s)
	}
	return nil
}
