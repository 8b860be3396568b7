package rigtest

import (
	"strings"
	"testing"
)

// Beside a light that goes on and off within seconds nothing is claimed but of a lamp that carries the tolerance beside all of it, and the light is named: also at a
// probe whose every short passage in the dark met it out, once another probe has shown it.
func TestNothingIsClaimedBesideABlinkingLight(t *testing.T) {
	for _, c := range rooms() {
		if c.Ambient.Blink == 0 || strings.Contains(c.Name, "switches") || strings.Contains(c.Name, "stays lit") {
			continue
		}
		runs := c.Play(1, 6)
		if s := Sum(&c, runs); s.Failed > 0 || s.False > 0 || s.Accused > 0 {
			t.Errorf("%s: beyond 1.5 times the tolerance %.1f %% (worst %.4f), of the lamps %.1f %% accused, %s",
				c.Name, 100*s.False, s.Worst, 100*s.Accused, s.Why)
		}
		named, all := 0, 0
		for _, r := range runs {
			for _, l := range r.Lamps {
				if l.Outcome.Landed() {
					continue
				}
				if all++; l.Outcome != nil && strings.Contains(l.Outcome.Reason, "blinks") {
					named++
				}
			}
		}
		if 10*named < 9*all {
			t.Errorf("%s: the light is named at %d of %d lamps", c.Name, named, all)
		}
	}
}

// Beside a light that is switched once in 10 to 60 s lamps are matched, each between two looks at the dark that agree, and what
// is claimed of them holds. When such a light was refused as one that blinks a quarter of the lamps landed no more where it
// shone at one probe of three, and all where it did at each; and of those that landed three or four in a hundred were beyond
// 1.5 times the tolerance. One that each look at the dark meets out is not always seen: of one rig several lamps are false then.
func TestLampsAreMatchedBesideALightThatIsSwitched(t *testing.T) {
	beyond, of := 0.0, 0.0
	for _, c := range rooms() {
		if !strings.Contains(c.Name, "switche") {
			continue
		}
		s := Sum(&c, c.Play(613, 12))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.Landed < 0.97 || s.False > 0.02 || s.Inside < 0.95 || s.Accused > 0 {
			t.Errorf("%s: landed %.1f %%, inside %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f), accused %.1f %% %s",
				c.Name, 100*s.Landed, 100*s.Inside, 100*s.False, s.Worst, 100*s.Accused, s.Why)
		}
		beyond, of = beyond+s.False*s.Landed*float64(s.Lamps), of+s.Landed*float64(s.Lamps)
	}
	if beyond > 0.006*of {
		t.Errorf("in all of these scenes %.2f %% are beyond 1.5 times the tolerance", 100*beyond/of)
	}
}

// A light that swings smoothly, as under clouds that pass, is no light that blinks: where it does little harm lamps are matched
// beside it, and what is claimed of them holds.
func TestALightThatSwingsDoesNotBlink(t *testing.T) {
	for _, name := range []string{"ambient 0.03 swings", "ambient 0.1 swings"} {
		c := class(t, name)
		s := Sum(c, c.Play(17, 10))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.Landed < 0.97 || s.False > 0.01 || s.Inside < 0.94 || s.Accused > 0.01 {
			t.Errorf("%s: landed %.1f %%, inside %.1f %%, beyond 1.5 times the tolerance %.1f %%, accused %.1f %% (%s)",
				name, 100*s.Landed, 100*s.Inside, 100*s.False, 100*s.Accused, s.Why)
		}
	}
}

// Under clouds half as bright as the lamps themselves, which swell by a third within half a minute, most lamps can not be read: two
// of them show it, and of the others it is said what light or tolerance would likely do. A run took 77 s for each lamp when every one of
// them was read forty times and more.
//
// From the readings of one lamp its own drift and such a light can not be told apart; the looks at the dark between them can: no lamp is
// accused, and of all that end in vain the light is named, of the first ones too.
func TestUnderStrongCloudsARunEndsAndSaysWhy(t *testing.T) {
	c := class(t, "ambient 0.5 swells")
	runs := c.Play(619, 24) // of half as many two lamps are 4 %
	s := Sum(c, runs)
	t.Log("\n" + Table([]Score{s}))
	if s.Failed > 0 || s.False > 0.04 || s.Accused > 0 || s.Seconds > 50 {
		t.Errorf("beyond 1.5 times the tolerance %.1f %%, accused %.1f %%, %.0f s a lamp %s", 100*s.False, 100*s.Accused, s.Seconds, s.Why)
	}
	said, lost := 0, 0
	for _, r := range runs {
		for _, l := range r.Lamps {
			if l.Outcome.Landed() {
				continue
			}
			why := l.Outcome.Reason
			if a := accusation(l.Outcome); a != "" {
				t.Errorf("a lamp is accused of %s: %s", a, why)
			}
			lost++
			if strings.Contains(why, "goes too fast for a tolerance of 0.0010") && strings.Contains(why, "lux from a fixture, or a tolerance of") {
				said++
			}
		}
	}
	if 100*said < 98*lost { // of the others their readings are said to share too much doubt, or to be too few
		t.Errorf("of %d lamps that did not land %d are told why, and what would do", lost, said)
	}
}

