package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/google/renameio/v2/maybe"
	"github.com/spf13/cobra"

	"trueup/profiles"
	"trueup/profiles/law"
	"trueup/profiles/yamlfile"
)

func newProfileNewCommand() *cobra.Command {
	var force bool
	cmd := &cobra.Command{
		Use:   "new FILE",
		Short: "Ask what a page of the manual says, and write a profile",
		Long: `Asks, in this order, for the fixture's name and maker, its mode and how many slots it takes, then what each slot does: the dimmer, emitters or
colour temperature and tint or x and y or hue and saturation, and the slots that must not be touched.
Of a fixture without a network it asks for the knobs instead.

Have the page of the manual with the mode's slots before you. Enter means: not there, or not known; what is not known is left out, and
measuring finds it. For 16 bit give coarse and fine slot, such as 3 4. Nothing is written before the last answer. trueup profile draft makes
a profile from GDTF instead, trueup profile probe reads a fixture's emitters, trueup profile schema lists every key for an editor.

Exit codes: 0 written; 1 it could not be, or needs your hand; 2 wrong command line; 3 the answers ended, or you stopped.`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			path := args[0]
			if _, err := os.Stat(path); err == nil && !force {
				return usageError("%s is there already: choose another name, or --force", path)
			}
			q := &interview{in: newAnswers(c.InOrStdin()), out: c.OutOrStdout()}
			a, err := q.profile()
			if err != nil {
				return err
			}
			text := profiles.Draft(a)
			if err := maybe.WriteFile(path, []byte(text), 0o644); err != nil {
				return fmt.Errorf("the profile is not written: %w", err)
			}
			if _, err := profiles.Load(path); err != nil {
				fmt.Fprint(c.ErrOrStderr(), yamlfile.Report(err))
				return fmt.Errorf("%s is written, but the answers do not fit together: mend it in an editor", path)
			}
			fmt.Fprintf(c.OutOrStdout(), "%s is written. What is not known is left out; measuring finds it.\n", path)
			return nil
		},
	}
	cmd.Flags().BoolVar(&force, "force", false, "write over a file that is there")
	return cmd
}

// interview asks at a terminal, or reads answers from a pipe.
type interview struct {
	in  answers
	out io.Writer
	err error // the first one; after it every answer is empty
}

// ask repeats a question until take accepts the answer. An empty answer is the
// default.
func (q *interview) ask(question, otherwise string, take func(answer string) error) {
	for tries := 0; q.err == nil; tries++ {
		shown := ""
		if otherwise != "" {
			shown = " [" + otherwise + "]"
		}
		line, err := q.in.line(q.out, question+shown+": ")
		answer := strings.TrimSpace(line)
		if err != nil && answer == "" {
			fmt.Fprintln(q.out)
			q.err = &exitError{exitStopped, unanswered(err)}
			return
		}
		if answer == "" {
			answer = otherwise
		}
		bad := take(answer)
		if bad == nil {
			return
		}
		fmt.Fprintf(q.out, "  %v\n", bad)
		if tries >= 20 {
			q.err = &exitError{exitStopped, errors.New("twenty answers to one question, and none of them fits; nothing is written")}
		}
	}
}

func (q *interview) text(question, otherwise string, need bool) (text string) {
	q.ask(question, otherwise, func(s string) error {
		if s == "" && need {
			return errors.New("an answer is needed here")
		}
		text = s
		return nil
	})
	return text
}

func (q *interview) slots(question string, need bool) (slots []int) {
	q.ask(question, "", func(s string) (err error) {
		if s == "" && !need {
			return nil
		}
		slots, err = slotList(s, 3)
		return err
	})
	return slots
}

func (q *interview) choice(question, otherwise string, words ...string) (word string) {
	q.ask(question+" ("+strings.Join(words, ", ")+")", otherwise, func(s string) error {
		for _, w := range words {
			if strings.EqualFold(s, w) {
				word = w
				return nil
			}
		}
		if near := yamlfile.Nearest(s, words); near != "" {
			return fmt.Errorf("did you mean %s?", near)
		}
		return fmt.Errorf("one of %s", strings.Join(words, ", "))
	})
	return word
}

