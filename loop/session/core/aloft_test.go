package core

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"trueup/colorcalc"
)

// As many readings as are named do tell a lamp beside others within the tolerance in 95 of
// 100 trials: half of them at its level and half at the lower one, each with a meter's
// noise on all the light, and the difference taken.
func TestTwoLevelsTellALampWithSoManyReadings(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	own := colorcalc.UV{U: 0.21, V: 0.49}
	for _, c := range []struct{ sigma, tol, share, level float64 }{{0.0005, 0.002, 0.5, 0.5}, {0.0003, 0.001, 0.5, 0.25}, {0.0004, 0.001, 1, 0.5}, {0.0003, 0.002, 0.25, 0.4}} {
		n := ReadingsByTwoLevels(c.sigma, c.tol, c.share, c.level)
		half := float64(n) / 2
		lamp, rest := own.XYZ(100*c.share), own.XYZ(100*(1-c.share))
		noisy := func(x colorcalc.XYZ) colorcalc.XYZ {
			k := c.sigma / math.Sqrt(half)
			uv := x.UV()
			return colorcalc.UV{U: uv.U + k*r.NormFloat64(), V: uv.V + k*r.NormFloat64()}.XYZ(x.Y)
		}
		inside := 0
		for range 4000 {
			d := noisy(rest.Add(lamp)).Sub(noisy(rest.Add(lamp.Scale(c.level))))
			if d.UV().Dist(own) <= c.tol {
				inside++
			}
		}
		if p := float64(inside) / 4000; p < 0.935 || p > 0.975 {
			t.Errorf("%+v: %d readings, within in %.1f %%", c, n, 100*p)
		}
	}
}

// With people aloft a run does not begin where two lamps are lit at one probe, and says
// what would do.
func TestNoRunOverPeopleWhereAProbeReadsAMixture(t *testing.T) {
	for name, share := range map[string]func(c *Config){
		"two driven lamps":      func(c *Config) { c.Units[2].Info.Probe = c.Units[1].Info.Probe },
		"a lamp that is fixed":  func(c *Config) { c.Units[1].Info.Probe = c.Units[0].Info.Probe },
		"two, at survey":        func(c *Config) { c.Units[2].Info.Probe, c.Work = c.Units[1].Info.Probe, Survey },
		"two, a wide tolerance": func(c *Config) { c.Units[2].Info.Probe, c.Plan.Tolerance = c.Units[1].Info.Probe, 0.01 },
	} {
		c := aloftConfig()
		share(&c)
		_, err := New(c)
		if err == nil || !strings.Contains(err.Error(), "both lit at probe") || !strings.Contains(err.Error(), "% of the light there") {
			t.Errorf("%s: %v", name, err)
		}
		if wide := c.Plan.Tolerance > 0.005; err != nil && strings.Contains(err.Error(), "readings a setting, more than 32") == wide {
			t.Errorf("%s: %v", name, err)
		}
		c.Plan.KeepLit = false
		if _, err := New(c); err != nil {
			t.Errorf("%s, nobody aloft: %v", name, err)
		}
	}
	if _, err := New(aloftConfig()); err != nil {
		t.Errorf("a probe for each: %v", err)
	}
}

func aloftConfig() Config {
	c := Config{Work: Match, Plan: DefaultPlan()}
	c.Plan.KeepLit, c.Plan.Target.Reference = true, "window"
	c.Units = []Unit{{Info: FixtureInfo{Name: "window", Probe: "ref", Fixed: true}, Head: -1},
		{Info: FixtureInfo{Name: "key", Probe: "left"}, Head: 0}, {Info: FixtureInfo{Name: "fill", Probe: "right"}, Head: 1},
		{Info: FixtureInfo{Name: "torch", Probe: "left", ByHand: true}, Head: -1}}
	return c
}
