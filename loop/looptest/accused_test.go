package looptest

import (
	"testing"

	"trueup/loop/solve"
)

// These sound lamps were once told that their scale runs otherwise than the profile says, after two to five
// readings: a table bent at the end of its range looks like another scale for so long.
func TestSoundLampsAreNotAccusedOfAnotherScale(t *testing.T) {
	cases := map[string][]int{
		"cct+tint, inner range":           {472, 499},
		"cct+tint, full range":            {32, 460},
		"cct+tint, out of range":          {46, 155, 582},
		"cct+tint, another unit's corner": {11, 112, 583},
	}
	for _, cl := range Classes() {
		for _, n := range cases[cl.Name] {
			if r := cl.NewCase(7, n).Play(Ours()); r.Cause == solve.WrongScale {
				t.Errorf("%s case %d: %q after %d readings", cl.Name, n, r.Cause, r.NamedAt)
			}
		}
	}
}