func (q *interview) numbers(question, otherwise string, lo, hi float64) (pair [2]float64) {
	q.ask(question, otherwise, func(s string) error {
		f := strings.Fields(strings.NewReplacer(",", " ", "..", " ", "K", "", "k", "").Replace(s))
		if len(f) != 2 {
			return errors.New("two numbers with a space between them")
		}
		for i := range pair {
			v, err := strconv.ParseFloat(f[i], 64)
			if err != nil || !(v >= lo && v <= hi) {
				return fmt.Errorf("%q is not a number from %g to %g", f[i], lo, hi)
			}
			pair[i] = v
		}
		if pair[0] == pair[1] {
			return errors.New("two different numbers")
		}
		return nil
	})
	return pair
}

// named reads lines such as "red 3 4" until an empty one. With level, the last
// number is a level.
func (q *interview) named(question string, level bool, most int) (all []profiles.AnswerParam) {
	for q.err == nil {
		ended := false
		q.ask(question, "", func(s string) error {
			if s == "" {
				ended = true
				return nil
			}
			p, err := namedSlots(s, level, most)
			if err == nil {
				all = append(all, p)
			}
			return err
		})
		if ended {
			break
		}
		question = "  next, or nothing"
	}
	return all
}

func namedSlots(s string, level bool, most int) (p profiles.AnswerParam, err error) {
	words := strings.Fields(strings.ReplaceAll(s, ",", " "))
	end := len(words)
	for end > 0 {
		if _, err := strconv.Atoi(words[end-1]); err != nil {
			break
		}
		end--
	}
	figures := words[end:]
	p.Name = strings.Join(words[:end], " ")
	if p.Name == "" {
		return p, errors.New("begin with a name")
	}
	if level {
		if len(figures) < 2 {
			return p, errors.New("name, slot and level, such as: colour macro 12 0")
		}
		p.Level, _ = strconv.Atoi(figures[len(figures)-1])
		if p.Level < 0 || p.Level > 255 {
			return p, fmt.Errorf("the level %d is not within 0 to 255", p.Level)
		}
		figures = figures[:len(figures)-1]
	}
	p.Slots, err = slotList(strings.Join(figures, " "), most)
	return p, err
}

func slotList(s string, most int) ([]int, error) {
	words := strings.Fields(strings.NewReplacer(",", " ", "/", " ", "+", " ").Replace(s))
	if len(words) == 0 {
		return nil, errors.New("give the slot, coarse first, such as 3 or 3 4")
	}
	if len(words) > most {
		return nil, fmt.Errorf("at most %d slots here", most)
	}
	slots := make([]int, len(words))
	for i, w := range words {
		n, err := strconv.Atoi(w)
		if err != nil || n < 1 || n > 512 {
			return nil, fmt.Errorf("%q is not a slot from 1 to 512", w)
		}
		slots[i] = n
	}
	return slots, nil
}

// knob asks what a knob or a menu shows.
func (q *interview) knob(what, example string, need bool, put func(law.Knob)) (ok bool) {
	q.ask(what+": what the knob shows, from, to, smallest step, unit, such as: "+example, "", func(s string) error {
		words := strings.Fields(s)
		if len(words) == 0 && !need {
			return nil
		}
		if len(words) < 4 || len(words) > 5 {
			return errors.New("four or five words, such as: " + example)
		}
		k := law.Knob{Label: words[0]}
		for i, to := range []*float64{&k.From, &k.To, &k.Step} {
			v, err := strconv.ParseFloat(words[i+1], 64)
			if err != nil || !(v >= -100000 && v <= 100000) {
				return fmt.Errorf("%q is not a number", words[i+1])
			}
			*to = v
		}
		if k.From == k.To || !(k.Step > 0) {
			return errors.New("from and to differ, and the step is above 0")
		}
		if len(words) == 5 {
			k.Unit = words[4]
		}
		put(k)
		ok = true
		return nil
	})
	return ok
}

