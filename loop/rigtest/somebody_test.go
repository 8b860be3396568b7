package rigtest

import (
	"testing"

	"trueup/loop/solve"
)

// A lamp that somebody puts on and out again between two looks at a dark room makes no false claim: the level of what is read beside it is not what
// was foretold, which asks for the dark at once. Without that three to six lamps of a hundred were beyond 1.5 times the tolerance; of two such lamps one and a half are.
// In a room that is too dark for the meter it was five to eleven, for a light that comes there was not looked for.
func TestSomebodysLampMakesNoFalseClaims(t *testing.T) {
	for _, name := range []string{"somebody's lamp, once", "somebody's lamp, once, pitch dark", "somebody's lamp, twice", "somebody's bright lamp, once"} {
		c := class(t, name)
		s := Sum(c, c.Play(607, 24))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.False > 0.02 || s.Inside < 0.95 {
			t.Errorf("%s: beyond 1.5 times the tolerance %.1f %% (worst %.4f), inside %.1f %% %s", name, 100*s.False, s.Worst, 100*s.Inside, s.Why)
		}
	}
}

// A light that comes on beside a lamp and makes it a third brighter is not taken for the lamp's own, though lamps of the rig have leapt by themselves
// before: in each of these rigs one was claimed 0.012 to 0.033 from where it truly stood.
func TestABrightLightIsNotTakenForTheLampsOwn(t *testing.T) {
	c := class(t, "somebody's bright lamp, once")
	for _, at := range []struct {
		seed uint64
		rig  int
	}{{3101, 33}, {3103, 14}, {4102, 18}, {4103, 1}} {
		for _, l := range c.Rig(at.seed, at.rig).Play().Lamps {
			if l.Outcome != nil && l.Outcome.Result == solve.Landed && l.Error() > 3*tolerance {
				t.Errorf("seed %d, rig %d: %s is said to be landed, and stands %.4f off", at.seed, at.rig, l.Name, l.Error())
			}
		}
	}
}

// People who walk through the beams for some seconds take light away and colour the rest: a lamp that has lost light for no reason is read again when
// they have gone. One in a hundred was claimed beyond 1.5 times the tolerance, up to 0.0055; half of these are left.
func TestPeopleInTheBeamsMakeFewFalseClaims(t *testing.T) {
	c := class(t, "people walk through the beams")
	s := Sum(c, c.Play(607, 24))
	t.Log("\n" + Table([]Score{s}))
	if s.Failed > 0 || s.False > 0.01 || s.Inside < 0.96 || s.Missed > 0.01 {
		t.Errorf("beyond 1.5 times the tolerance %.1f %% (worst %.4f), inside %.1f %%, not landed %.1f %% %s", 100*s.False, s.Worst, 100*s.Inside, 100*s.Missed, s.Why)
	}
}

// Lamps that both visits read beside a light which somebody has put on, and which was out whenever the dark was looked at, are not claimed so: the probe that
// was left is read in the dark while the next lamp is read at another one. Of these rigs each claimed one or two lamps 0.0016 to 0.0048 off.
func TestALampReadTwiceBesideSomebodysLightIsNotClaimed(t *testing.T) {
	c := class(t, "somebody's lamp, twice")
	for _, at := range []struct {
		seed uint64
		rig  int
	}{{301, 0}, {301, 8}, {302, 6}, {302, 7}, {303, 6}, {303, 9}, {303, 13}} {
		for _, l := range c.Rig(at.seed, at.rig).Play().Lamps {
			if l.Beyond() {
				t.Errorf("seed %d, rig %d: %s is said to be landed, and stands %.4f off", at.seed, at.rig, l.Name, l.Error())
			}
		}
	}
}
