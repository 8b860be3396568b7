package expr

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// Color is a colour that a person named.
type Color struct {
	Text string // as it was written, trimmed
	XY   colorcalc.XY
	Y    float64 // level in lux or cd/m2; 0 = not given
}

// Lookup finds a saved reading by its name. known lists names to offer when
// there is no such one.
type Lookup func(name string) (c colorcalc.XY, y float64, ok bool)

const hintForms = `write for example 5600K, "5600K +0.002", D65, "xy 0.3127 0.3290", "uv 0.1978 0.4683" or #ff8800`

// What a colour must keep to so that everything computed from it is finite: no
// real light has a y below 0.0047, that of 410 nm (CIE 1931), and the sun's disc
// has 1.6e9 cd/m2.
const (
	minY     = 1e-4
	maxLevel = 1e12
)

// Parse reads an expression (see the package comment for the grammar). Every
// error is an *Error that points at the character. The chromaticity that comes
// back is valid: finite, x >= 0, y > 0, x + y <= 1.
func Parse(text string) (Color, error) { return ParseWith(text, nil) }

// ParseWith is Parse with saved readings.
func ParseWith(text string, saved Lookup) (Color, error) {
	text = strings.TrimSpace(text)
	if len(text) > maxText {
		return Color{}, &Error{Text: text[:20] + "...", Msg: fmt.Sprintf("longer than %d characters", maxText), Hint: hintForms}
	}
	if name, ok := cutWord(text, "reading"); ok {
		return savedReading(text, name, saved)
	}
	tokens, lexErr := lex(text)
	if lexErr != nil {
		return Color{}, lexErr
	}
	if err := checkCommas(text, tokens); err != nil {
		return Color{}, err
	}
	p := &parser{text: text, tokens: tokens}
	c, err := p.colour()
	if err == nil && p.peek().kind != end {
		err = p.fail(p.peek(), "nothing more is expected here", "")
	}
	if err == nil && !(c.XY.Valid() && c.XY.Y >= minY) {
		err = p.fail(tokens[0], "no possible colour: want x >= 0, y > 0 and x + y <= 1", "")
	}
	if err == nil && c.Y > maxLevel {
		err = p.fail(tokens[0], fmt.Sprintf("a level above %.0e is no light", maxLevel), "")
	}
	if err != nil {
		return Color{}, err
	}
	c.Text = text
	return c, nil
}

func cutWord(text, word string) (string, bool) {
	if len(text) <= len(word) || !strings.EqualFold(text[:len(word)], word) || !separator(text[len(word)]) {
		return "", false
	}
	return strings.TrimSpace(text[len(word)+1:]), true
}

func savedReading(text, name string, saved Lookup) (Color, error) {
	if saved == nil {
		return Color{}, &Error{Text: text, Msg: "there are no saved readings here", Hint: hintForms}
	}
	xy, y, ok := saved(name)
	if !ok || !xy.Valid() {
		return Color{}, &Error{Text: text, Pos: len(text) - len(name), Msg: fmt.Sprintf("no saved reading %q", name)}
	}
	return Color{text, xy, y}, nil
}

// parser walks over the tokens.
type parser struct {
	text   string
	tokens []token
	i      int
}

func (p *parser) peek() token { return p.tokens[p.i] }

func (p *parser) next() token {
	t := p.tokens[p.i]
	if t.kind != end {
		p.i++
	}
	return t
}

func (p *parser) fail(t token, msg, hint string) error { return &Error{p.text, t.pos, msg, hint} }

// takes consumes the next token if it is one of the words.
func (p *parser) takes(words ...string) bool {
	t := p.peek()
	for _, w := range words {
		if t.kind == word && strings.EqualFold(t.text, w) {
			p.i++
			return true
		}
	}
	return false
}

func (p *parser) number(what string) (float64, token, error) {
	t := p.next()
	if t.kind != number {
		return 0, t, p.fail(t, fmt.Sprintf("want a number for %s", what), "")
	}
	return t.val, t, nil
}

// numbers reads one number for each name; the name itself may stand before
// it, as in "x=0.31 y=0.33".
func (p *parser) numbers(names ...string) ([]float64, error) {
	out := make([]float64, len(names))
	for i, n := range names {
		p.takes(n)
		v, _, err := p.number(n)
		if err != nil {
			return nil, err
		}
		out[i] = v
	}
	return out, nil
}

func (p *parser) colour() (Color, error) {
	t := p.peek()
	switch t.kind {
	case number:
		return p.white()
	case hex:
		return p.hexColour()
	case end:
		return Color{}, p.fail(t, "a colour is missing", hintForms)
	}
	if f, ok := forms[strings.ToLower(t.text)]; ok {
		if !f.bare { // "x=0.31 y=0.33": the word is the name of the first number
			p.next()
		}
		return f.parse(p, t)
	}
	p.next()
	return p.illuminant(t)
}

