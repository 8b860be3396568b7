package core

import (
	"math/rand/v2"
	"testing"
)

// A lamp is matched with the scatter of the meter that reads it: of two feeds, the one that is six times as noisy as the other, which reads
// the reference as well, makes no false landings, and the quiet one's lamps do not wait for it.
func TestEachFeedHasItsOwnNoise(t *testing.T) {
	n, beyond, quiet := 0, 0, 0
	for seed := range uint64(40) {
		b := newBench(t, 10, func(c *Config) {
			for i := range c.Units {
				c.Units[i].Feed = map[string]string{"ref": "quiet", "left": "quiet", "right": "noisy"}[c.Units[i].Info.Probe]
			}
		})
		r := rand.New(rand.NewPCG(seed, 3))
		b.p.ambient = 0.01
		b.read = func(a Ask, x *Reading) {
			sd := 0.0002
			if a.Probe == "right" {
				sd = 0.0012
			}
			x.UV = b.p.light(a.Probe).UV()
			x.UV.U += sd * r.NormFloat64()
			x.UV.V += sd * r.NormFloat64()
		}
		b.tell(Event{Kind: Begin})
		b.until("the end", b.over)
		ref := b.p.light("ref").UV()
		for _, u := range b.c.units[1:] {
			if u.Info.Probe == "left" {
				quiet += u.outcome.Readings
				continue
			}
			n++
			b.p.stands[u.Head] = u.final
			if u.outcome.Landed() && b.p.own(u.Head).UV().Dist(ref) > 1.5*b.c.cfg.Plan.Tolerance {
				beyond++
			}
		}
	}
	if most := n / 50; beyond > most {
		t.Errorf("of %d lamps at the noisy meter %d are said to have landed and are beyond 1.5 tolerances, want at most %d", n, beyond, most)
	}
	if most := 3.6 * float64(n); float64(quiet) > most {
		t.Errorf("%d lamps at the quiet meter took %d readings, want at most %.0f", n, quiet, most)
	}
}

// A feed that has shown nothing yet is taken to be no better than those that have; of what one shows the others learn nothing more.
func TestNewFeedIsNotTakenToBeQuieter(t *testing.T) {
	m := metersOf([]*unit{{Unit: &Unit{Info: FixtureInfo{Name: "a", Probe: "left"}, Feed: "one"}}, {Unit: &Unit{Info: FixtureInfo{Name: "b", Probe: "right"}, Feed: "two"}},
		{Unit: &Unit{Info: FixtureInfo{Name: "c", Probe: "far"}, Feed: "two"}}}, "a")
	if m.at("left") != &m.first || m.at("far") != m.at("right") || m.at("right") == m.at("left") || m.at("elsewhere") != &m.first {
		t.Fatal("probes of one feed have one noise, and of two feeds two")
	}
	m.first.sumSq, m.first.dof = 2*100*0.001*0.001, 100
	if s := m.at("right").sigmaUV(); s < 0.0009 {
		t.Errorf("a feed that was not read yet is taken to scatter by %.5f beside one that does by 0.0010", s)
	}
	m.at("right").sumSq, m.at("right").dof = 2*100*0.0001*0.0001, 100
	if s := m.at("right").sigmaUV(); s > 0.0003 {
		t.Errorf("a feed that was seen to scatter by 0.0001 is taken to scatter by %.5f", s)
	}
}
