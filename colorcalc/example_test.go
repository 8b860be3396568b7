package colorcalc_test

import (
	"fmt"

	"trueup/colorcalc"
)

// A reading beside a reference, in numbers and in words.
func Example() {
	reference := colorcalc.XY{X: 0.3302, Y: 0.3430}
	reading := colorcalc.XY{X: 0.3280, Y: 0.3434}
	t, d, err := colorcalc.CCT(reading)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f K, Duv %+.4f\n", t, d)
	fmt.Printf("%.4f in u'v'\n", reference.UV().Dist(reading.UV()))
	fmt.Println(colorcalc.Describe(reference, reading))
	// Output:
	// 5696 K, Duv +0.0032
	// 0.0017 in u'v'
	// 100 K cooler, a touch green (Duv +0.0012)
}
