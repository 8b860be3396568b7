package dmx_test

import (
	"fmt"

	"trueup/dmx"
)

func ExamplePatch() {
	at, _ := dmx.ParseAddress("3/505")
	r := dmx.Patch([]dmx.Piece{
		{Name: "wash 1", Start: dmx.Address{Universe: 3, Slot: 101}, Slots: 12},
		{Name: "wash 2", Start: dmx.Address{Universe: 3, Slot: 110}, Slots: 12},
		{Name: "cyc", Start: at, Slots: 10},
	})
	for _, err := range r.Bad {
		fmt.Println(err)
	}
	for _, o := range r.Overlaps {
		fmt.Println(o)
	}
	fmt.Println("free:", r.Gaps)
	// Output:
	// cyc at 3/505: 10 slots cross the end of universe 3; the last address where it fits is 3/503
	// wash 1 at 3/101 and wash 2 at 3/110 both take 3/110..112
	// free: [3/1..100 3/122..512]
}
