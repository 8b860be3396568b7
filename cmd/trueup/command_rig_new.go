package main

import (
	"bufio"
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
		Args:  cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := "rig.yaml"
			if len(args) == 1 {
				path = args[0]
			}
			q := &questions{in: bufio.NewReader(io.LimitReader(c.InOrStdin(), 1<<20)), out: c.OutOrStdout()}
			d, err := askRig(q, filepath.Dir(path))
			if err != nil {
				return err
			}
			return writeRig(c, d, path)
		},
	}
}

// questions asks a person on a terminal, or a script, line by line.
type questions struct {
	in  *bufio.Reader
	out io.Writer
}

var errNoAnswer = errors.New("the answers ended before the questions; nothing is written")

// ask asks until check is content; an empty answer stands for def.
func (q *questions) ask(question, def string, check func(string) error) (string, error) {
	for {
		if def != "" {
			fmt.Fprintf(q.out, "%s [%s]: ", question, def)
		} else {
			fmt.Fprintf(q.out, "%s: ", question)
		}
		line, err := q.in.ReadString('\n')
		if err != nil && line == "" {
			fmt.Fprintln(q.out)
			return "", &exitError{exitStopped, errNoAnswer}
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

func anything(string) error { return nil }

// askRig asks for all that a first rig needs; profile files are looked up
// beside dir.
func askRig(q *questions, dir string) (rig.Draft, error) {
	d := rig.Draft{Mode: rig.Own}
	var err error
	if d.Name, err = q.ask("Name of the rig", "", some("a name")); err != nil {
		return d, err
	}
	desk, err := q.yes("Does a desk send to these universes while we work", false)
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
	if d.LevelCap, err = q.ask("Most light of any lamp, in percent of full", "60 %", rig.CheckFraction); err != nil {
		return d, err
	}
	if d.Aloft, err = q.yes("Is anybody on a ladder or in the grid", false); err != nil {
		return d, err
	}
	fmt.Fprintln(q.out, "\nNow the lamps, one or a range (wash 1..8) at a time. An empty name ends the list.")
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
	f.Name, err = q.ask("\nName of the lamp", "", func(s string) error {
		if s == "" && len(d.Fixtures) == 0 {
			return errors.New("a rig needs at least one lamp")
		}
		for _, x := range d.Fixtures {
			if x.Name == s {
				return fmt.Errorf("%q is in the list already", s)
			}
		}
		return nil
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
	free := d.Free(func(x rig.DraftFixture) int { return footprints[x.Name] })
	text, err := q.ask("  Address, universe/slot (hand: set by a person)", free.String(), func(s string) error {
		if s == "hand" {
			return nil
		}
		a, err := dmx.ParseAddress(s)
		if err != nil {
			return err
		}
		return dmx.Piece{Name: f.Name, Start: a, Slots: mode.Footprint}.Check()
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
	f.DeskChannel, err = q.ask("  Channel at the desk (empty: none)", "", anything)
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
	answer, err := q.ask("\nMatch everything to which lamp, or colour (such as 4300 K)", "", func(s string) error {
		if s == "" {
			return errors.New("a lamp of the list (" + strings.Join(names, ", ") + ") or a colour is needed")
		}
		return nil
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
