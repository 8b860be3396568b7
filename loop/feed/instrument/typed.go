package instrument

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/expr"
)

// typedKelvin is a temperature. Alone it has no tint, and that must be asked
// for: a tint of 0 would be invented.
var typedKelvin = regexp.MustCompile(`(?i)^\d+([.,]\d+)?\s*(kelvin|kk|k|mireds|mired)?`)

func kelvinAlone(text string) bool { return text != "" && typedKelvin.FindString(text) == text }

// WithDuv puts a tint that was typed alone behind the temperature typed before;
// any other text stands for itself.
func WithDuv(before, text string) string {
	if v, err := parseNumber(displayed(text), false); err != nil || v.unit != (unit{}) || math.Abs(v.value) >= 0.1 {
		return text
	}
	at := len(typedKelvin.FindString(before))
	return before[:at] + " " + text + " " + before[at:]
}

// ReadTyped reads a colour as a person types it, and says how it was read.
func ReadTyped(text string) (Draft, string, error) {
	if strings.EqualFold(text, "dark") {
		return Draft{Flags: Typed | Underrange, Raw: text}, "too dark for the meter", nil
	}
	if strings.EqualFold(text, "none") {
		return Draft{Flags: Typed | NotWhite, Raw: text}, "no figures: a colour that the meter can not tell", nil
	}
	c, err := parseTyped(text)
	if err != nil {
		return Draft{}, "", err
	}
	if !OnDiagram(c.XY.UV()) {
		return Draft{}, "", fmt.Errorf("%q is not a colour that light can have", text)
	}
	d := Draft{Quantity: Chromaticity, UV: c.XY.UV(), Flags: Typed, Raw: Cut([]byte(text)), RoundXY: typedStep(text, c)}
	if c.Y > 0 {
		d.Quantity, d.Y, d.HasY = ChromaLevel, c.Y, true
	}
	words := fmt.Sprintf("x %.4f y %.4f", c.XY.X, c.XY.Y)
	if t, duv, err := colorcalc.CCT(c.XY); err == nil {
		words += fmt.Sprintf(", %.0f K Duv %s", float64(t), duv.Text())
	}
	if d.HasY {
		words += fmt.Sprintf(", level %.4g", d.Y)
	}
	if kelvinAlone(c.Text) {
		d.Flags |= NoDuv
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
