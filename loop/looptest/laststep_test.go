package looptest

import (
	"testing"

	"trueup/loop/solve"
)

// A match that may end with a small step which another visit reads takes fewer readings and
// stands no worse: more of its lamps are truly inside the tolerance, and none is false more often.
func TestALastStepThatIsReadLaterStandsAsWell(t *testing.T) {
	n := size(60)
	if n == 0 {
		n = 60
	}
	classes := []Class{{Name: "emitters"}, {Name: "emitters, saturated", Aim: Saturated}, {Name: "cct+tint", Engine: true}, {Name: "cct+tint, full", Engine: true, Aim: Saturated}}
	later := Method{"read later", func(s solve.Spec, t solve.Target, o solve.Options) (Controller, error) {
		o.LastStep = o.Confidence
		return solve.New(s, t, nil, o)
	}}
	for _, cl := range classes {
		now := Sum(cl, "read at once", cl.PlayAll(Ours(), seed(), n), Tol)
		then := Sum(cl, later.Name, cl.PlayAll(later, seed(), n), Tol)
		t.Logf("%s\n%s", cl.Name, Table([]Score{now, then}))
		if then.Broken > 0 || then.Mean > now.Mean || then.False > now.False+0.01 || then.Inside < now.Inside-0.03 {
			t.Errorf("%s: with a last step that is not read: %+v, else %+v", cl.Name, then, now)
		}
	}
}
