package model

import (
	"math"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// droopOf is the typical ln of light lost from cold to warm: AlInGaP colours
// (red, amber) lose several times what InGaN colours and phosphors do.
func droopOf(e Emitter) float64 {
	if e.Droop > 0 {
		return e.Droop
	}
	if _, nm, ok := e.Narrow(); ok && nm > lastPhosphor {
		return droopRed
	}
	return droopOther
}

// Narrow tells narrow emitters from broad ones by their colour. Between 535
// and 585 nm there are hardly any narrow emitters: those are phosphors.
func (e Emitter) Narrow() (perNm [3]float64, nm float64, ok bool) {
	if e.White {
		return perNm, 0, false
	}
	perNm, nm, ok = perNanometre(e.UV)
	return perNm, nm, ok && (nm <= firstPhosphor || nm >= lastPhosphor)
}

// Preference is what a unit of an emitter's drive is worth to the wish for white light: white
// most, lime nearly, amber and cyan a little, the primaries nothing. It is no measure of rendering: for
// that there are the wishes that know spectra.
func (e Emitter) Preference() float64 {
	if e.White {
		return 1
	}
	_, nm, ok := e.Narrow()
	switch {
	case !ok:
		return preferBroad
	case nm >= firstCyan && nm <= lastCyan, nm >= lastPhosphor && nm <= lastAmber:
		return preferNear
	}
	return 0
}

// NewMixture makes the model of a head with one channel per emitter.
func NewMixture(s *Spec) *Mixture {
	m := &Mixture{spec: s, n: len(s.Emitters), curves: rivals(s.Curve), dim0: -1, tau: warmTau}
	m.droop = make([]float64, m.n)
	for i, e := range s.Emitters {
		m.droop[i] = droopOf(e)
	}
	if s.Dimmer != nil {
		m.dim0, m.dimmer = s.Dimmer.Channel, s.Dimmer.Level.Curve
	}
	return m
}

// priorMean is the profile moved to a warm lamp, in model units.
func (m *Mixture) priorMean(s *Spec) []float64 {
	N := m.Dim().N
	x := make([]float64, N)
	sum := 0.0
	for _, e := range s.Emitters {
		sum += fluxOf(e)
	}
	for i, e := range s.Emitters {
		uv, ln := e.UV, math.Log(fluxOf(e)/sum)-droopAtFull*m.droop[i]
		if d, _, ok := e.Narrow(); ok {
			uv.U += d[0] * warmShift
			uv.V += d[1] * warmShift
			ln += d[2] * warmShift
		}
		x[3*i], x[3*i+1], x[3*i+2] = uv.U, uv.V, ln
	}
	a := colorcalc.UV{U: meanAmbU, V: meanAmbV}.XYZ(meanAmb)
	x[3*m.n+offAmb], x[3*m.n+offAmb+1], x[3*m.n+offAmb+2] = a.X, a.Y, a.Z
	x[3*m.n+offWarm] = meanWarm
	m.Bound(x)
	return x
}

func fluxOf(e Emitter) float64 {
	if e.Flux > 0 {
		return e.Flux
	}
	return 1
}

// priorCov fills the covariance p, zero before; scale is applied to the scatter of the
// emitters alone.
func (m *Mixture) priorCov(p []float64, s *Spec, wide bool, scale float64) {
	dim := m.Dim()
	N, b, g := dim.N, dim.B, dim.G
	wave, iso, broad, flux, kappa := sdWave, sdNarrow, sdBroad, sdFlux, sdKappa
	if wide {
		wave, iso, broad, flux, kappa, scale = wideWave, wideNarrow, wideBroad, wideFlux, wideKappa, 1
	}
	for i, e := range s.Emitters {
		d, _, ok := e.Narrow()
		c := broad
		if ok {
			c = iso
			for r := range 3 {
				for k := range 3 {
					p[(3*i+r)*N+3*i+k] += scale * wave * wave * d[r] * d[k]
				}
			}
		}
		if e.SigmaUV > 0 {
			c = max(c, e.SigmaUV)
		}
		f := flux
		if !(e.Flux > 0) {
			f = max(f, unknownLn)
		}
		p[(3*i)*N+3*i] += scale * c * c
		p[(3*i+1)*N+3*i+1] += scale * c * c
		p[(3*i+2)*N+3*i+2] += scale * f * f
	}
	set := func(i int, sd float64) { p[i*N+i] = sd * sd }
	nb := 3 * m.n
	set(nb+offKappa, kappa*math.Sqrt(scale))
	set(g, sdScale)
	amb := colorcalc.UV{U: meanAmbU, V: meanAmbV}.XYZ(sdAmb)
	v := [3]float64{amb.X, amb.Y, amb.Z}
	for r := range 3 {
		for k := range 3 {
			p[(nb+offAmb+r)*N+nb+offAmb+k] = v[r] * v[k]
		}
		p[(nb+offAmb+r)*N+nb+offAmb+r] += sdAmbAxis * sdAmbAxis
	}
	set(b, sdOffset)
	set(b+1, sdOffset)
	set(nb+offWarm, sdWarm)
	set(nb+offDim, sdDim)
}

// Prior lists the components of a fresh unit.
func (m *Mixture) Prior() []Component {
	s := m.spec
	mean, n := m.priorMean(s), m.Dim().N
	most := 2*len(m.curves) + 1
	out, blank := make([]Component, 0, most), blanks(n, most)
	one := func(w float64, law int, wide bool, scale int) Component {
		k := 1.0
		if scale == 1 {
			k = tightScale
		}
		c := Component{State: blank(), Weight: w, Scale: scale}
		c.Law, c.Wide = law, wide
		copy(c.X, mean)
		m.priorCov(c.P, s, wide, k)
		return c
	}
	if s.Curve.Law == law.Unknown {
		k := 1 / float64(len(m.curves))
		for l := range m.curves {
			out = append(out, one((1-wideWeight)*k, l, false, 0), one(wideWeight*k, l, true, 0))
		}
		return out
	}
	rest := 1 - float64(len(m.curves)-1)*(rivalWeight+rivalWide) - wideWeight
	out = append(out, one(rest/2, 0, false, 0), one(rest/2, 0, false, 1), one(wideWeight, 0, true, 0))
	for l := 1; l < len(m.curves); l++ {
		out = append(out, one(rivalWeight, l, false, 0), one(rivalWide, l, true, 0))
	}
	return out
}

// nominal is the prior's ln of light of an emitter.
func (m *Mixture) nominal(i int) float64 {
	sum := 0.0
	for _, e := range m.spec.Emitters {
		sum += fluxOf(e)
	}
	return math.Log(fluxOf(m.spec.Emitters[i])/sum) - droopAtFull*m.droop[i]
}
