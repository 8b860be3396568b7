package expr

import (
	"fmt"
	"strconv"

	"trueup/colorcalc"
)

// space reads "in NAME". Without it the fallback holds, or an error where
// there is none: numbers in an unnamed RGB space are no colour.
func (p *parser) space(fallback *colorcalc.RGBSpace) (*colorcalc.RGBSpace, error) {
	names := ""
	for _, s := range colorcalc.RGBSpaces {
		names += " " + s.Name
	}
	if !p.takes("in") {
		if fallback == nil {
			return nil, p.fail(p.peek(), "say in which RGB space", "write in one of"+names)
		}
		return fallback, nil
	}
	t := p.next()
	if t.kind == word || t.kind == number {
		if s := colorcalc.RGBSpaceByName(t.text); s != nil {
			return s, nil
		}
	}
	return nil, p.fail(t, "no such RGB space", "write in one of"+names)
}

func (p *parser) rgb(s *colorcalc.RGBSpace, c colorcalc.RGB, t token) (Color, error) {
	xy := s.XYZ(c).XY()
	if !xy.Valid() {
		return Color{}, p.fail(t, "black has no chromaticity", "")
	}
	return Color{XY: xy}, nil
}

// component reads 0..1 or 0..100 %.
func (p *parser) component(what string) (float64, error) {
	v, t, err := p.number(what)
	if err != nil {
		return 0, err
	}
	if p.takes("%") {
		v /= 100
	}
	if !(v >= 0 && v <= 1) {
		return 0, p.fail(t, fmt.Sprintf("%s must be between 0 and 1, or 0%% and 100%%", what), "")
	}
	return v, nil
}

func parseRGB(p *parser, t token) (Color, error) {
	var c [3]float64
	for i, n := range []string{"red", "green", "blue"} {
		v, err := p.component(n)
		if err != nil {
			return Color{}, err
		}
		c[i] = v
	}
	s, err := p.space(nil)
	if err != nil {
		return Color{}, err
	}
	return p.rgb(s, colorcalc.RGB{R: c[0], G: c[1], B: c[2]}, t)
}

// hueSaturation reads hue in degrees, saturation and the space.
func (p *parser) hueSaturation() (h, sat float64, s *colorcalc.RGBSpace, err error) {
	h, t, err := p.number("hue")
	if err != nil {
		return 0, 0, nil, err
	}
	p.takes("deg", "degrees", "°")
	if !(h >= -360 && h <= 360) {
		return 0, 0, nil, p.fail(t, "hue must be between -360 and 360 degrees", "")
	}
	if sat, err = p.component("saturation"); err != nil {
		return 0, 0, nil, err
	}
	s, err = p.space(nil)
	return h, sat, s, err
}

func parseHS(p *parser, t token) (Color, error) {
	h, sat, s, err := p.hueSaturation()
	if err != nil {
		return Color{}, err
	}
	return p.rgb(s, colorcalc.FromHSV(h, sat, 1), t)
}

func parseHSI(p *parser, t token) (Color, error) {
	h, sat, s, err := p.hueSaturation()
	if err != nil {
		return Color{}, err
	}
	return p.rgb(s, colorcalc.FromHSI(h, sat, 1), t)
}

func (p *parser) hexColour() (Color, error) {
	t := p.next()
	n := len(t.text)
	v, err := strconv.ParseUint(t.text, 16, 32)
	if err != nil || n != 3 && n != 6 {
		return Color{}, p.fail(t, "want three or six hex digits after #", "write #ff8800")
	}
	s, spaceErr := p.space(colorcalc.SRGB)
	if spaceErr != nil {
		return Color{}, spaceErr
	}
	digits, full := uint(2), 255.0
	if n == 3 {
		digits, full = 1, 15
	}
	part := func(k uint) float64 {
		return s.Decode(float64(v>>(4*digits*k)&(1<<(4*digits)-1)) / full)
	}
	return p.rgb(s, colorcalc.RGB{R: part(2), G: part(1), B: part(0)}, t)
}
