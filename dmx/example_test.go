package dmx_test

import (
	"fmt"

	"trueup/dmx"
)

// A row of twelve-slot fixtures goes on in the next universe, and one that would
// cross the end of its universe is refused with the last place where it fits.
func Example() {
	at, _ := dmx.ParseAddress("3/495")
	for range 3 {
		fmt.Println(at)
		at, _ = dmx.Step(at, 12, 12)
	}
	cyc, _ := dmx.ParseAddress("3/505")
	fmt.Println(dmx.Piece{Name: "cyc", Start: cyc, Slots: 10}.Check())
	// Output:
	// 3/495
	// 4/1
	// 4/13
	// cyc at 3/505: 10 slots cross the end of universe 3; the last address where it fits is 3/503
}
