package rigtest

import (
	"strings"
	"testing"
	"time"

	"trueup/loop/stage"
)

// A lamp that gives no light beside a television is not the television: it is said to give none, and sound lamps are not lost beside it. One in nine was;
// the others were said to stand beside a light that goes too fast for their one or two lux. Those of which it is found late that the light beside them goes on and off still are.
func TestALampWithoutLightBesideATelevision(t *testing.T) {
	c := Class{Name: "a television", Probes: 2, Background: 0.012, Ambient: stage.AmbientSpec{Picture: 1500 * time.Millisecond, PictureMoved: 0.001},
		Cause: "no light", Lamp: func(l *lampPlan, d *draws) {
			if d.IntN(4) == 0 {
				l.gain, l.spoilt = 0, true
			}
		}}
	dead, told, sound, missed, accused, beyond, seconds := 0, 0, 0, 0, 0, 0, 0.0
	for n := range 24 {
		run := c.Rig(6311, n).Play()
		if run.Err != nil {
			t.Fatal(run.Err)
		}
		seconds += run.Seconds
		for i := range run.Lamps {
			l := &run.Lamps[i]
			switch none := l.Outcome != nil && strings.Contains(l.Outcome.Reason, "no light to speak of"); {
			case l.Spoilt:
				if dead++; none {
					told++
				}
			case none:
				accused++
			case l.Reachable:
				if sound++; !l.Outcome.Landed() {
					missed++
				} else if l.Beyond() {
					beyond++
				}
			}
		}
	}
	t.Logf("of %d lamps without light %d are said to give none; of %d sound ones %d are not landed, %d beyond 1.5 tolerances, %d accused; %.1f s a lamp", dead, told, sound, missed, beyond, accused, seconds/float64(dead+sound+accused))
	if 3*told < dead || accused > 0 || 50*missed > sound {
		t.Errorf("of %d lamps without light %d are said to give none, and %d sound ones; of %d sound ones %d are not landed", dead, told, accused, sound, missed)
	}
}
