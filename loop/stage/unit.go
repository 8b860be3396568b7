package stage

import (
	"math"
	"math/rand/v2"

	"trueup/colorcalc"
)

// warmest is the heating, in kelvin, up to which an emitter is tabulated.
const warmest = 60.0

// emitter is one emitter of one unit. Its spectrum is integrated at three
// temperatures, shifted and not; in between, XYZ is a parabola over the heating
// and a straight line over the shift. A test compares both with the integral.
type emitter struct {
	xyz      [3]colorcalc.XYZ // at 0, warmest/2, warmest
	perNM    [3]colorcalc.XYZ // change per nm of shift, at the same heatings
	lines    colorcalc.XYZ    // Arc: the lines' share of xyz[0]
	exponent float64
	watts    float64

	data  Emitter // what the spectrum is made of: by whom, how far off, and in what scale
	off   offsets
	scale float64
}

// at gives the light at full drive, heated by t kelvin and shifted by nm.
func (e *emitter) at(t, nm float64) colorcalc.XYZ {
	z := t / (warmest / 2)
	a, b, c := (z-1)*(z-2)/2, z*(2-z), z*(z-1)/2
	sum := func(t *[3]colorcalc.XYZ) colorcalc.XYZ {
		return colorcalc.XYZ{X: a*t[0].X + b*t[1].X + c*t[2].X, Y: a*t[0].Y + b*t[1].Y + c*t[2].Y, Z: a*t[0].Z + b*t[1].Z + c*t[2].Z}
	}
	l := sum(&e.xyz)
	if nm != 0 {
		l = l.Add(sum(&e.perNM).Scale(nm))
	}
	return l
}

// offsets is what one emitter is off its data sheet.
type offsets struct{ wave, flux, leak, shift float64 }

func (s Scatter) draw(r *rand.Rand) offsets {
	return offsets{spread(r, s.Wave), spread(r, s.Flux), spread(r, s.Leak), spread(r, s.Shift)}
}

func (o offsets) add(p offsets) offsets {
	return offsets{o.wave + p.wave, o.flux + p.flux, o.leak + p.leak, o.shift + p.shift}
}

// build integrates an emitter with its offsets; with shifts also what a
// shifted wavelength does.
func (d Emitter) build(o offsets, shifts bool) emitter {
	// Radiant power is fixed by the data sheet's flux at the nominal spectrum,
	// so that a shifted wavelength changes the luminous flux as it does in life.
	unit := 1 / max(d.light(offsets{}, 0, 0).Y, 1e-12) * d.Flux
	k := unit * math.Exp(o.flux)
	var e emitter
	for i := range e.xyz {
		t := warmest / 2 * float64(i)
		e.xyz[i] = d.light(o, t, 0).Scale(k)
		if shifts {
			e.perNM[i] = d.light(o, t, 0.5).Sub(d.light(o, t, -0.5)).Scale(k)
		}
	}
	if d.Form == Arc {
		bare := d
		bare.Lines = nil
		e.lines = e.xyz[0].Sub(bare.light(o, 0, 0).Scale(k))
	}
	e.watts = d.Watts
	e.data, e.off, e.scale = d, o, k
	return e
}

// light integrates the spectrum at full drive, heated by t kelvin, shifted by
// nm, in units that only build knows.
func (d Emitter) light(o offsets, t, nm float64) colorcalc.XYZ {
	var p [gridN]float64
	heat, wide := d.power(o, t, nm, 1, &p)
	return integrate(&p).Scale(heat).Scale(wide) // one after the other: every kept match rests on these bits
}

// power fills the spectrum of light, lines of a discharge so much stronger, and gives what it is to be scaled by: what
// heat leaves of it, and a wider line's lower height.
func (d Emitter) power(o offsets, t, nm, lines float64, p *[gridN]float64) (heat, wide float64) {
	s := shape{form: d.Form, peak: d.Peak + o.wave + d.Drift*t + nm, fwhm: d.FWHM * (1 + 0.0015*t), tail: d.Tail,
		leak: d.Leak * math.Exp(o.leak), bands: d.Bands, shift: o.shift + nm, kelvin: d.Kelvin, lines: d.Lines, lineK: lines}
	if d.Form == Phosphor {
		// Heat quenches the phosphor a little more than the pump: the leak grows.
		s.leak *= 1 + 0.0006*t
		s.shift -= 0.02 * t
	}
	s.spd(p)
	heat, wide = 1-d.Droop*t, 1
	if d.Form == LED {
		// The same radiant power in a wider line is a lower line.
		wide = 1 / (1 + 0.0015*t)
	}
	return heat, wide
}

// Unit is one lamp as it stands on the stage: its emitters as they are, and
// what it does with codes. It does not change after it was drawn.
type Unit struct {
	kind     Kind
	emitters []emitter
	engine   *table // nil: emitters are driven one by one
	cutOff   []float64
	full     float64 // electric power with every emitter at full
	phases   [6]float64
	bumps    [16]float64 // where the quirks of each emitter have their zero, in periods
}

// Draw makes the unit-th lamp of a kind. The kind's own offset depends on seed
// and the kind's name alone, so that lamps of one kind share it.
func Draw(k Kind, kindBins, unitBins Scatter, seed uint64, unit string) *Unit {
	rk, ru := source(seed, "kind/"+k.Name), source(seed, "unit/"+k.Name+"/"+unit)
	u := &Unit{kind: k}
	common := spread(rk, kindBins.Exponent) + spread(ru, unitBins.Exponent)
	factory := make([]emitter, len(k.Emitters)) // what the factory's table was made with
	for i, d := range k.Emitters {
		kind := kindBins.draw(rk)
		e := d.build(kind.add(unitBins.draw(ru)), k.Heat.ShiftWithCurrent != 0)
		e.exponent = math.Exp(common + spread(ru, k.PerEmitter))
		u.emitters = append(u.emitters, e)
		u.cutOff = append(u.cutOff, k.CutOff*(1+spread(ru, 0.25)))
		u.full += e.watts
		if k.Engine != nil {
			factory[i] = d.build(offsets{}, false)
		}
	}
	if k.Engine != nil {
		u.engine = k.Engine.build(factory, kindBins.Knot, unitBins.Knot, rk, ru)
	}
	for i := range u.phases {
		u.phases[i] = ru.Float64()
	}
	for i := range u.bumps {
		u.bumps[i] = ru.Float64()
	}
	return u
}

// Emitters is how many emitters the unit has.
func (u *Unit) Emitters() int { return len(u.emitters) }

// Kind describes what the unit is one of.
func (u *Unit) Kind() Kind { return u.kind }

// Light is the emitter's light by its data sheet: full drive, cold, flux as
// stated.
func (d Emitter) Light() colorcalc.XYZ {
	e := d.build(offsets{}, false)
	return e.xyz[0]
}