// knobs asks for a mode that is set at the fixture.
func (q *interview) knobs(a *profiles.Answers) {
	a.Knobs = map[string]law.Knob{}
	one := func(key, what, example string, need bool) bool {
		return q.knob(what, example, need, func(k law.Knob) { a.Knobs[key] = k })
	}
	one("dimmer", "Dimmer", "INT 0 100 1 %", false)
	switch a.Kind {
	case profiles.Emitters:
		for q.err == nil {
			name := q.text("Name of an emitter, or nothing", "", false)
			if name == "" {
				break
			}
			if one(name, name, "R 0 255 1", true) {
				a.Emitters = append(a.Emitters, profiles.AnswerParam{Name: name})
			}
		}
	case profiles.CCT:
		one("cct", "Colour temperature", "CCT 2700 6500 50 K", true)
		if a.Knobs["cct"].Unit != "K" {
			a.Kelvin = q.numbers("Kelvin at its first and at its last figure", "2700 6500", 1000, 25000)
		}
		if one("tint", "Tint", "G/M -50 50 1", false) {
			a.TintToward = q.choice("A higher figure goes toward", "unknown", "green", "magenta", "unknown")
		}
	case profiles.XY:
		one("x", "x", "x 0 1 0.001", true)
		one("y", "y", "y 0 1 0.001", true)
	case profiles.HueSat:
		one("hue", "Hue", "HUE 0 360 1", true)
		one("saturation", "Saturation", "SAT 0 100 1 %", true)
	}
}

// profile asks for one mode. The order is that of a manual's page.
func (q *interview) profile() (a profiles.Answers, err error) {
	fmt.Fprintln(q.out, "Slots count from 1. For 16 bit give coarse and fine, such as 3 4. Nothing means: not there, or not known.")
	a.Name = q.text("Name of the fixture", "", true)
	a.Maker = q.text("Maker", "", false)
	a.Mode = q.text("Name of the mode, as the menu shows it", "standard", true)
	kinds := map[string]profiles.Kind{"emitters": profiles.Emitters, "cct": profiles.CCT, "xy": profiles.XY, "hue-saturation": profiles.HueSat, "fixed": profiles.Fixed}
	a.Kind = kinds[q.choice("What the mode lets you set", "emitters", "emitters", "cct", "xy", "hue-saturation", "fixed")]
	if a.Kind != profiles.Fixed && q.choice("It is set over the network, or by hand at the fixture", "network", "network", "hand") == "hand" {
		q.knobs(&a)
		return a, q.err
	}
	otherwise := ""
	if a.Kind == profiles.Fixed {
		otherwise = "0"
	}
	q.ask("How many slots it takes", otherwise, func(s string) error {
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 || n > 512 || n == 0 && a.Kind != profiles.Fixed {
			return errors.New("a whole number from 1 to 512 (0 for a fixed fixture without slots)")
		}
		a.Footprint = n
		return nil
	})
	if a.Footprint > 0 {
		a.Dimmer = q.slots("Slots of the master dimmer", false)
	}
	switch a.Kind {
	case profiles.Emitters:
		a.Emitters = q.named("Emitters, one a line, name and slots, such as: red 3 4", false, 3)
		if a.Curve = q.choice("How light follows the level", "unknown", "unknown", "linear", "square", "s"); a.Curve == "unknown" {
			a.Curve = ""
		}
	case profiles.CCT:
		a.CCT = q.slots("Slots of the colour temperature", true)
		a.Kelvin = q.numbers("Kelvin at the lowest and at the highest level", "2700 6500", 1000, 25000)
		a.Mired = q.choice("Equal steps are equal in", "kelvin", "kelvin", "mired") == "mired"
		if a.Tint = q.slots("Slots of the tint", false); len(a.Tint) > 0 {
			a.TintToward = q.choice("A higher tint level goes toward", "unknown", "green", "magenta", "unknown")
		}
	case profiles.XY:
		a.X = q.slots("Slots of x", true)
		a.Y = q.slots("Slots of y", true)
	case profiles.HueSat:
		a.Hue = q.slots("Slots of hue", true)
		a.Sat = q.slots("Slots of saturation", true)
	}
	if a.Footprint > 0 {
		q.ask("Shutter slot, and a level at which it is open, such as: 5 255", "", func(s string) error {
			if s == "" {
				return nil
			}
			p, err := namedSlots("shutter "+s, true, 1)
			if err == nil {
				a.Shutter, a.Open = p.Slots[0], p.Level
			}
			return err
		})
		a.Never = q.named("Slots that are only ever sent a safe level (reset, lamp, fan, ID): name, slots, safe level, such as: reset 14 0", true, 64)
		a.Set = q.named("Other slots to hold at one level: name, slot, level, such as: colour macro 12 0", true, 1)
	}
	return a, q.err
}
