package rigtest

import "testing"

// What a run says last of a lamp is as true as it says, beside a background as bright as the lamp that
// walks: of its claims 90 % lie within the circle that they give 90 %.
func TestClaimsAreAsSureAsTheySay(t *testing.T) {
	c := class(t, "ambient 1 walks")
	s := Sum(c, c.Play(7, 8))
	t.Logf("%s: %.2f", c.Name, s.Coverage)
	// Of some 90 lamps a share near 90 % is known to 3 points.
	if s.Coverage[1] < 0.86 || s.Coverage[0] < 0.42 {
		t.Errorf("%s: %.2f of the claims hold at 50, 90, 95 and 99 %%", c.Name, s.Coverage)
	}
}
