package stage

import (
	"math"
	"math/rand/v2"
	"time"

	"trueup/colorcalc"
)

// MeterSpec describes a meter. The zero value is a perfect one.
type MeterSpec struct {
	Integration time.Duration // window over which the light is averaged
	Period      time.Duration // from the start of one window to the start of the next
	Latency     time.Duration // from the end of a window to the line on the wire
	SigmaUV     float64       // noise, standard deviation for each of u', v'
	SigmaLevel  float64       // noise of ln Y
	RoundXY     float64       // step of x and y, e.g. 1e-4; 0 = none
	RoundLux    float64       // step of the level; 0 = none
	Floor       float64       // lux, standard deviation of what its electronics add to each of X, Y and Z, however little light there is
	Outlier     float64       // chance 0..1 of a reading that is not of this light
	Dropout     float64       // chance of no reading
	Stale       float64       // chance that the last reading is said again
	Mean        int           // windows, the last one and those just before it, of which a reading is the mean, though it tells one; 0 and 1 = that one alone
	Ranges      []float64     // levels, lux, rising, at which another range begins: the first window in another range is lost; none = one range
	Grow        float64       // the noise in u', v' and in the level grows by so much an hour, of itself
}

// Sample is what a meter says: a chromaticity and a level.
type Sample struct {
	XY  colorcalc.XY
	Lux float64
}

// Meter turns averaged light into readings. Not for use by several goroutines
// at once.
type Meter struct {
	Spec MeterSpec
	r    *rand.Rand
	last Sample
	said bool
	past []window // the last ones, the latest at the end
	rng  int      // the range of the last window, as its index among the ranges
}

// window is what a meter has gathered until a moment.
type window struct {
	light colorcalc.XYZ
	end   time.Duration
}

// NewMeter makes a meter whose faults depend on seed and name only.
func NewMeter(spec MeterSpec, seed uint64, name string) *Meter {
	return &Meter{Spec: spec, r: source(seed, "meter/"+name)}
}

// Read gives the reading for the light averaged over one window that ended at a
// moment since the stage began. ok is false for a dropout, and for light that has no colour to read.
func (m *Meter) Read(avg colorcalc.XYZ, at time.Duration) (s Sample, ok bool) {
	lost := m.ranges(avg.Y)
	if !lost {
		avg = m.mean(avg, at)
	}
	r := m.r
	fate, nu, nv, ny := r.Float64(), r.NormFloat64(), r.NormFloat64(), r.NormFloat64()
	far, angle, jump := r.Float64(), r.Float64(), spread(r, 0.4)
	if lost || fate < m.Spec.Dropout || !(avg.Y > 0) {
		return Sample{}, false
	}
	fate -= m.Spec.Dropout
	if fate >= 0 && fate < m.Spec.Stale && m.said {
		return m.last, true
	}
	fate -= m.Spec.Stale
	uv, lux := avg.UV(), avg.Y
	if fate >= 0 && fate < m.Spec.Outlier {
		// Somebody walked through the light, or the meter was knocked.
		d := 0.004 + 0.046*far
		uv.U += d * math.Cos(2*math.Pi*angle)
		uv.V += d * math.Sin(2*math.Pi*angle)
		lux *= math.Exp(jump)
	}
	grown := 1 + m.Spec.Grow*at.Hours()
	uv.U += grown * m.Spec.SigmaUV * nu
	uv.V += grown * m.Spec.SigmaUV * nv
	lux *= math.Exp(grown * m.Spec.SigmaLevel * ny)
	uv.U, uv.V = max(uv.U, 1e-4), max(uv.V, 1e-4)
	if m.Spec.Floor > 0 {
		q := uv.XYZ(lux)
		q.X, q.Y, q.Z = max(q.X+m.Spec.Floor*r.NormFloat64(), 1e-6), max(q.Y+m.Spec.Floor*r.NormFloat64(), 1e-6), max(q.Z+m.Spec.Floor*r.NormFloat64(), 1e-6)
		uv, lux = q.UV(), q.Y
	}
	xy := uv.XY()
	s = Sample{colorcalc.XY{X: round(xy.X, m.Spec.RoundXY), Y: round(xy.Y, m.Spec.RoundXY)}, round(lux, m.Spec.RoundLux)}
	m.last, m.said = s, true
	return s, true
}

// ranges takes in the level of a window, lux, and tells whether the window is lost to a change of range. What the meter means is as many
// windows as before, across that.
func (m *Meter) ranges(lux float64) (lost bool) {
	in := 0
	for in < len(m.Spec.Ranges) && lux >= m.Spec.Ranges[in] {
		in++
	}
	if lost, m.rng = in != m.rng, in; lost {
		for i := range m.past {
			m.past[i].end += m.Spec.Period
		}
	}
	return lost
}

// mean is the mean of a window and of those just before it, as many as the meter takes.
func (m *Meter) mean(light colorcalc.XYZ, end time.Duration) (mean colorcalc.XYZ) {
	if m.Spec.Mean < 2 {
		return light
	}
	m.past = append(m.past, window{light, end})
	m.past = m.past[max(0, len(m.past)-m.Spec.Mean):]
	n := 0.0
	for _, w := range m.past {
		if end-w.end < time.Duration(m.Spec.Mean)*m.Spec.Period { // it may have rested meanwhile
			mean, n = mean.Add(w.light), n+1
		}
	}
	return mean.Scale(1 / n)
}

func round(v, step float64) float64 {
	if step <= 0 {
		return v
	}
	n := math.Round(1 / step)
	if math.Abs(n*step-1) < 1e-9 {
		return math.Round(v*n) / n // keeps 0.3127 the float64 nearest to 0.3127
	}
	return math.Round(v/step) * step
}