// takesNumbers reports whether a word is a keyword that numbers follow, so
// that "xy0.31,0.33" splits after it.
func takesNumbers(w string) bool {
	w = strings.ToLower(w)
	_, ok := forms[w]
	return ok || slices.Contains(partNames, w)
}

// partNames are the names that may stand before the second and later numbers.
var partNames = []string{"y", "z", "u", "v", "v'", "v′", "duv"}

type form struct {
	bare  bool
	parse func(*parser, token) (Color, error)
}

var forms map[string]form

func init() {
	forms = map[string]form{
		"xy": {false, parseXY}, "x": {true, parseXY}, "xyy": {false, parseXYY},
		"uv": {false, parseUV}, "u'v'": {false, parseUV}, "u′v′": {false, parseUV}, "u'": {true, parseUVNamed}, "u′": {true, parseUVNamed},
		"uv60": {false, parseUV60}, "xyz": {false, parseXYZ},
		"rgb": {false, parseRGB}, "hs": {false, parseHS}, "hsv": {false, parseHS}, "hsi": {false, parseHSI},
		"cct": {false, func(p *parser, _ token) (Color, error) { return p.white() }},
	}
}

func parseXY(p *parser, _ token) (Color, error) {
	v, err := p.numbers("x", "y")
	if err != nil {
		return Color{}, err
	}
	return Color{XY: colorcalc.XY{X: v[0], Y: v[1]}}, nil
}

func parseXYY(p *parser, t token) (Color, error) {
	v, err := p.numbers("x", "y", "Y")
	if err != nil {
		return Color{}, err
	}
	if !(v[2] >= 0) || math.IsInf(v[2], 0) {
		return Color{}, p.fail(t, "the level must not be negative", "")
	}
	return Color{XY: colorcalc.XY{X: v[0], Y: v[1]}, Y: v[2]}, nil
}

func parseUV(p *parser, t token) (Color, error) {
	v, err := p.numbers("u", "v")
	if err != nil {
		return Color{}, err
	}
	return Color{XY: colorcalc.UV{U: v[0], V: v[1]}.XY()}, nil
}

func parseUVNamed(p *parser, t token) (Color, error) {
	p.next()
	u, _, err := p.number("u'")
	if err != nil {
		return Color{}, err
	}
	p.takes("v'", "v′")
	v, _, err := p.number("v'")
	if err != nil {
		return Color{}, err
	}
	return Color{XY: colorcalc.UV{U: u, V: v}.XY()}, nil
}

func parseUV60(p *parser, _ token) (Color, error) {
	v, err := p.numbers("u", "v")
	if err != nil {
		return Color{}, err
	}
	return Color{XY: colorcalc.UV60{U: v[0], V: v[1]}.XY()}, nil
}

func parseXYZ(p *parser, t token) (Color, error) {
	v, err := p.numbers("X", "Y", "Z")
	if err != nil {
		return Color{}, err
	}
	c := colorcalc.XYZ{X: v[0], Y: v[1], Z: v[2]}
	if max(c.X, c.Y, c.Z) > maxLevel {
		return Color{}, p.fail(t, fmt.Sprintf("a level above %.0e is no light", maxLevel), "")
	}
	if !(c.X >= 0 && c.Y > 0 && c.Z >= 0) || c.XY() == (colorcalc.XY{}) {
		return Color{}, p.fail(t, "no possible light: want X and Z not negative, Y above zero", "")
	}
	return Color{XY: c.XY(), Y: c.Y}, nil
}

// illuminant reads A, D.., FL.., LED-.. and daylight by its temperature.
func (p *parser) illuminant(t token) (Color, error) {
	if s, ok := spectrum.Illuminant(t.text); ok {
		c, err := s.Linear(spectrum.Visible5).XY()
		if err != nil {
			return Color{}, p.fail(t, err.Error(), "")
		}
		return Color{XY: c}, nil
	}
	name := strings.ToUpper(t.text)
	if digits, ok := strings.CutPrefix(name, "D"); ok && digits != "" && digit(digits[0]) {
		digits, kelvin := strings.CutSuffix(digits, "K")
		v, err := strconv.ParseFloat(digits, 64)
		if err != nil {
			return Color{}, p.fail(t, fmt.Sprintf("%q is not a daylight", t.text), "write D65, D5600K")
		}
		kelvin = kelvin || p.takes("K")
		if !kelvin && len(digits) <= 3 {
			v *= 100 * colorcalc.OldC2
		}
		c, err := colorcalc.Daylight(colorcalc.Kelvin(v))
		if err != nil {
			return Color{}, p.fail(t, fmt.Sprintf("daylight is defined from 4000 to 25000 K, not at %.0f K", v), "")
		}
		return Color{XY: c}, nil
	}
	hint := hintForms
	if strings.HasPrefix(name, "FL") || strings.HasPrefix(name, "LED") || strings.HasPrefix(name, "F1") {
		hint = "illuminants are " + strings.Join(spectrum.Illuminants(), " ")
	}
	return Color{}, p.fail(t, fmt.Sprintf("no colour is called %q", t.text), hint)
}
