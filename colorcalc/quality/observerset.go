package quality

import (
	"math"

	"trueup/colorcalc/spectrum"
)

// madeUp are four cameras of our own invention: peaks and full widths of red, green and blue in nm, how much each
// channel sees of what the others see, and where the filter before the sensor cuts the red off.
// They are as broad as cameras are and differ as cameras do; they stand for none.
var madeUp = [...]struct {
	peak, width [3]float64
	leak, cut   float64
}{
	{[3]float64{598, 533, 457}, [3]float64{75, 90, 60}, 0.03, 660},
	{[3]float64{606, 540, 463}, [3]float64{68, 82, 66}, 0.01, 675},
	{[3]float64{590, 526, 451}, [3]float64{82, 99, 54}, 0.06, 652},
	{[3]float64{602, 528, 460}, [3]float64{88, 80, 57}, 0.04, 685},
}

// ObserverSet stands for cameras and eyes that nobody described: four cameras of our own invention, and
// the CIE observers of 2 and 10 degrees. The camera of EBU Tech 3355 has narrow bands and is a poor stand-in for others: it is no part of it.
func ObserverSet() []Observer {
	var all []Observer
	for i, m := range madeUp {
		var c [3]spectrum.Spectrum
		for k := range c {
			s := m.width[k] / (2 * math.Sqrt(2*math.Ln2))
			c[k] = spectrum.Visible5.On(func(nm float64) float64 {
				own := math.Exp(-(nm - m.peak[k]) * (nm - m.peak[k]) / (2 * s * s))
				common := m.leak * math.Exp(-(nm-550)*(nm-550)/(2*75*75))
				return (own + common) / (1 + math.Exp((nm-m.cut)/6)) / (1 + math.Exp((405-nm)/6))
			})
		}
		cam, err := NewCamera(c)
		if err != nil {
			panic("the cameras of this file: " + err.Error()) // never: a test makes them
		}
		all = append(all, cam.Observer("made-up camera "+string(rune('A'+i))))
	}
	return append(all, Eye(spectrum.Deg2), Eye(spectrum.Deg10))
}
