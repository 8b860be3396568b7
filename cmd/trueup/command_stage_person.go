package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"trueup/loop/session/rig"
	"trueup/loop/stage"
	"trueup/profiles"
	"trueup/profiles/printable"
)

// person plays, on a simulated stage, who turns the knobs of fixtures that are set by
// hand and looks at a meter without a data link. What they do is typed.
type person struct {
	rig   *rig.Rig
	stage *stage.Server
	out   io.Writer
	codes map[string][]uint32 // of the knobs of each fixture, as they stand
}

// wanted is whether the rig has work for a person.
func (p *person) wanted() bool {
	return slices.ContainsFunc(p.rig.Fixtures, func(f rig.Fixture) bool { return f.ByHand && f.Mode != nil && !f.Sent() })
}

// help names what can be typed, with a fixture of this rig.
func (p *person) help() string {
	for _, f := range p.rig.Fixtures {
		if f.ByHand && f.Mode != nil && !f.Sent() {
			turn := ""
			for i, k := range f.Mode.Params() {
				turn += " " + k.Knob.Dial(p.standing(&f)[i])
			}
			return fmt.Sprintf("you are the person on this stage; type here:\n  %[1]s%[2]s\n  %[1]s off\n  read\n", f.Name, turn)
		}
	}
	return ""
}

// listen does what each line says until the input ends.
func (p *person) listen(ctx context.Context, in io.Reader) {
	lines := bufio.NewScanner(in)
	for lines.Scan() && ctx.Err() == nil {
		line := strings.TrimSpace(lines.Text())
		if line == "" {
			continue
		}
		said, err := p.do(ctx, line)
		if err != nil {
			said = err.Error()
		}
		fmt.Fprintln(p.out, "  "+said)
	}
}

// patience is how long a look at the meter may take.
const patience = 20 * time.Second

func (p *person) do(ctx context.Context, line string) (string, error) {
	if probe, ok := cutWord(line, "read"); ok {
		ctx, cancel := context.WithTimeout(ctx, patience)
		defer cancel()
		r, err := p.stage.Look(ctx, probe)
		switch {
		case ctx.Err() != nil:
			return "", fmt.Errorf("the meter shows nothing within %s", printable.Span(patience))
		case err != nil:
			return "", err
		case r.Dark:
			return "the meter shows: dark", nil
		}
		return fmt.Sprintf("the meter shows: %.4f %.4f %.4g   (x, y and lux)", r.Sample.XY.X, r.Sample.XY.Y, r.Sample.Lux), nil
	}
	f, rest, ok := p.fixture(line)
	switch {
	case !ok:
		return "", fmt.Errorf("want a fixture that is set by hand (%s) and what to do with it, or read", strings.Join(p.names(), ", "))
	case rest == "off":
		return f.Name + " is out", eachHead(f, p.stage.Off)
	case rest == "":
		return "", fmt.Errorf("want knobs and what to turn them to, such as %s", f.Mode.Params()[0].Knob.Dial(p.standing(f)[0]))
	}
	codes := slices.Clone(p.standing(f))
	for rest != "" {
		var err error
		if rest, err = turn(f.Mode, rest, codes); err != nil {
			return "", err
		}
	}
	if err := eachHead(f, func(name string) error { return p.stage.Dial(name, codes) }); err != nil {
		return "", err
	}
	p.codes[f.Name] = codes
	var shows []string
	for i, k := range f.Mode.Params() {
		shows = append(shows, k.Knob.Dial(codes[i]))
	}
	return f.Name + " shows " + strings.Join(shows, ", "), nil
}

// turn takes one knob and its value off the text, and sets its code. A unit and
// a comma behind the value may stand there, as the prompts of a run write them.
func turn(m *profiles.Mode, text string, codes []uint32) (rest string, err error) {
	for i, k := range m.Params() {
		after, ok := cutWord(text, k.Knob.Label)
		if !ok {
			continue
		}
		word, after, _ := strings.Cut(after, " ")
		number := strings.TrimSuffix(strings.TrimSuffix(word, ","), k.Knob.Unit)
		v, err := strconv.ParseFloat(number, 64)
		lo, hi := min(k.Knob.From, k.Knob.To), max(k.Knob.From, k.Knob.To)
		if err != nil || !(v >= lo && v <= hi) {
			return "", fmt.Errorf("%s %q: want a number from %g to %g", k.Knob.Label, word, lo, hi)
		}
		codes[i] = k.Knob.CodeShown(v)
		after = strings.TrimSpace(after)
		if k.Knob.Unit != "" {
			if more, ok := cutWord(after, k.Knob.Unit); ok {
				after = more
			} else if more, ok := strings.CutPrefix(after, k.Knob.Unit+","); ok {
				after = strings.TrimSpace(more)
			}
		}
		return after, nil
	}
	var labels []string
	for _, k := range m.Params() {
		labels = append(labels, k.Knob.Label)
	}
	return "", fmt.Errorf("%q: its knobs are %s", text, strings.Join(labels, ", "))
}

// standing are the codes of a fixture's knobs as it was turned last, or as its
// profile starts it.
func (p *person) standing(f *rig.Fixture) []uint32 {
	if p.codes == nil {
		p.codes = map[string][]uint32{}
	}
	if p.codes[f.Name] == nil {
		for _, k := range f.Mode.Params() {
			code := k.Lo + (k.Hi-k.Lo)/2
			if k.Start != nil {
				code = *k.Start
			}
			p.codes[f.Name] = append(p.codes[f.Name], code)
		}
	}
	return p.codes[f.Name]
}

// fixture finds whom a line begins with: the longest name that fits.
func (p *person) fixture(line string) (found *rig.Fixture, rest string, ok bool) {
	for i := range p.rig.Fixtures {
		f := &p.rig.Fixtures[i]
		after, fits := cutWord(line, f.Name)
		if fits && f.ByHand && f.Mode != nil && !f.Sent() && (found == nil || len(f.Name) > len(found.Name)) {
			found, rest = f, after
		}
	}
	return found, rest, found != nil
}

func (p *person) names() (names []string) {
	for _, f := range p.rig.Fixtures {
		if f.ByHand {
			names = append(names, f.Name)
		}
	}
	return names
}

// eachHead does something to all heads of a fixture, as they are called on stage.
func eachHead(f *rig.Fixture, do func(name string) error) error {
	n := f.Mode.Heads.Count
	if n < 2 {
		return do(f.Name)
	}
	for h := range n {
		if err := do(fmt.Sprintf("%s/%d", f.Name, h+1)); err != nil {
			return err
		}
	}
	return nil
}

// cutWord takes a word, or a name of several, off the front of a text.
func cutWord(text, word string) (rest string, ok bool) {
	rest, ok = strings.CutPrefix(text, word)
	if !ok || rest != "" && rest[0] != ' ' {
		return text, false
	}
	return strings.TrimSpace(rest), true
}
