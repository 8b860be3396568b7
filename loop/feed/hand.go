package feed

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/expr"
)

// Question is what a person at a meter without a data link is asked.
type Question struct {
	Probe string // where to measure; "" where the rig has one place
	Dark  bool   // the lamps are out; "dark" says that the meter shows nothing
	// Problem says why the last answer was not taken; "" at first.
	Problem string
	// Understood is how the last answer was read. When it is set, an empty
	// answer says yes to it, and any other takes its place.
	Understood string
}

// Asker puts a question to a person and waits, for as long as it takes.
type Asker func(ctx context.Context, q Question) (answer string, err error)

// ErrUndo is returned instead of a reading by a person who found that the last
// one they gave was wrong (Config.Undo).
var ErrUndo = errors.New("the last value was wrong")

// hand is a person who reads a display aloud. A question is put only when a
// reading is wanted and the light has settled; what comes back was measured
// between question and answer.
type hand struct {
	ask  Asker
	undo bool
	last map[string]colorcalc.UV
}

func newHand(c Config) (transport, error) {
	if c.Ask == nil {
		return nil, fmt.Errorf("feed %s: a person reads this meter; run 'trueup byhand' for the lamps that are set by hand", c.Name)
	}
	return &hand{c.Ask, c.Undo, map[string]colorcalc.UV{}}, nil
}

