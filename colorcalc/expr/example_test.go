package expr_test

import (
	"errors"
	"fmt"

	"trueup/colorcalc/expr"
)

// An error shows the place.
func ExampleParse() {
	c, _ := expr.Parse("5600K -0.002")
	fmt.Printf("x %.4f, y %.4f\n", c.XY.X, c.XY.Y)

	_, err := expr.Parse("5600K duv green")
	var e *expr.Error
	if errors.As(err, &e) {
		fmt.Println(e.Msg)
		fmt.Println(e.Excerpt())
	}
	// Output:
	// x 0.3302, y 0.3353
	// want a number for Duv
	// 5600K duv green
	//           ^
}
