package spectrum

import "math"

// Resample puts s on another grid. The same grid is copied; a grid at least
// twice as coarse is filled by averaging with a triangle (power is kept: it is
// the same as interpolating the other factor of an integral linearly);
// otherwise the fifth-order interpolation of Sprague is used, as CIE 15:2018
// and CIE 167:2005 recommend for even grids. Outside the data the
// result is zero, and a light without negative values gets none by overshoot.
func (s Spectrum) Resample(g Grid) Spectrum {
	switch {
	case len(s.Values) == 0:
		return g.On(func(float64) float64 { return 0 })
	case g == s.Grid():
		return s.Scale(1)
	case s.StepNM*2 <= g.StepNM*(1+1e-9):
		return g.On(func(nm float64) float64 { return s.triangle(nm, g.StepNM) })
	}
	return s.sprague(g)
}

// Linear puts s on another grid by straight lines; zero outside the data.
func (s Spectrum) Linear(g Grid) Spectrum { return g.On(s.At) }

// At interpolates s linearly at a wavelength; zero outside the data.
func (s Spectrum) At(nm float64) float64 {
	p := (nm - s.StartNM) / s.StepNM
	n := len(s.Values)
	if !(p >= -1e-9 && p <= float64(n-1)+1e-9) {
		return 0
	}
	i := min(max(int(p+1e-9), 0), n-1)
	f := p - float64(i)
	if i == n-1 || f < 1e-9 {
		return s.Values[i]
	}
	return s.Values[i] + f*(s.Values[i+1]-s.Values[i])
}

// triangle averages s with a triangle of half width w. Points of the grid
// where s has no data are left out, provided nm itself has data.
func (s Spectrum) triangle(nm, w float64) float64 {
	if nm < s.StartNM-1e-9 || nm > s.EndNM()+1e-9 {
		return 0
	}
	lo := max(int(math.Ceil((nm-w-s.StartNM)/s.StepNM)), 0)
	hi := min(int(math.Floor((nm+w-s.StartNM)/s.StepNM)), len(s.Values)-1)
	sum, weights := 0.0, 0.0
	for i := lo; i <= hi; i++ {
		k := 1 - math.Abs(s.NM(i)-nm)/w
		if k > 0 {
			sum, weights = sum+k*s.Values[i], weights+k
		}
	}
	if weights == 0 {
		return 0
	}
	return sum / weights
}

// Sprague's boundary coefficients (CIE 167:2005), over 209: two
// values before the first from the first six, mirrored at the end.
var spragueEdge = [2][6]float64{
	{884, -1960, 3033, -2648, 1080, -180},
	{508, -540, 488, -367, 144, -24},
}

func (s Spectrum) sprague(g Grid) Spectrum {
	n := len(s.Values)
	if n < 6 {
		return s.Linear(g)
	}
	p := make([]float64, n+4)
	copy(p[2:], s.Values)
	floor := math.Inf(1)
	for _, v := range s.Values {
		floor = min(floor, v)
	}
	for e := range spragueEdge {
		for k, c := range spragueEdge[e] {
			p[e] += c / 209 * s.Values[k]
			p[n+3-e] += c / 209 * s.Values[n-1-k]
		}
	}
	return g.On(func(nm float64) float64 {
		q := (nm - s.StartNM) / s.StepNM
		if !(q >= -1e-9 && q <= float64(n-1)+1e-9) {
			return 0
		}
		i := min(max(int(q+1e-9), 0), n-2)
		v := spragueAt((*[6]float64)(p[i:i+6]), q-float64(i))
		if floor >= 0 && v < 0 {
			return 0
		}
		return v
	})
}

// spragueAt evaluates Sprague's polynomial between the third and the fourth of
// six neighbours (CIE 167:2005).
func spragueAt(p *[6]float64, x float64) float64 {
	a0 := p[2]
	a1 := (2*p[0] - 16*p[1] + 16*p[3] - 2*p[4]) / 24
	a2 := (-p[0] + 16*p[1] - 30*p[2] + 16*p[3] - p[4]) / 24
	a3 := (-9*p[0] + 39*p[1] - 70*p[2] + 66*p[3] - 33*p[4] + 7*p[5]) / 24
	a4 := (13*p[0] - 64*p[1] + 126*p[2] - 124*p[3] + 61*p[4] - 12*p[5]) / 24
	a5 := (-5*p[0] + 25*p[1] - 50*p[2] + 50*p[3] - 25*p[4] + 5*p[5]) / 24
	return a0 + x*(a1+x*(a2+x*(a3+x*(a4+x*a5))))
}

// Fill puts s on a grid into dst, which has as many values. Where both grids
// have the same step and fall together the values are copied without further
// work; else they are those of Resample.
func (s Spectrum) Fill(dst []float64, g Grid) {
	shift := (g.StartNM - s.StartNM) / g.StepNM
	k := math.Round(shift)
	if math.Abs(s.StepNM-g.StepNM) > 1e-9 || math.Abs(shift-k) > 1e-9 || math.Abs(k) > maxValues {
		copy(dst, s.Resample(g).Values)
		return
	}
	for i := range dst {
		dst[i] = 0
		if j := i + int(k); j >= 0 && j < len(s.Values) {
			dst[i] = s.Values[j]
		}
	}
}
