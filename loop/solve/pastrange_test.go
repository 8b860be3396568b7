package solve

import (
	"math"
	"math/rand/v2"
	"testing"

	"trueup/colorcalc"
)

// within moves a colour towards white until it lies within a triangle.
func within(uv, white colorcalc.UV, tri [3]colorcalc.UV) colorcalc.UV {
	inside := func(p colorcalc.UV) bool {
		neg, pos := false, false
		for i := range tri {
			a, b := tri[i], tri[(i+1)%3]
			s := (b.U-a.U)*(p.V-a.V) - (b.V-a.V)*(p.U-a.U)
			neg, pos = neg || s < 0, pos || s > 0
		}
		return !(neg && pos)
	}
	if inside(uv) {
		return uv
	}
	lo, hi := 0.0, 1.0
	for range 40 {
		k := (lo + hi) / 2
		if inside(colorcalc.UV{U: white.U + k*(uv.U-white.U), V: white.V + k*(uv.V-white.V)}) {
			lo = k
		} else {
			hi = k
		}
	}
	return colorcalc.UV{U: white.U + lo*(uv.U-white.U), V: white.V + lo*(uv.V-white.V)}
}

// A target beyond what a lamp of x and y reaches, of which its profile says nothing, is out of reach, and the lamp's light is not unsteady: its steps have no answer
// there. Half of such lamps were called unsteady after forty readings; a lamp that reaches it lands.
func TestATargetPastTheRangeOfXAndY(t *testing.T) {
	white := colorcalc.XY{X: 0.3127, Y: 0.329}.UV()
	const runs = 60
	past, all, most, wrong, landed, reached := 0, 0, 0, 0, 0, 0
	for k := range uint64(runs) {
		r := rand.New(rand.NewPCG(k, 77))
		tri := [3]colorcalc.UV{{U: 0.50 + 0.02*r.NormFloat64(), V: 0.52}, {U: 0.08, V: 0.56 + 0.005*r.NormFloat64()}, {U: 0.165 + 0.01*r.NormFloat64(), V: 0.17 + 0.01*r.NormFloat64()}}
		off := colorcalc.UV{U: 0.003 * r.NormFloat64(), V: 0.003 * r.NormFloat64()}
		e := newEngine(k, func(a, b float64) colorcalc.UV {
			uv := colorcalc.XY{X: max(0.8*a, 0.01), Y: max(0.8*b, 0.01)}.UV()
			return within(colorcalc.UV{U: uv.U + off.U, V: uv.V + off.V}, white, tri)
		})
		e.sigma = 0.0006
		corner, side := tri[2], tri[1]
		share := 0.3 * r.Float64()
		edge := colorcalc.UV{U: corner.U + share*(side.U-corner.U), V: corner.V + share*(side.V-corner.V)}
		away := math.Hypot(edge.U-white.U, edge.V-white.V)
		beyond := 0.004 + 0.004*r.Float64()
		if k%2 == 1 {
			beyond = -0.01 - 0.02*r.Float64()
		}
		target := colorcalc.UV{U: edge.U + beyond*(edge.U-white.U)/away, V: edge.V + beyond*(edge.V-white.V)/away}
		spec := xySpecFor(65535)
		spec.XY.Gamut = nil
		o := DefaultOptions()
		o.SigmaUV = e.sigma
		m, err := New(spec, Target{UV: target}, nil, o)
		if err != nil {
			t.Fatal(err)
		}
		d, n := e.play(m)
		if k%2 == 1 {
			if reached++; d.Outcome == Landed {
				landed++
			} else {
				t.Logf("lamp %d, which reaches it: %s after %d readings: %s", k, d.Outcome, n, d.Reason)
			}
			continue
		}
		past, all, most = past+1, all+n, max(most, n)
		if d.Outcome != OutOfReach {
			wrong++
			t.Logf("lamp %d: %s after %d readings: %s", k, d.Outcome, n, d.Reason)
		}
	}
	t.Logf("%d of %d are not called out of reach; %.1f readings, %d at the most; %d of %d that reach it land", wrong, past, float64(all)/float64(past), most, landed, reached)
	if wrong > past/10 || all > 24*past || landed < reached-1 {
		t.Errorf("%d of %d are not called out of reach; %.1f readings; %d of %d that reach it land", wrong, past, float64(all)/float64(past), landed, reached)
	}
}
