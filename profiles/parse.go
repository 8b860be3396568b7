package profiles

import (
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/profiles/law"
	"trueup/profiles/yamlfile"
)

// reader turns the shape of the file into a Profile and collects what is wrong.
type reader struct {
	doc  *yamlfile.Doc
	open func(name string) ([]byte, error) // spectrum files; nil = no folder
}

func parse(name string, data []byte, open func(string) ([]byte, error)) (*Profile, error) {
	var raw fileProfile
	doc, err := yamlfile.Decode(name, data, &raw)
	if doc == nil {
		return nil, err
	}
	r := &reader{doc, open}
	p := &Profile{Name: raw.Profile, Maker: raw.Maker, Note: raw.Note, File: name}
	seen := map[string]bool{}
	for i := range raw.Modes {
		at := fmt.Sprintf("$.modes[%d]", i)
		if n := raw.Modes[i].Mode; n != "" {
			if seen[n] {
				doc.Errorf(at+".mode", "a mode %q is there already", n).Advise("give each mode its own name")
			}
			seen[n] = true
		}
		p.Modes = append(p.Modes, r.mode(at, &raw.Modes[i]))
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return p, nil
}

// partsOf says which keys a kind of mode uses beside those that all may have.
var partsOf = map[Kind][]string{
	Emitters: {"curve", "emitters"},
	CCT:      {"cct", "tint"},
	XY:       {"x", "y", "gamut", "white"},
	HueSat:   {"hue", "saturation", "space", "white"},
	Fixed:    {"white"},
}

// needs says which of them must be there.
var needs = map[Kind][]string{Emitters: {"emitters"}, CCT: {"cct"}, XY: {"x", "y"}, HueSat: {"hue", "saturation"}}

func (r *reader) mode(at string, raw *fileMode) Mode {
	m := Mode{Name: raw.Mode, Note: raw.Note, ByHand: raw.ByHand, Heads: Heads{Count: 1}}
	for _, k := range []Kind{Emitters, CCT, XY, HueSat, Fixed} {
		if raw.Kind == k.String() {
			m.Kind = k
		}
	}
	if raw.Slots != nil {
		m.Footprint = *raw.Slots
	}
	if raw.Heads != nil {
		m.Heads = Heads{raw.Heads.Count, raw.Heads.Stride}
	}
	if raw.SettleMS != nil {
		m.Settle = time.Duration(*raw.SettleMS * float64(time.Millisecond))
	}
	if raw.WarmUpMin != nil {
		m.WarmUp = time.Duration(*raw.WarmUpMin * float64(time.Minute))
	}
	r.parts(at, m.Kind)
	r.reach(at, &m, raw)

	if raw.Dimmer != nil {
		p := r.param(at+".dimmer", "dimmer", &m, &raw.Dimmer.fileBase)
		p.Curve = r.curve(at+".dimmer.curve", raw.Dimmer.Curve, law.Curve{})
		m.Dimmer = &p
	}
	common := r.curve(at+".curve", raw.Curve, law.Curve{})
	r.emitters(at, &m, raw.Emitters, common)
	if raw.CCT != nil {
		m.CCT = r.cct(at+".cct", &m, raw.CCT)
	}
	if raw.Tint != nil {
		m.Tint = r.tint(at+".tint", &m, raw.Tint)
	}
	r.scales(at, &m, raw)
	r.pins(at, &m, raw)
	r.slots(at, &m)
	return m
}

// parts checks that the keys given belong to the kind of mode.
func (r *reader) parts(at string, k Kind) {
	if partsOf[k] == nil {
		return // the kind itself is wrong, and that is said already
	}
	for _, other := range []Kind{Emitters, CCT, XY, HueSat, Fixed} {
		for _, key := range partsOf[other] {
			if !has(partsOf[k], key) && r.doc.Has(at+"."+key) {
				n := r.key(at, key)
				n.Advise("a mode of kind %s has %s", k, list(partsOf[k]))
			}
		}
	}
	for _, key := range needs[k] {
		if !r.doc.Has(at + "." + key) {
			r.doc.Errorf(at+".kind", "a mode of kind %s needs %q, which is missing", k, key+":").
				Advise("add it, or choose another kind: emitters, cct, xy, hue-saturation, fixed")
		}
	}
}

func (r *reader) key(at, key string) *yamlfile.Error {
	return r.doc.Errorf(at+"."+key, "%q does not belong to this kind of mode", key)
}

// reach checks how the mode is reached: by slots, by hand, or not at all.
func (r *reader) reach(at string, m *Mode, raw *fileMode) {
	d := r.doc
	switch {
	case m.ByHand && raw.Slots != nil:
		d.Errorf(at+".slots", "a mode that is set by hand has no slots").Advise("take out slots, or by_hand")
	case !m.ByHand && raw.Slots == nil && m.Kind != Fixed:
		d.Errorf(at, "the key \"slots\" is missing: how many slots the mode takes").
			Advise("add \"slots:\" with the count the manual gives, or \"by_hand: true\" for a fixture set by hand")
	case m.Kind == Fixed && raw.Slots == nil && !m.ByHand:
		for _, key := range []string{"dimmer", "set", "shutter", "never_touch"} {
			if d.Has(at + "." + key) {
				d.Errorf(at+"."+key, "%s needs slots, and the mode has none", key).Advise("add \"slots:\" to the mode, or take %s out", key)
			}
		}
	}
	if m.ByHand {
		for _, key := range []string{"set", "shutter", "never_touch", "heads"} {
			if d.Has(at + "." + key) {
				d.Errorf(at+"."+key, "a mode that is set by hand has no slots, so no %s", key).Advise("take it out")
			}
		}
	}
	if raw.Heads != nil && raw.Slots != nil && !d.Failed(at+".heads") &&
		(m.Heads.Count-1)*m.Heads.Stride >= m.Footprint {
		d.Errorf(at+".heads", "%d heads every %d slots do not fit into %d slots", m.Heads.Count, m.Heads.Stride, m.Footprint)
		m.Heads = Heads{Count: 1}
	}
}

// curve reads a law: a word, or a group with gamma or table.
func (r *reader) curve(at string, n *yamlfile.Node, otherwise law.Curve) law.Curve {
	if n == nil || n.Kind() == yamlfile.Absent {
		return otherwise
	}
	if n.Kind() != yamlfile.Map {
		for _, l := range law.Laws {
			if n.Text() == l.String() {
				return law.Curve{Law: l}
			}
		}
		e := n.Errorf("curve is %q: want unknown, linear, square, s, {gamma: 2.2} or {table: [0, 0.2, 1]}", n.Text())
		if near := yamlfile.Nearest(n.Text(), []string{"unknown", "linear", "square", "s", "gamma", "table"}); near == "gamma" || near == "table" {
			e.Advise("%s comes with figures: {gamma: 2.2} or {table: [0, 0.2, 1]}", near)
		} else if near != "" {
			e.Advise("did you mean %q?", near)
		}
		return otherwise
	}
	var f fileCurve
	if !n.Decode(&f) {
		return otherwise
	}
	switch {
	case (f.Gamma == nil) == (f.Table == nil):
		n.Errorf("a curve has either gamma or table")
	case f.Gamma != nil:
		return law.Curve{Law: law.Gamma, Gamma: *f.Gamma}
	default:
		t := f.Table
		for i := range t {
			if i > 0 && t[i] < t[i-1] {
				r.doc.Errorf(fmt.Sprintf("%s.table[%d]", at, i), "the table falls from %g to %g: light must not fall as the level rises", t[i-1], t[i])
				return otherwise
			}
		}
		if t[0] != 0 || t[len(t)-1] != 1 {
			r.doc.Errorf(at+".table", "the table runs from %g to %g: want 0 to 1 (light as a fraction of full, at equal distances of level)", t[0], t[len(t)-1])
			return otherwise
		}
		return law.Curve{Law: law.Table, Table: t}
	}
	return otherwise
}

type fileCurve struct {
	Gamma *float64  `yaml:"gamma" min:"0.3" max:"5" help:"Light is level to this power, both 0..1."`
	Table []float64 `yaml:"table" items:"2 4097" min:"0" max:"1" help:"Light, as a fraction of full, at equal distances of level from the lowest to the highest: begins with 0, ends with 1, never falls."`
}

// chroma reads a colour given in one of several ways; nil if none was given.
func (r *reader) chroma(at string, xy, uv []float64, kelvin, duv *float64) *colorcalc.UV {
	d := r.doc
	var c *colorcalc.UV
	given := 0
	take := func(key string, v colorcalc.UV) {
		if given++; given > 1 {
			d.Errorf(at+"."+key, "the colour is given twice").Advise("keep one of xy, uv, kelvin, dominant_nm, peak_nm, spectrum")
		}
		c = &v
	}
	if len(xy) == 2 && !d.Failed(at+".xy") {
		v := colorcalc.XY{X: xy[0], Y: xy[1]}
		if !v.Valid() || v.UV().V > 0.65 {
			d.Errorf(at+".xy", "x %g, y %g is no possible light: y is above 0, and x + y at most 1", xy[0], xy[1])
		} else {
			take("xy", v.UV())
		}
	}
	if len(uv) == 2 && !d.Failed(at+".uv") {
		v := colorcalc.UV{U: uv[0], V: uv[1]}
		if uv[1] <= 0 || !v.XY().Valid() {
			d.Errorf(at+".uv", "u' %g, v' %g is no possible light", uv[0], uv[1])
		} else {
			take("uv", v)
		}
	}
	if duv != nil && kelvin == nil {
		d.Errorf(at+".duv", "duv stands beside kelvin, which is missing").Advise("add \"kelvin:\"")
	}
	if kelvin != nil && !d.Failed(at+".kelvin") && !d.Failed(at+".duv") {
		off := 0.0
		if duv != nil {
			off = *duv
		}
		v, err := colorcalc.White(colorcalc.Kelvin(*kelvin), colorcalc.Duv(off))
		if err != nil {
			d.Errorf(at+".kelvin", "%g K with Duv %g: %v", *kelvin, off, err)
		} else {
			take("kelvin", v.UV())
		}
	}
	return c
}

func has(words []string, w string) bool {
	for _, have := range words {
		if have == w {
			return true
		}
	}
	return false
}

func list(words []string) string {
	s := ""
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			s += " and "
		default:
			s += ", "
		}
		s += w
	}
	return s
}

// whole reports whether f is a whole number to within rounding of decimals.
func whole(f float64) bool { return math.Abs(f-math.Round(f)) < 1e-6 }