func (h *hand) run(ctx context.Context, f *Feed) error {
	newLink(f).up()
	for {
		select {
		case d := <-f.demand:
			if !f.needed(d) {
				continue
			}
			if err := h.answer(ctx, f, d); err != nil {
				return err
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

func (h *hand) answer(ctx context.Context, f *Feed, d demand) error {
	if wait := time.Until(d.settled); wait > 0 {
		select {
		case <-time.After(wait):
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	asked := time.Now()
	q := Question{Probe: d.probe, Dark: d.dark}
	var held *draft
	for {
		text, err := h.ask(ctx, q)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.Is(err, io.EOF):
			return &refusal{ErrEnded}
		case err != nil:
			return refuse("asking for a reading: %w", err)
		}
		text = strings.TrimSpace(text)
		if text == "" {
			if held == nil {
				q.Problem = "type what the meter shows, such as 4310 -0.002 or 0.3412 0.3553"
				continue
			}
			f.take(*held, time.Now())
			if !held.flags.Has(Underrange) {
				h.last[d.probe] = held.uv
			}
			return nil
		}
		if h.undo && text == "undo" {
			delete(h.last, d.probe)
			f.fail(d, ErrUndo)
			return nil
		}
		if held != nil && held.flags.Has(NoDuv) {
			text = withDuv(held.raw, text)
		}
		typed, words, err := readTyped(text)
		if err != nil {
			// What was understood before stays open to a yes.
			q.Problem = err.Error()
			if held == nil {
				q.Understood = ""
			}
			continue
		}
		if typed.flags.Has(Underrange) && !d.dark {
			q.Problem = "a colour is wanted here: is the lamp lit, and the meter close enough?"
			continue
		}
		typed.probe, typed.asked = d.probe, asked
		held, q.Problem, q.Understood = &typed, "", words
		if typed.flags.Has(NoDuv) {
			q.Problem = "that is a temperature alone: what does the meter show as Duv? Type it, such as -0.002"
		}
		if !typed.flags.Has(Underrange) {
			q.Understood += h.compare(d.probe, typed.uv)
		}
	}
}

// typedKelvin is a temperature. Alone it has no tint, and that must be asked
// for: a tint of 0 would be invented.
var typedKelvin = regexp.MustCompile(`(?i)^\d+([.,]\d+)?\s*(kelvin|kk|k|mireds|mired)?`)

func kelvinAlone(text string) bool { return text != "" && typedKelvin.FindString(text) == text }

// withDuv puts a tint that was typed alone behind the temperature typed before;
// any other text stands for itself.
func withDuv(before, text string) string {
	if v, err := parseNumber(displayed(text), false); err != nil || v.unit != (unit{}) || math.Abs(v.value) >= 0.1 {
		return text
	}
	at := len(typedKelvin.FindString(before))
	return before[:at] + " " + text + " " + before[at:]
}

// farOff in u'v' is more than a match moves between two readings of one place
// without somebody having expected it: a hundred steps of tolerance.
const farOff = 0.05

func (h *hand) compare(probe string, uv colorcalc.UV) string {
	last, ok := h.last[probe]
	if !ok {
		return ""
	}
	d := last.Dist(uv)
	words := ", " + colorcalc.Describe(last.XY(), uv.XY()) + " than the last"
	if d < 1e-6 {
		words = ", the same as the last"
	}
	if d > farOff {
		words += "; that is far off: is it right?"
	}
	return words
}

// readTyped reads a colour as a person types it, and says how it was read.
func readTyped(text string) (draft, string, error) {
	if strings.EqualFold(text, "dark") {
		return draft{flags: Typed | Underrange, raw: text}, "too dark for the meter", nil
	}
	c, err := parseTyped(text)
	if err != nil {
		return draft{}, "", err
	}
	if !onDiagram(c.XY.UV()) {
		return draft{}, "", fmt.Errorf("%q is not a colour that a lamp can have", text)
	}
	d := draft{quantity: Chromaticity, uv: c.XY.UV(), flags: Typed, raw: cut([]byte(text)), roundXY: typedStep(text, c)}
	if c.Y > 0 {
		d.quantity, d.y, d.hasY = ChromaLevel, c.Y, true
	}
	words := fmt.Sprintf("x %.4f y %.4f", c.XY.X, c.XY.Y)
	if t, duv, err := colorcalc.CCT(c.XY); err == nil {
		words += fmt.Sprintf(", %.0f K Duv %+.4f", float64(t), float64(duv))
	}
	if d.hasY {
		words += fmt.Sprintf(", level %.4g", d.y)
	}
	if kelvinAlone(c.Text) {
		d.flags |= NoDuv
		words += "; taken to have no tint, as none was given"
	}
	return d, words, nil
}

// parseTyped takes any colour expression, and the numbers of a display alone:
// two below 1 are x and y, one in the thousands is kelvin and may have a Duv
// behind it. A level may follow: a third number, or one with its unit.
func parseTyped(text string) (expr.Color, error) {
	words := strings.Fields(strings.NewReplacer(";", " ", "\t", " ").Replace(text))
	var level value
	if n := len(words); n > 1 {
		if _, ok := units[words[n-1]]; ok && units[words[n-1]].dim == lightLevel {
			words = append(words[:n-2], words[n-2]+words[n-1])
		}
		n = len(words)
		if v, err := parseNumber(displayed(words[n-1]), false); err == nil && v.unit.dim == lightLevel {
			level, words = value{v: v.value * v.unit.factor}, words[:n-1]
		}
	}
	var nums []float64
	for i, w := range words {
		words[i] = displayed(w)
		v, err := parseNumber(words[i], false)
		if err != nil || v.unit != (unit{}) {
			nums = nil
			break
		}
		nums = append(nums, v.value)
	}
	if n := len(nums); n == 3 && level.v == 0 {
		level.v, nums, words = nums[2], nums[:2], words[:2]
	}
	switch {
	case len(nums) == 2 && nums[0] > 0 && nums[0] < 1 && nums[1] > 0 && nums[1] < 1:
		words = append([]string{"xy"}, words...)
	case len(nums) == 2 && nums[0] >= 1000 && math.Abs(nums[1]) < 0.1:
		words = []string{words[0] + "K duv " + words[1]}
	case len(nums) == 1 && nums[0] >= 1000:
		words = []string{words[0] + "K"}
	case len(nums) > 0:
		return expr.Color{}, fmt.Errorf("%q: want x and y (0.3412 0.3553), or kelvin and Duv (4310 -0.002)", text)
	}
	c, err := expr.Parse(strings.Join(words, " "))
	if level.v > 0 {
		c.Y = level.v
	}
	return c, err
}

// displayed reads the decimal comma of a display.
func displayed(w string) string {
	if strings.Count(w, ",") == 1 && !strings.Contains(w, ".") {
		return strings.Replace(w, ",", ".", 1)
	}
	return w
}

var typedNumber = regexp.MustCompile(`\d+(?:[.]\d+)?`)

// typedStep finds how far one unit in the last place of any number typed moves
// the colour: that is the rounding of the display.
func typedStep(text string, c expr.Color) float64 {
	step := 0.0
	for _, at := range typedNumber.FindAllStringIndex(text, 16) {
		n := text[at[0]:at[1]]
		_, frac, _ := strings.Cut(n, ".")
		v, err := parseNumber(n, false)
		if err != nil || len(frac) > 12 {
			continue
		}
		for _, sign := range []float64{1, -1} {
			near := fmt.Sprintf("%s%.*f%s", text[:at[0]], len(frac), v.value+sign*math.Pow(10, -float64(len(frac))), text[at[1]:])
			if m, err := parseTyped(near); err == nil {
				step = max(step, math.Hypot(m.XY.X-c.XY.X, m.XY.Y-c.XY.Y))
			}
		}
	}
	if step > 0.02 { // not a rounding: a name with a number in it
		return 0.0005
	}
	return step
}
