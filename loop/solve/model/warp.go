package model

import (
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve/num"
	"trueup/profiles/law"
)

// D65 is the chromaticity of CIE D65 (ISO 11664-2), where engines are usually
// set up.
var D65 = colorcalc.XY{X: 0.31272, Y: 0.32903}.UV()

// warp corrects an ideal law by an affine map about a centre:
// uv = c + (I + G)(ideal - c) + o. States: o (2), G (4, row by row).
const warpStates = 6

func warped(x []float64, c colorcalc.UV, u, v float64) (float64, float64) {
	a, b := u-c.U, v-c.V
	return c.U + a + x[2]*a + x[3]*b + x[0], c.V + b + x[4]*a + x[5]*b + x[1]
}

func warpBound(x []float64) {
	within(&x[0], warpOffset)
	within(&x[1], warpOffset)
	for i := 2; i < warpStates; i++ {
		within(&x[i], warpMap)
	}
}

// xyLaw is a chromaticity mode: x and y by the scales of the manual, held
// within the gamut where the manual gives one, then warped.
type xyLaw struct {
	s    *XYSpec
	c    colorcalc.UV
	hull []colorcalc.UV
}

func newXYLaw(s *Spec) *xyLaw {
	l := &xyLaw{s: s.XY, c: s.XY.Centre, hull: num.Hull(s.XY.Gamut)}
	if l.c == (colorcalc.UV{}) {
		l.c = D65
	}
	return l
}

func (l *xyLaw) narrow(lo, hi *[2]float64) {
	for k, r := range [2]law.Line{l.s.XScale, l.s.YScale} {
		if end := num.Clamp(r.FractionOf(leastXY), lo[k], hi[k]); r.To > r.From {
			lo[k] = end
		} else {
			hi[k] = end
		}
	}
}

func (l *xyLaw) detents(_, _ float64) []float64 { return nil }

func (l *xyLaw) shared() int     { return warpStates }
func (l *xyLaw) states() int     { return warpStates }
func (l *xyLaw) variants() int   { return 1 }
func (l *xyLaw) channels() []int { return []int{l.s.X, l.s.Y} }
func (l *xyLaw) mean() []float64 { return make([]float64, warpStates) }

func (l *xyLaw) sd(wide bool) []float64 {
	if wide {
		return slices.Clone(warpWide[:])
	}
	return slices.Clone(warpScatter[:])
}

func (l *xyLaw) bound(x []float64) { warpBound(x) }

func (l *xyLaw) bend(_, _ float64) float64 { return xyMove }

func (l *xyLaw) at(_ int, x []float64, a, b float64) (u, v float64) {
	u, v = l.asked(a, b)
	if len(l.hull) > 2 {
		uv := num.Into(l.hull, colorcalc.UV{U: u, V: v})
		u, v = uv.U, uv.V
	}
	return warped(x, l.c, u, v)
}

func (l *xyLaw) asked(a, b float64) (u, v float64) {
	cx, cy := max(l.s.XScale.ValueOf(a), leastScaleXY), max(l.s.YScale.ValueOf(b), leastScaleXY)
	if s := cx + cy; s > 1 {
		cx, cy = cx/s, cy/s
	}
	uv := colorcalc.XY{X: cx, Y: cy}.UV()
	return uv.U, uv.V
}

// hueSatLaw is a hue and saturation mode: three primaries mixed by law.Part.
// States: ln of red and of blue light beside green (2), u'v' of the primaries
// beside nominal (6), hue offset (turns), ln of the exponent on saturation.
const hueSatStates = 10

type hueSatLaw struct {
	s  *HueSatSpec
	c  colorcalc.UV    // white
	uv [3]colorcalc.UV // primaries
	y  [3]float64      // their light; equal parts make the white
}

// Typical LED primaries, where a profile gives none (CIE 1976).
var (
	typicalRed   = colorcalc.XY{X: 0.695, Y: 0.305}.UV()
	typicalGreen = colorcalc.XY{X: 0.20, Y: 0.72}.UV()
	typicalBlue  = colorcalc.XY{X: 0.14, Y: 0.05}.UV()
)

func newHueSatLaw(s *Spec) *hueSatLaw {
	l := &hueSatLaw{s: s.HueSat, c: s.HueSat.White}
	or := func(a, b colorcalc.UV) colorcalc.UV {
		if a == (colorcalc.UV{}) {
			return b
		}
		return a
	}
	l.c = or(l.c, D65)
	l.uv = [3]colorcalc.UV{or(s.HueSat.Red, typicalRed), or(s.HueSat.Green, typicalGreen), or(s.HueSat.Blue, typicalBlue)}
	r, g, b := l.uv[0].XYZ(1), l.uv[1].XYZ(1), l.uv[2].XYZ(1)
	w := l.c.XYZ(1)
	a := [9]float64{r.X, g.X, b.X, r.Y, g.Y, b.Y, r.Z, g.Z, b.Z}
	y := [3]float64{w.X, w.Y, w.Z}
	if !num.Solve3(&a, &y) || y[0] <= 0 || y[1] <= 0 || y[2] <= 0 {
		y = [3]float64{0.21, 0.72, 0.07} // the white is not within: typical shares
	}
	l.y = y
	return l
}

func (l *hueSatLaw) narrow(_, _ *[2]float64) {}

func (l *hueSatLaw) detents(_, _ float64) []float64 { return nil }

func (l *hueSatLaw) shared() int     { return hueSatStates }
func (l *hueSatLaw) states() int     { return hueSatStates }
func (l *hueSatLaw) channels() []int { return []int{l.s.Hue, l.s.Sat} }
func (l *hueSatLaw) mean() []float64 { return make([]float64, hueSatStates) }

// variants: the parts drive the light straight, or through a gamma of 2.2.
func (l *hueSatLaw) variants() int { return 2 }

func (l *hueSatLaw) sd(wide bool) []float64 {
	if wide {
		return slices.Clone(hueSatWide[:])
	}
	return slices.Clone(hueSatScatter[:])
}

func (l *hueSatLaw) bound(x []float64) {
	for i, b := range hueSatBounds {
		within(&x[i], b)
	}
}

func (l *hueSatLaw) bend(_, _ float64) float64 { return engineMove }

func (l *hueSatLaw) asked(a, b float64) (u, v float64) {
	var none [hueSatStates]float64
	return l.at(0, none[:], a, b)
}

func (l *hueSatLaw) at(variant int, x []float64, a, b float64) (u, v float64) {
	h := l.s.HueScale.TurnsOf(a) + x[8]
	sat := math.Pow(max(l.s.SatScale.ValueOf(b), leastFraction), math.Exp(x[9]))
	// Light adds in u', v' by weights of X + 15Y + 3Z, which is 9Y/v'. Counting
	// in Y would blow up for a blue primary without any, as ANSI E1.54 has it.
	var su, sv, sum float64
	for k := range 3 {
		p := law.Part(k, h, sat)
		if variant == 1 {
			p = math.Pow(max(p, 0), law.DefaultGamma)
		}
		switch k {
		case 0:
			p *= math.Exp(x[0])
		case 2:
			p *= math.Exp(x[1])
		}
		w := p * l.y[k] / l.uv[k].V
		su, sv, sum = su+w*(l.uv[k].U+x[2+2*k]), sv+w*max(l.uv[k].V+x[3+2*k], leastWeight), sum+w
	}
	return su / sum, sv / sum
}
