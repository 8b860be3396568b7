package solve_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve"
)

// What is learnt of the emitters in mid-match counts for likeness too: hardly a lamp ends on a mix that is predicted to look much less
// alike than the one that would be chosen then. All land as before.
func TestAMixChosenTooEarlyIsChosenAnew(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 26))
	var ratios []float64
	worse, readings, landed := 0, 0, 0
	const lamps = 40
	for i := range lamps {
		h := newSpectral(r)
		for j := range h.full { // emitters age, each in its own way
			h.full[j] = h.full[j].Scale(math.Exp(0.3 * r.NormFloat64()))
		}
		ref, err := spectrum.Planck(colorcalc.Kelvin(2700+100*float64(i)), spectrum.Visible5)
		if err != nil {
			t.Fatal(err)
		}
		xy, _ := ref.XY()
		o := solve.DefaultOptions()
		o.Wish, o.SigmaUV = solve.Alike, 0.0002
		o.Likeness = &solve.Likeness{Reference: ref, Emitters: h.nominal, Observers: quality.ObserverSet(), Floor: 0.7}
		m, err := solve.New(h.spec, solve.Target{UV: xy.UV()}, nil, o)
		if err != nil {
			t.Fatal(err)
		}
		var at solve.Drive
		for now := time.Second; ; now += time.Second {
			d := m.Next(now)
			if d.Action == solve.Done {
				if d.Outcome == solve.Landed {
					landed++
				}
				break
			}
			if d.Action == solve.Move {
				at = slices.Clone(d.Drive)
			}
			readings++
			c := h.light(at).XYZ(spectrum.Deg2)
			uv := c.UV()
			uv.U += 0.0002 * r.NormFloat64()
			uv.V += 0.0002 * r.NormFloat64()
			m.Observe(solve.Reading{UV: uv, Y: c.Y * math.Exp(0.003*r.NormFloat64()), HasY: true, At: now, Drive: at})
		}
		p, ok := m.Price()
		if !ok {
			t.Fatal("no price")
		}
		now, best, bright := meanOf(p.Now), meanOf(p.Rows[2].Means), meanOf(p.Rows[0].Means)
		ratios = append(ratios, now/best)
		if now > 1.1*bright {
			worse++
		}
	}
	slices.Sort(ratios)
	t.Logf("%d of %d landed after %.2f readings; beside the mix that would be chosen at the end: median %.2f, p90 %.2f, worst %.2f; %d clearly less alike than the most light",
		landed, lamps, float64(readings)/lamps, ratios[lamps/2], ratios[lamps*9/10], ratios[lamps-1], worse)
	if landed < lamps || ratios[lamps*9/10] > 1.25 || worse > 1 {
		t.Errorf("p90 %.2f, %d less alike than with the most light", ratios[lamps*9/10], worse)
	}
}

func meanOf(v []float64) (mean float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	return mean
}
