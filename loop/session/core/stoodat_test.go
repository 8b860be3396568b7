package core

import (
	"slices"
	"testing"

	"trueup/loop/solve"
)

// A second visit to a lamp of which all readings are forgotten begins where the lamp stood, and not where its profile would set it: with a level for all
// the visit has no reading to begin with, and went back to the setting as found, far from the target in colour and level.
func TestASecondVisitToALampThatIsForgottenBeginsWhereItStood(t *testing.T) {
	b := newBench(t, 2, nil)
	c, u := b.c, b.c.units[1]
	landed := make(solve.Drive, len(u.Spec.Channels))
	trimmed := slices.Clone(landed)
	for i, ch := range u.Spec.Channels {
		landed[i], trimmed[i] = ch.Lo+(ch.Hi-ch.Lo)/3, ch.Lo+(ch.Hi-ch.Lo)/4
	}
	c.commonLux = 50
	u.final, u.stood, u.outcome = landed, landed, &Outcome{Result: solve.Landed}
	begins := func(v *secondVisit) solve.Drive {
		v.match = nil
		if err := v.begin(c); err != nil {
			t.Fatal(err)
		}
		return v.match.Next(0).Drive
	}
	v := &secondVisit{u: u}
	if d := begins(v); !slices.Equal(d, landed) {
		t.Errorf("it had landed at %v, and its second visit begins at %v", landed, d)
	}
	u.stood = trimmed
	v.renew(c)
	if d := begins(v); !slices.Equal(d, trimmed) {
		t.Errorf("it stood at %v when the visit was begun anew, at %v", trimmed, d)
	}
	prior := v.match.Posterior()
	u.prior = &prior
	if d := begins(v); slices.Equal(d, trimmed) {
		t.Errorf("what is known of it counts, and its visit begins at %v all the same", d)
	}
}
