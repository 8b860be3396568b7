package instrument

import (
	"errors"
	"math"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// colour reads the richest quantity that is there.
func (d *instrumentDecoder) colour(v decoded, m Message, out *Draft) (Reason, error) {
	f := &d.ins.fields
	if s := d.ins.spectrum; s != nil {
		sp, err := s.read(v, m.Data, d.ins.comma)
		if err != nil {
			return Unreadable, err
		}
		out.Spectrum = sp
	}
	get := func(fs []*field, names ...string) ([]value, bool, error) {
		vs := make([]value, len(fs))
		for i, g := range fs {
			if g == nil {
				return nil, false, nil
			}
			x, ok, err := d.value(v, m, g, names[i])
			if err != nil || !ok {
				return nil, false, err
			}
			vs[i] = x
		}
		return vs, true, nil
	}
	level, hasLevel, err := d.level(v, m)
	if err != nil {
		return Unreadable, err
	}
	if c, ok, err := get([]*field{f.bigX, f.bigY, f.bigZ}, "X", "Y", "Z"); err != nil {
		return Unreadable, err
	} else if ok {
		xyz := colorcalc.XYZ{X: c[0].v, Y: c[1].v, Z: c[2].v}
		out.Quantity, out.UV, out.Y, out.HasY = Tristimulus, xyz.UV(), xyz.Y, true
		d.rounded(out, max(c[0].step, c[1].step)/(math.Abs(xyz.X)+math.Abs(xyz.Y)+math.Abs(xyz.Z)))
		if out.UV == (colorcalc.UV{}) {
			out.Flags |= Underrange
		}
		return "", nil
	}
	out.Y, out.HasY = level, hasLevel
	with := func(without, having Quantity) Quantity {
		if hasLevel {
			return having
		}
		return without
	}
	if c, ok, err := get([]*field{f.x, f.y}, "x", "y"); err != nil {
		return Unreadable, err
	} else if ok {
		out.Quantity = with(Chromaticity, ChromaLevel)
		out.UV = colorcalc.XY{X: c[0].v, Y: c[1].v}.UV()
		d.rounded(out, max(c[0].step, c[1].step))
		return "", nil
	}
	if c, ok, err := get([]*field{f.uPrime, f.vPrime}, "u_prime", "v_prime"); err != nil {
		return Unreadable, err
	} else if ok {
		out.Quantity = with(Chromaticity, ChromaLevel)
		out.UV = colorcalc.UV{U: c[0].v, V: c[1].v}
		step := max(c[0].step, c[1].step)
		d.rounded(out, xyStep(out.UV, step))
		return "", nil
	}
	if t, ok, err := get([]*field{f.cct}, "cct"); err != nil {
		return Unreadable, err
	} else if ok {
		duv, told, err := d.value(v, m, f.duv, "duv")
		if err != nil {
			return Unreadable, err
		}
		out.Quantity = with(ColourTemp, ColourTempLevel)
		if !told {
			out.Flags |= NoDuv
		}
		uv, step, err := fromCCT(t[0], duv, told)
		if err != nil {
			return OffDiagram, err
		}
		out.UV = uv
		d.rounded(out, step)
		return "", nil
	}
	if out.Spectrum != nil {
		xyz := out.Spectrum.XYZ(spectrum.Deg2)
		out.Quantity, out.UV = SpectralPower, xyz.UV()
		if out.UV == (colorcalc.UV{}) {
			out.Flags |= Underrange
		}
		if d.ins.spectrum.absolute && !hasLevel {
			out.Y, out.HasY = xyz.Y, true
		}
		return "", nil
	}
	return Unreadable, errors.New("no colour in it")
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
