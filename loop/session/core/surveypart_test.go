package core

import (
	"math"
	"testing"

	"trueup/colorcalc"
	"trueup/profiles/law"
)

// A survey lights the lamps of every lane at so much of their light that they give together what two of them give; at all of it where a
// lane has no more, or where a lamp does not say how its light follows its codes.
func TestASurveyLightsLampsAtAPart(t *testing.T) {
	part := func(lamps int, curve law.Law) float64 {
		b := newBench(t, lamps, func(c *Config) {
			c.Plan.Lanes, c.Units = 2, dimmed(lamps)
			for i := range c.Units[1:] {
				c.Units[i+1].Spec.Dimmer.Level.Curve.Law = curve
			}
		})
		return b.c.surveyPart()
	}
	for _, c := range []struct {
		lamps int
		curve law.Law
		want  float64
	}{{4, law.Linear, 1}, {8, law.Linear, 0.5}, {8, law.Square, 0.5}, {8, law.Unknown, 1}, {60, law.Linear, leastSurvey}, {7, law.Linear, 2.0 / 3}} {
		if got := part(c.lamps, c.curve); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%d lamps on two probes, curve %v: lit at %.2f of their light, want %.2f", c.lamps, c.curve, got, c.want)
		}
	}
	u := &dimmed(1)[1]
	u.Spec.Dimmer.Level.Curve.Law = law.Square
	if d := u.inPart([]uint32{1, 2, 3, 40000}, 0.25); d[3] != 20000 || d[0] != 1 {
		t.Errorf("a quarter of the light of a square law is half the code: %v", d)
	}
}

// A lamp that turns out far brighter than the survey has it stood lower there than its curve says: what it throws on other probes is
// taken to be as much more. One that is a little brighter is as the survey has it.
func TestALampThatStoodLowerInTheSurveyThrowsMore(t *testing.T) {
	for _, c := range []struct{ survey, read, want float64 }{{20, 100, 5}, {60, 100, 1}, {0, 100, 1}} {
		b := newBench(t, 1, nil)
		u := b.c.units[1]
		u.surveyed = c.survey
		b.c.spill.put(u.Info.Name, "other", colorcalc.XYZ{X: 1, Y: 1, Z: 1})
		b.c.throwsMore(u, c.read)
		if got := b.c.spill[u.Info.Name]["other"].Y; math.Abs(got-c.want) > 1e-9 || u.surveyed != 0 {
			t.Errorf("surveyed %.0f, read %.0f: throws %.2f, want %.2f", c.survey, c.read, got, c.want)
		}
	}
}
