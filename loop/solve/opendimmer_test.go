package solve

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// A head whose profile states no curve for its dimmer is brought to a level a quarter or a third of where it was matched: whatever the dimmer's
// curve, linear to cubic, two readings at different levels tell it, and no other mode is made out of that. One whose profile states the wrong
// curve takes longer.
func TestALevelByADimmerWhoseCurveIsNotStated(t *testing.T) {
	const each = 12
	for _, kind := range []string{"cct", "xy", "hue"} {
		for _, bits := range []uint32{65535, 255} {
			for _, exponent := range []float64{1, 2, 3} {
				landed, met, near, readings := 0, 0, 0, 0
				for k := range uint64(each) {
					e, spec := dimmedEngine(t, kind, bits, exponent, k)
					r := rand.New(rand.NewPCG(k, 77))
					part := 0.15 + 0.25*r.Float64()
					o := DefaultOptions()
					first, err := New(spec, Target{UV: whiteAt(t, 4600, 0.003), Tol: 0.003}, nil, o)
					if err != nil {
						t.Fatal(err)
					}
					d, _ := e.play(first)
					prior := first.Posterior()
					want := part * e.level(d.Drive)
					second, err := New(spec, Target{UV: whiteAt(t, 4600, 0.003), Tol: 0.003, Y: want, TolY: 0.02}, &prior, o)
					if err != nil {
						t.Fatal(err)
					}
					d, n := e.play(second)
					readings += n
					if d.Outcome == Landed {
						landed++
					}
					if second.fault.cause != NoCause {
						t.Errorf("%s, %d, exponent %g, unit %d: %s", kind, bits, exponent, k, second.fault.why)
					}
					step := exponent / float64(max(d.Drive[2], 1)) // that one code changes, ln
					off := math.Abs(math.Log(e.level(d.Drive) / want))
					if off <= max(0.03, 0.75*step) {
						met++
					}
					if off <= max(0.07, 0.75*step) {
						near++
					}
					if said := strings.Contains(d.Reason, "the one asked for"); d.Outcome == Landed && off > 0.07 && !said || off < 0.02 && said {
						t.Errorf("%s, %d, exponent %g, unit %d is %.2f off its level: %q", kind, bits, exponent, k, off, d.Reason)
					}
				}
				name := fmt.Sprintf("%s, %d, exponent %g", kind, bits, exponent)
				t.Logf("%s: %d of %d landed, within 3 %% %d, 7 %% %d, %.1f readings a lamp", name, landed, each, met, near, float64(readings)/each)
				if landed < each || met*3 < 2*each || near < each || readings > 3*each {
					t.Errorf("%s: %d of %d landed, within 3 %% %d, 7 %% %d, %d readings", name, landed, each, met, near, readings)
				}
			}
		}
	}
}

// dimmedEngine is a lamp with a dimmer of an exponent, the third of its channels, and what its profile says: no curve.
func dimmedEngine(t *testing.T, kind string, most uint32, exponent float64, seed uint64) (*engine, Spec) {
	t.Helper()
	s := map[string]func(uint32) Spec{"cct": cctSpecFor, "xy": xySpecFor, "hue": hueSpecFor}[kind](most)
	s.Channels = append(s.Channels, Channel{Name: "dimmer", Max: most, Hi: most})
	s.Dimmer = &DimmerSpec{Channel: 2, Level: law.Level{Curve: law.Curve{}}}
	s.Start = Drive{most / 2, most / 2, uint32(0.4*float64(most)) + uint32(seed)*most/20}
	m, err := New(s, Target{UV: warmWhite}, nil, DefaultOptions())
	if err != nil {
		t.Fatal(err)
	}
	nominal := m.sum.Nominal
	e := newEngine(seed, func(a, b float64) colorcalc.UV {
		k := 65535 / float64(most)
		z := m.sum.Filter.Predict(&nominal.State, []float64{a * k, b * k, 1})
		return colorcalc.UV{U: z[0] + 0.002, V: z[1] - 0.0015}
	})
	e.level = func(d Drive) float64 { return 550 * math.Pow(float64(d[2])/float64(most), exponent) }
	return e, s
}
