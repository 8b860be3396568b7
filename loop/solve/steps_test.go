package solve

import (
	"math"
	"math/rand/v2"
	"testing"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// stepped is a lamp whose colour temperature goes in five steps, each a little
// off what its face says, with a continuous tint.
func stepped(t *testing.T, seed uint64) (Spec, *engine) {
	kelvins := []colorcalc.Kelvin{2700, 3200, 4300, 5600, 6500}
	s := cctSpecFor(65535)
	width := uint32(65536 / len(kelvins))
	r := rand.New(rand.NewPCG(seed, 12))
	var real []colorcalc.Kelvin
	for i, k := range kelvins {
		s.CCT.Scale.Steps = append(s.CCT.Scale.Steps, law.Step{Lo: uint32(i) * width, Hi: uint32(i+1)*width - 1, Kelvin: k})
		real = append(real, k*colorcalc.Kelvin(1+0.02*r.NormFloat64()))
	}
	lean := 0.001 * r.NormFloat64()
	return s, newEngine(seed, func(a, b float64) colorcalc.UV {
		k := min(int(a*65535)/int(width), len(real)-1)
		return whiteAt(t, real[k], colorcalc.Duv(0.015*(2*b-1)*1.05+lean))
	})
}

// On a scale in steps the right step is chosen at once, and the tint does the
// rest; between two steps the nearer one is the nearest point, and the target is
// called out of reach.
func TestScaleInSteps(t *testing.T) {
	landed, near := 0, 0
	const lamps = 40
	for k := range uint64(lamps) {
		s, e := stepped(t, k)
		r := rand.New(rand.NewPCG(k, 13))
		target := e.f((float64(r.IntN(5))+0.5)/5, 0.2+0.6*r.Float64())
		between := k%2 == 1
		if between {
			target = whiteAt(t, 4900+colorcalc.Kelvin(100*r.NormFloat64()), colorcalc.Duv(0.004*r.NormFloat64()))
		}
		best := math.Inf(1)
		for a := 0.1; a < 1; a += 0.2 {
			for b := 0.0; b <= 1; b += 0.002 {
				best = min(best, e.f(a, b).Dist(target))
			}
		}
		o := DefaultOptions()
		o.SigmaUV = e.sigma
		m, err := New(s, Target{UV: target}, nil, o)
		if err != nil {
			t.Fatal(err)
		}
		d, n := e.play(m)
		off := e.light(d.Drive).Dist(target)
		switch {
		case n > 15:
			t.Errorf("lamp %d: %d readings", k, n)
		case !between && d.Outcome == Landed && off <= 0.0015:
			landed++
		case between && d.Outcome == OutOfReach && off <= best+0.001:
			near++
		default:
			t.Logf("lamp %d: %s after %d readings, %.4f off, best %.4f: %s", k, d.Outcome, n, off, best, d.Reason)
		}
	}
	if landed < lamps/2-1 || near < lamps/2-2 {
		t.Errorf("%d of %d landed on a step, %d of %d ended on the nearest", landed, lamps/2, near, lamps/2)
	}
}

// Steps that overlap or are no light are refused by name.
func TestStepsOutOfOrder(t *testing.T) {
	s, _ := stepped(t, 1)
	s.CCT.Scale.Steps[2].Lo = s.CCT.Scale.Steps[1].Lo
	if _, err := New(s, Target{UV: warmWhite}, nil, DefaultOptions()); err == nil {
		t.Error("overlapping steps were taken")
	}
}
