package feed

import (
	"errors"

	"trueup/colorcalc"
)

func white(k, d float64) (colorcalc.XY, error) { return colorcalc.XY{}, errors.New("no CCT yet") }

func (s *Spectrum) xyz() (colorcalc.XYZ, error) { return colorcalc.XYZ{}, errNoLight }
