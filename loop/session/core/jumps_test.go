package core

import (
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
)

// Where a light blinks at another probe, one change that came while this probe was watched shows that it sees it too. What had changed
// since the passage before, by the first reading of the watch, may have been a door: nobody is blamed for it.
func TestOneChangeBetweenPassagesIsNoBlinking(t *testing.T) {
	up := colorcalc.XYZ{X: 9, Y: 10, Z: 11}
	began := 40 * time.Second
	for at, want := range map[time.Duration]bool{began: false, began + time.Second: true} {
		for beside, want := range map[bool]bool{true: want, false: false} {
			d := &dark{beside: beside}
			if got := d.alternates([]scene.Jump{{At: at, By: up}}, began); got != want {
				t.Errorf("a change at %v, watched from %v on, beside a blinking one %v: blinks %v, want %v", at, began, beside, got, want)
			}
		}
	}
}
