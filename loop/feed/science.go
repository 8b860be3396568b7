package feed

import (
	"trueup/colorcalc"
)

func (s *Spectrum) xyz() (colorcalc.XYZ, error) { return colorcalc.XYZ{}, errNoLight }
