package rigtest

import (
	"os"
	"strings"
	"testing"
)

// Lamps of all kinds that are in a mode of 8 bit where the rig has one of 16, or the other way: the mode is named, or that there is no light or no answer and the patch is to
// be looked at, mostly within eight readings. None is landed for that, and no sound lamp beside is said to be in another mode. Before, few were told so.
func TestALampInAnotherModeIsNamed(t *testing.T) {
	rigs := 8
	if os.Getenv("TRUEUP_LONG") != "" {
		rigs = 40
	}
	other, soon, told, said, landed, sound, lost, accused := 0, 0, 0, 0, 0, 0, 0, 0
	for _, name := range []string{"a mode of 8 bit for one of 16", "a mode of 16 bit for one of 8"} {
		c := class(t, name)
		for i := range rigs {
			rig := c.Rig(711, i)
			remoded := map[string]bool{}
			for _, p := range rig.lamps {
				remoded[p.name] = p.remoded
			}
			for _, l := range rig.Play().Lamps {
				mode := strings.Contains(l.Outcome.Reason, "it looks to be in")
				if !remoded[l.Name] {
					if sound++; mode {
						accused++
					}
					if l.Reachable && !l.Outcome.Landed() {
						lost++
						t.Logf("sound, lost: %s: %s", l.Name, l.Outcome.Reason)
					}
					continue
				}
				other++
				cause := accusation(l.Outcome)
				switch {
				case l.Outcome.Landed():
					landed++
				case mode:
					told, said = told+1, said+1
				case cause == "no light" || cause == "not answering":
					said++
				default:
					t.Logf("%s: %s", l.Name, l.Outcome.Reason)
				}
				if l.Named > 0 && l.Named <= soonNamed {
					soon++
				}
			}
		}
	}
	t.Logf("in another mode %d: named soon %d, told so %d, told so or without light %d, landed %d; sound %d: lost %d, accused %d", other, soon, told, said, landed, sound, lost, accused)
	switch {
	case other < rigs*6:
		t.Errorf("only %d lamps are in another mode", other)
	case soon*100 < other*85:
		t.Errorf("of %d lamps %d are named within eight readings", other, soon)
	case told*100 < other*60 || said*100 < other*90:
		t.Errorf("of %d lamps %d are told so, of %d that or no light is named last", other, told, said)
	case landed > 0 || accused > 0 || lost*100 > 3*sound:
		t.Errorf("%d lamps in another mode land; of %d sound ones %d are lost, %d accused", landed, sound, lost, accused)
	}
}

// Where all lamps of a rig are in another mode each costs what its readings take: none is waited for as if somebody stood in its beam, or begun anew for a level that its profile
// does not foretell. It was 35 s a lamp in these rigs, of 12 probes, the looks at the dark at the end included.
func TestARigInAnotherModeIsToldSoon(t *testing.T) {
	c := *class(t, "a mode of 8 bit for one of 16")
	c.Lamp = func(l *lampPlan, d *draws) {
		atTenths(l, d)
		l.spoilt, l.remoded = true, true
	}
	seconds, lamps, told := 0.0, 0, 0
	for i := range 12 {
		run := c.Rig(900, i).Play()
		seconds += run.Seconds
		for _, l := range run.Lamps {
			if lamps++; strings.Contains(l.Outcome.Reason, "it looks to be in") {
				told++
			}
		}
	}
	if t.Logf("%d lamps, %d told so, %.1f s a lamp", lamps, told, seconds/float64(lamps)); seconds > 27*float64(lamps) || told*100 < lamps*85 {
		t.Errorf("%d lamps took %.1f s each, %d are told so", lamps, seconds/float64(lamps), told)
	}
}