// A moving light next door that sweeps through its hues is next to nothing at its trough: that a look at the dark finds it there again tells
// nothing of the time between. Where it does little harm all lamps are matched beside it, and what is claimed of them holds; where it takes them
// several tolerances off they are said to be unsettled, hardly any is claimed falsely, and the run ends soon.
func TestBesideALightThatSweepsLittleIsFalse(t *testing.T) {
	for name, most := range map[string]float64{"a light that sweeps, 0.006": 20, "a light that sweeps, 0.03": 50, "a light that sweeps, 0.1": 60} {
		c := class(t, name)
		s := Sum(c, c.Play(811, 48)) // where the light does much harm one rig's lamps are often false together
		t.Log("\n" + Table([]Score{s}))
		wrong := 0.0
		if s.Landed > 0 {
			wrong = s.False * s.Landed // of all lamps
		}
		if s.Failed > 0 || wrong > 0.03 || s.Seconds > most {
			t.Errorf("%s: of all lamps %.1f %% claimed beyond 1.5 times the tolerance; %.0f s a lamp %s", name, 100*wrong, s.Seconds, s.Why)
		}
		if name == "a light that sweeps, 0.006" && (s.Landed < 0.97 || s.Inside < 0.94) {
			t.Errorf("%s: landed %.1f %%, inside %.1f %%", name, 100*s.Landed, 100*s.Inside)
		}
	}
}

// Beside a wall of pictures, light that takes another level and colour each second, it is the dim lamps that nothing is claimed of: those that it moves by
// so little that some readings carry the tolerance beside it are matched, and what is claimed of them holds with its share in their doubt. All lamps of a probe were given
// up when it was held against the one that happened to be read last: six of seven did not land at a hundredth of their light.
func TestBesideAPictureWallTheBrightLampsLand(t *testing.T) {
	for name, least := range map[string]float64{"a picture wall, 0.003 of the light": 0.9, "a picture wall, 0.01 of the light": 0.48} {
		c := class(t, name)
		s := Sum(c, c.Play(301, 12))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.Landed < least || s.Inside < 0.94 || s.False > 0.02 || s.Accused > 0 {
			t.Errorf("%s: landed %.1f %%, inside %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f), accused %.1f %% %s",
				name, 100*s.Landed, 100*s.Inside, 100*s.False, s.Worst, 100*s.Accused, s.Why)
		}
	}
}

// Beside a light that goes on and off within seconds, or a wall of pictures, somebody lights a lamp and leaves it on. The lamps that are claimed there are read again
// with it. Once such a light was known the dark was not looked at any more: 7 to 33 of a hundred that landed were beyond 1.5 times the tolerance.
func TestALightThatStaysIsSeenBesideOneThatChanges(t *testing.T) {
	for _, c := range rooms() {
		if !strings.Contains(c.Name, "lamp that stays lit") {
			continue
		}
		s := Sum(&c, c.Play(9301, 12))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.False > 0.015 || s.Inside < 0.95 {
			t.Errorf("%s: inside %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f) %s", c.Name, 100*s.Inside, 100*s.False, s.Worst, s.Why)
		}
	}
}

// Late in a run, in a room whose dark is looked at often, a lamp of somebody's begins to blink at one probe of two. What was proved before is not taken back for it: of the
// lamps 12 in a hundred were.
func TestALightThatBlinksLateTakesNoEarlierClaimBack(t *testing.T) {
	c := class(t, "somebody's lamp, blinks every 3-12 s, late in the run, ambient 1 walks")
	s := Sum(c, c.Play(9401, 12))
	t.Log("\n" + Table([]Score{s}))
	if s.Failed > 0 || s.Landed < 0.9 || s.Inside < 0.94 || s.False > 0.01 || s.Accused > 0 {
		t.Errorf("landed %.1f %%, inside %.1f %%, beyond 1.5 times the tolerance %.1f %% (worst %.4f), accused %.1f %% %s",
			100*s.Landed, 100*s.Inside, 100*s.False, s.Worst, 100*s.Accused, s.Why)
	}
}
