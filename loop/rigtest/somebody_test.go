package rigtest

import "testing"

// A lamp that somebody puts on and out again between two looks at a dark room makes no false claim: the level of what is read beside it is not what
// was foretold, which asks for the dark at once. Without that three to six lamps of a hundred were beyond 1.5 times the tolerance; of two such lamps one and a half are.
func TestSomebodysLampMakesNoFalseClaims(t *testing.T) {
	for _, name := range []string{"somebody's lamp, once", "somebody's lamp, twice", "somebody's bright lamp, once"} {
		c := class(t, name)
		s := Sum(c, c.Play(607, 24))
		t.Log("\n" + Table([]Score{s}))
		if s.Failed > 0 || s.False > 0.02 || s.Inside < 0.95 {
			t.Errorf("%s: beyond 1.5 times the tolerance %.1f %% (worst %.4f), inside %.1f %% %s", name, 100*s.False, s.Worst, 100*s.Inside, s.Why)
		}
	}
}
