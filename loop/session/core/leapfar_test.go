package core

import (
	"slices"
	"testing"
	"time"

	"trueup/loop/scene"
	"trueup/loop/solve"
)

// A lamp that was just brought from its own level to the common one follows a part of its curve there of which nothing was read: the level of the small step after that
// may be off by more than a lamp's at its own level. It is not taken for a light that came, for which all that was read of the lamp would be forgotten.
func TestALevelAfterThatOfAllIsNoLeap(t *testing.T) {
	for common, leaps := range map[float64]bool{0: true, 40: false} {
		b := newBench(t, 1, nil)
		c, u := b.c, b.c.units[1]
		c.commonLux = common
		c.background[u.Info.Probe] = &dark{Background: scene.NewBackground(window.XYZ(1), 5, c.meter(""), 0)}
		set := make(solve.Drive, len(u.Spec.Channels))
		for i, ch := range u.Spec.Channels {
			set[i] = ch.Hi / 3
		}
		next := slices.Clone(set)
		next[0] += u.Spec.Channels[0].Max / 50
		u.levelRead = levelRead{at: 10 * time.Second, lux: 40, uv: window, set: set, far: true}
		u.at.Sent, u.at.At, u.read = next, 11*time.Second, 12*time.Second
		u.tally.last = &Stand{UV: window, Lux: 44}
		c.foretold(u, &solve.Account{Verdict: solve.Accepted, InnovationLnY: 0.1, LevelSD: 0.01})
		if got := u.leap.by != 0; got != leaps {
			t.Errorf("common level %g lux: leaps %v, want %v", common, got, leaps)
		}
	}
}
