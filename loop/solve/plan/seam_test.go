package plan

import (
	"fmt"
	"math"
	"testing"

	"trueup/colorcalc"
	"trueup/loop/solve/model"
	"trueup/profiles/law"
)

// Where the hues close to a circle a colour just beyond one end is found at the other, wherever the head stands.
func TestHuesCloseToACircle(t *testing.T) {
	s := &model.Spec{Kind: model.HueSat, Channels: []model.Channel{{Name: "hue", Max: 65535, Hi: 65535}, {Name: "sat", Max: 65535, Hi: 65535}},
		HueSat: &model.HueSatSpec{Hue: 0, Sat: 1, HueScale: law.Hue{Line: law.Line{To: 360}}, SatScale: law.Line{To: 1}}}
	m := model.NewEngine(s)
	p := NewEngine(m, s)
	x := m.Prior()[0].X
	for _, hue := range []float64{340, 355, 358.3, 359.5, 0.4, 2, 12} {
		for _, sat := range []float64{0.1, 0.35, 0.62} {
			u, v := m.At(0, x, hue/360, sat)
			want := colorcalc.UV{U: u, V: v}
			check := func(how string, pl Plan, ok bool) {
				if !ok || pl.Err > 2e-4 {
					t.Errorf("hue %g, saturation %g, %s: within reach %v, %.4f off at hue %.2f", hue, sat, how, ok, pl.Err, 360*pl.D[0])
				}
			}
			fresh := p.Fresh(0, x, []float64{0.5, 0.5}, want, 0.001)
			check("anew", fresh, fresh.Reaches(0.001))
			for _, now := range []float64{0, 3, 357, 360} {
				pl, ok := p.Plan(0, x, []float64{now / 360, 0.5}, want, 0.001)
				check(fmt.Sprintf("from hue %g", now), pl, ok)
			}
		}
	}
	half := *s.HueSat
	half.HueScale.To = 180
	s.HueSat = &half
	if got := p.starts([2]float64{0, 0.5}, [2]float64{}, [2]float64{1, 1}); len(got) != 1 || math.Abs(got[0][1]-0.5) > 0 {
		t.Errorf("half a circle closes: %v", got)
	}
}
