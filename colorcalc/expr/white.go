package expr

import (
	"fmt"
	"strings"

	"trueup/colorcalc"
)

// white reads a temperature in kelvin or mired with an optional Duv.
func (p *parser) white() (Color, error) {
	v, t, err := p.number("a colour temperature")
	if err != nil {
		return Color{}, err
	}
	k := colorcalc.Kelvin(v)
	switch {
	case p.takes("K", "kelvin"):
	case p.takes("kK"):
		k *= 1000
	case p.takes("mired", "mireds"):
		if !(v > 0) {
			return Color{}, p.fail(t, fmt.Sprintf("%s mired is no colour: want more than 0", t.text), "")
		}
		k = colorcalc.Mired(v).Kelvin()
	default:
		n := p.peek()
		if n.kind == word && strings.HasPrefix(strings.ToLower(n.text), "k") && !takesNumbers(n.text) {
			return Color{}, p.fail(n, fmt.Sprintf("unit %q: want K or mired", n.text), "")
		}
		if n.kind == word && n.text != "tint" && !takesNumbers(n.text) && v >= float64(colorcalc.MinCCT) {
			return Color{}, p.fail(n, fmt.Sprintf("unit %q: want K or mired", n.text), fmt.Sprintf("write %sK", strings.TrimPrefix(t.text, "+")))
		}
		hint := fmt.Sprintf("write %sK", strings.TrimPrefix(t.text, "+"))
		if v >= -1 && v <= 1 {
			hint = fmt.Sprintf(`write "xy %s ..." or "uv %s ..."`, t.text, t.text)
		}
		return Color{}, p.fail(n, fmt.Sprintf("a unit is missing after %s", t.text), hint)
	}
	if !(k >= colorcalc.MinCCT && k <= colorcalc.MaxCCT) {
		return Color{}, p.fail(t, fmt.Sprintf("%s is outside %v to %v K", k.Text(), float64(colorcalc.MinCCT), float64(colorcalc.MaxCCT)), "")
	}
	duv, at := 0.0, t
	if p.takes("duv", "tint") || p.peek().kind == number {
		duv, at, err = p.number("Duv")
		if err != nil {
			return Color{}, err
		}
	}
	if max := float64(colorcalc.MaxDuv); !(duv >= -max && duv <= max) {
		return Color{}, p.fail(at, fmt.Sprintf("Duv %v is outside %v to %v", duv, -max, max), "Duv is a small number such as +0.002 (green) or -0.002 (magenta)")
	}
	c, err := colorcalc.White(k, colorcalc.Duv(duv))
	if err != nil {
		return Color{}, p.fail(at, err.Error(), "")
	}
	return Color{XY: c}, nil
}
