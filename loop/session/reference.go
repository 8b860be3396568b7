package session

import (
	"context"
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// readReference reads the light everything is matched to, often enough that
// the meter's scatter becomes known with it. A named colour needs no reading.
func (s *Session) readReference(ctx context.Context) error {
	t := s.plan.Target
	if t.Reference == "" {
		s.ref = &Reference{Name: t.Text, UV: t.UV}
		return s.journal.Append(Entry{Kind: KindReference, Reference: s.ref, Note: "a named colour, not measured"})
	}
	u, _ := findUnit(s.units, t.Reference)
	settled := time.Now()
	if u.Head >= 0 {
		l := lamp{s, u}
		a, err := l.Set(ctx, u.Lit)
		if err != nil {
			return fmt.Errorf("reference %s: %w", u.Info.Name, err)
		}
		settled = a.At.Add(u.Settle)
	}
	var uv []colorcalc.UV
	var lnY []float64
	var lux float64
	for range s.plan.ReferenceReadings {
		raw, err := s.read(ctx, u.Info.Probe, settled)
		if err != nil {
			return fmt.Errorf("reference %s: %w", u.Info.Name, err)
		}
		net := solve.Reading{UV: raw.UV, Y: raw.Y, HasY: raw.HasY}
		if u.Head >= 0 {
			if net, err = s.net(raw); err != nil {
				return fmt.Errorf("reference %s: %w", u.Info.Name, err)
			}
		}
		uv = append(uv, net.UV)
		y := math.NaN()
		if net.HasY && net.Y > 0 {
			y = math.Log(net.Y)
			lux += net.Y / float64(s.plan.ReferenceReadings)
		}
		lnY = append(lnY, y)
		m := s.measured(raw, net)
		if err := s.journal.Append(Entry{Kind: KindReading, Fixture: u.Info.Name, Reading: &m}); err != nil {
			return err
		}
	}
	uv, lnY = withoutOutliers(uv, lnY)
	s.noise.learn(uv, lnY)
	s.ref = &Reference{Name: u.Info.Name, UV: meanUV(uv), Lux: lux, Readings: len(uv), MeterSigmaUV: s.noise.sigmaUV(),
		SigmaUV: s.noise.sigmaUV() / math.Sqrt(float64(len(uv)))}
	note := fmt.Sprintf("mean of %d readings, one scatters by %.4f", len(uv), s.ref.MeterSigmaUV)
	if n := readingsFor(s.ref.MeterSigmaUV, s.plan.Tolerance); n > noisyReadings {
		note += fmt.Sprintf("; a tolerance of %.4f then takes about %d readings a point: give the meter more light or a longer integration, or widen the tolerance", s.plan.Tolerance, n)
	}
	return s.journal.Append(Entry{Kind: KindReference, Fixture: u.Info.Name, Reference: s.ref, Note: note})
}

// noisyReadings a point are more than a person expects; why it takes so long is
// then said before any lamp is matched.
const noisyReadings = 8

// withoutOutliers leaves out repeats that lie far from the others: more than
// five robust standard deviations (1.4826 times the median distance per axis
// pair) from the median point. A meter that hiccups once must not move the
// reference of a whole rig.
func withoutOutliers(uv []colorcalc.UV, lnY []float64) ([]colorcalc.UV, []float64) {
	if len(uv) < 4 {
		return uv, lnY
	}
	us, vs := make([]float64, len(uv)), make([]float64, len(uv))
	for i, c := range uv {
		us[i], vs[i] = c.U, c.V
	}
	mid := colorcalc.UV{U: median(us), V: median(vs)}
	dist := make([]float64, len(uv))
	for i, c := range uv {
		dist[i] = c.Dist(mid)
	}
	// The median distance of a two-axis normal scatter is 1.177 sigma
	// (Rayleigh distribution).
	sigma := math.Max(median(dist)/1.177, 1e-5)
	var keep []colorcalc.UV
	var keepY []float64
	for i, c := range uv {
		if dist[i] <= 5*sigma {
			keep, keepY = append(keep, c), append(keepY, lnY[i])
		}
	}
	return keep, keepY
}
