package rigtest

import (
	"fmt"
	"strings"
	"testing"
)

// With lanes slow lamps are waited for as with one lane: a lamp that glows as another comes up
// does not make the dead time look short. Of 720 such lamps .6 % are beyond 1.5 tolerances, of one lane none.
func TestLanesWaitForSlowLamps(t *testing.T) {
	c := class(t, "slow lamps, 2 s")
	c.Lanes = 3
	if s := Sum(c, c.Play(1, 16)); s.Failed > 0 || s.False > 0.006 || s.Inside < 0.95 {
		t.Errorf("inside %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f), %s", 100*s.Inside, 100*s.False, s.Worst, s.Why)
	}
}

// Panels at probes that see no light of each other's take a third of the time with four lanes, and
// where light spills no landing is false.
func TestLanesAreFasterAndAsTrue(t *testing.T) {
	c := Class{Name: "panels", Lamps: 32, Alike: 32, Probes: 4, Only: "cct", Bounce: 0.02}
	one := Sum(&c, c.Play(3, 2))
	c.Lanes = 4
	four := Sum(&c, c.Play(3, 2))
	c.Spill = 0.03
	spilt := Sum(&c, c.Play(3, 2))
	for _, s := range []Score{one, four, spilt} {
		if s.Failed > 0 || s.Landed < 0.95 || s.False > 0 {
			t.Errorf("landed %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f), %s", 100*s.Landed, 100*s.False, s.Worst, s.Why)
		}
	}
	t.Logf("seconds a lamp: %.1f, with four lanes %.1f, where light spills %.1f", one.Seconds, four.Seconds, spilt.Seconds)
	if one.Seconds < 2.5*four.Seconds {
		t.Errorf("four lanes take %.1f s a lamp, one takes %.1f", four.Seconds, one.Seconds)
	}
}

// Where lamps throw a hundredth of their light on the next probes, some much more than others, eight lanes take less than half
// the time of one, and no landing is false.
func TestLanesGainWhereLightSpillsOnTheNextProbes(t *testing.T) {
	c := Class{Name: "panels", Lamps: 96, Alike: 96, Probes: 8, Only: "cct", Bounce: 0.02, Spill: 0.01, Near: true, Uneven: 0.7}
	one := Sum(&c, c.Play(1, 1))
	c.Lanes = 8
	eight := Sum(&c, c.Play(1, 1))
	if s := eight; s.Failed > 0 || s.Landed < 0.95 || s.Inside < 0.95 || s.False > 0 {
		t.Errorf("landed %.1f %%, inside %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f), %s", 100*s.Landed, 100*s.Inside, 100*s.False, s.Worst, s.Why)
	}
	t.Logf("seconds a lamp: %.1f, with eight lanes %.1f", one.Seconds, eight.Seconds)
	if one.Seconds < 2*eight.Seconds {
		t.Errorf("eight lanes take %.1f s a lamp, one takes %.1f", eight.Seconds, one.Seconds)
	}
}

// Lanes beside one lane, over equal panels: how much faster, and how true. Only where -panels
// says how many.
func TestPanels(t *testing.T) {
	if *panels == 0 {
		t.Skip("-args -panels 60 plays some hundred panels")
	}
	for _, spill := range []float64{0, 0.01, 0.03, 0.10} {
		for _, near := range []bool{false, true} {
			name := fmt.Sprintf("spill %g near %v", spill, near)
			if near && spill == 0 || !strings.Contains(name, *only) {
				continue
			}
			var all []Score
			for _, lanes := range []int{1, 4, 8, 16} {
				c := Class{Name: fmt.Sprintf("%s, %d lanes", name, lanes), Lamps: *panels, Alike: *panels, Probes: max(lanes, 8), Lanes: lanes, Only: "cct", Spill: spill, Near: near, Uneven: *uneven, Bounce: 0.02}
				if lanes == 4 {
					c.Probes = 4
				}
				all = append(all, Sum(&c, c.Play(*first, *rigs)))
			}
			t.Log("\n" + Table(all))
		}
	}
}
