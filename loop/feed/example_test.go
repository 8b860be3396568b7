package feed_test

import (
	"context"
	"fmt"
	"strings"

	"trueup/loop/feed"
	"trueup/loop/feed/instrument"
)

// A meter that prints lines of its own is read by a description. What it says
// that is no reading is set aside, and counted.
func Example() {
	meter := strings.NewReader("Specht 2, ready\n0,3127;0,3290;1,20\n0,3127;0,3290\n")
	specht, err := instrument.Parse("specht.yaml", []byte(`
instrument: Specht
read: {as: csv, separator: ";", decimal: comma}
fields: {x: 1, y: 2, level: {from: 3, unit: klx}}
`))
	if err != nil {
		fmt.Println(err)
		return
	}
	f, err := feed.Open(context.Background(), feed.Config{Name: "bench", Kind: "stdin", Input: meter, Instrument: specht})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer f.Close()
	for {
		r, err := f.Next(context.Background())
		if err != nil {
			fmt.Println(err)
			break
		}
		xy := r.UV.XY()
		fmt.Printf("x %.4f y %.4f, %.0f lx\n", xy.X, xy.Y, r.Y)
	}
	fmt.Println(f.Status().SetAside[feed.Unreadable], "set aside")
	// Output:
	// x 0.3127 y 0.3290, 1200 lx
	// feed bench: the input has ended
	// 2 set aside
}
