package instrument

import (
	"errors"
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// colour reads the first quantity that is there: tristimulus values, x y, u' v',
// temperature and Duv, a spectrum.
func (d *instrumentDecoder) colour(v decoded, m Message, out *Draft) (Reason, error) {
	if s := d.ins.spectrum; s != nil {
		sp, err := s.read(v, m.Data, d.ins.comma)
		if err != nil {
			return Unreadable, err
		}
		out.Spectrum = sp
	}
	var err error
	if out.Y, out.HasY, err = d.level(v, m); err != nil {
		return Unreadable, err
	}
	for _, read := range []func(decoded, Message, *Draft) (bool, Reason, error){d.tristimulus, d.chromaticity, d.chromaticityUV, d.temperature} {
		if ok, why, err := read(v, m, out); ok || err != nil {
			return why, err
		}
	}
	if out.Spectrum == nil {
		return Unreadable, errors.New("no colour in it")
	}
	xyz := out.Spectrum.XYZ(spectrum.Deg2)
	out.Quantity, out.UV = SpectralPower, xyz.UV()
	if out.UV == (colorcalc.UV{}) {
		out.Flags |= Underrange
	}
	if d.ins.spectrum.absolute && !out.HasY {
		out.Y, out.HasY = xyz.Y, true
	}
	return "", nil
}

// values reads several fields; ok is false where one of them is not there.
func (d *instrumentDecoder) values(v decoded, m Message, fs ...namedField) (vs []value, ok bool, err error) {
	for _, f := range fs {
		x, ok, err := d.value(v, m, f.field, f.key)
		if err != nil || !ok {
			return nil, false, err
		}
		vs = append(vs, x)
	}
	return vs, true, nil
}

func (d *instrumentDecoder) tristimulus(v decoded, m Message, out *Draft) (bool, Reason, error) {
	f := &d.ins.fields
	c, ok, err := d.values(v, m, namedField{"X", f.bigX}, namedField{"Y", f.bigY}, namedField{"Z", f.bigZ})
	if err != nil || !ok {
		return false, Unreadable, err
	}
	xyz := colorcalc.XYZ{X: c[0].v, Y: c[1].v, Z: c[2].v}
	out.Quantity, out.UV, out.Y, out.HasY = Tristimulus, xyz.UV(), xyz.Y, true
	d.rounded(out, max(c[0].step, c[1].step)/(math.Abs(xyz.X)+math.Abs(xyz.Y)+math.Abs(xyz.Z)))
	if out.UV == (colorcalc.UV{}) {
		out.Flags |= Underrange
	}
	return true, "", nil
}

func (d *instrumentDecoder) chromaticity(v decoded, m Message, out *Draft) (bool, Reason, error) {
	c, ok, err := d.values(v, m, namedField{"x", d.ins.fields.x}, namedField{"y", d.ins.fields.y})
	if err != nil || !ok {
		return false, Unreadable, err
	}
	out.Quantity = withLevel(out, Chromaticity, ChromaLevel)
	out.UV = colorcalc.XY{X: c[0].v, Y: c[1].v}.UV()
	d.rounded(out, max(c[0].step, c[1].step))
	return true, "", nil
}

func (d *instrumentDecoder) chromaticityUV(v decoded, m Message, out *Draft) (bool, Reason, error) {
	c, ok, err := d.values(v, m, namedField{"u_prime", d.ins.fields.uPrime}, namedField{"v_prime", d.ins.fields.vPrime})
	if err != nil || !ok {
		return false, Unreadable, err
	}
	out.Quantity = withLevel(out, Chromaticity, ChromaLevel)
	out.UV = colorcalc.UV{U: c[0].v, V: c[1].v}
	d.rounded(out, xyStep(out.UV, max(c[0].step, c[1].step)))
	return true, "", nil
}

func (d *instrumentDecoder) temperature(v decoded, m Message, out *Draft) (bool, Reason, error) {
	t, ok, err := d.value(v, m, d.ins.fields.cct, "cct")
	if err != nil || !ok {
		return false, Unreadable, err
	}
	duv, told, err := d.value(v, m, d.ins.fields.duv, "duv")
	if err != nil {
		return false, Unreadable, err
	}
	out.Quantity = withLevel(out, ColourTemp, ColourTempLevel)
	if !told {
		out.Flags |= NoDuv
	}
	uv, step, err := fromCCT(t, duv, told)
	switch {
	case errors.Is(err, colorcalc.ErrRange):
		return false, NoWhite, err
	case err != nil:
		return false, OffDiagram, err
	}
	out.UV = uv
	d.rounded(out, step)
	return true, "", nil
}

// withLevel chooses the quantity by whether a level came with the colour.
func withLevel(out *Draft, without, having Quantity) Quantity {
	if out.HasY {
		return having
	}
	return without
}

func (d *instrumentDecoder) level(v decoded, m Message) (float64, bool, error) {
	x, ok, err := d.value(v, m, d.ins.fields.level, "level")
	return x.v, ok, err
}

// rounded stores the rounding of a reading. Text that drops zeros at its end
// (0.31 for 0.3100) hides decimals, so the finest step seen counts, within the
// same quantity.
func (d *instrumentDecoder) rounded(out *Draft, step float64) {
	if d.ins.round > 0 {
		out.RoundXY = d.ins.round
		return
	}
	if !finite(step) || step <= 0 {
		return
	}
	if d.ins.as == "json" {
		if d.finest == 0 || step < d.finest {
			d.finest = step
		}
		step = d.finest
	}
	if step >= 1e-6 {
		out.RoundXY = step
	}
}

// xyStep turns a step in u', v' into one in x, y: the largest singular
// direction of d(xy)/d(u'v'), bounded from above by its Frobenius norm.
func xyStep(c colorcalc.UV, step float64) float64 {
	const h = 1e-6
	a := colorcalc.UV{U: c.U + h, V: c.V}.XY()
	b := colorcalc.UV{U: c.U, V: c.V + h}.XY()
	o := c.XY()
	return step * math.Hypot(math.Hypot(a.X-o.X, a.Y-o.Y), math.Hypot(b.X-o.X, b.Y-o.Y)) / math.Sqrt2 / h
}

// fromCCT places CCT and Duv on the diagram, and finds how far one step of the
// display moves it.
func fromCCT(t, duv value, told bool) (colorcalc.UV, float64, error) {
	place := func(k, d float64) (colorcalc.XY, error) {
		return colorcalc.White(colorcalc.Kelvin(k), colorcalc.Duv(d))
	}
	if !told {
		duv = value{}
	}
	c, err := place(t.v, duv.v)
	if err != nil {
		return colorcalc.UV{}, 0, err
	}
	step := 0.0
	if n, err := place(t.v+t.step, duv.v); err == nil {
		step = math.Hypot(n.X-c.X, n.Y-c.Y)
	}
	if n, err := place(t.v, duv.v+duv.step); err == nil && told {
		step = max(step, math.Hypot(n.X-c.X, n.Y-c.Y))
	}
	return c.UV(), step, nil
}
