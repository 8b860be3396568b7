package quality

import (
	"sync"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/table"
)

// observed holds the samples as one observer sees them: sample times
// sensitivity at each wavelength.
type observed struct {
	white weights // the perfect reflector
	ces   [Samples]weights
	dark  weights // the dark skin of the TLCI test colours
}

// darkSkin is the column of the dark skin among the TLCI test colours.
const darkSkin = 0

func observe(o *[3]light) *observed {
	out := &observed{}
	for i := range out.white {
		for c := range 3 {
			out.white[i][c] = o[c][i]
		}
	}
	ces, skin := table.Must(ces99), table.Must(tlciSamples)
	for k := range out.ces {
		weigh(&out.ces[k], ces, k, o)
	}
	weigh(&out.dark, skin, darkSkin, o)
	return out
}

var cesSamples2 = sync.OnceValue(func() *observed { return observe(&shared().obs2) })

// seen is what an observer sees of both lights: the samples, then the dark skin,
// then the white.
type seen struct{ test, ref [Samples + 2]colorcalc.XYZ }

const seenDark, seenWhite = Samples, Samples + 1

func (o *observed) see(test, ref *light) *seen {
	s := &seen{}
	for k := range o.ces {
		s.test[k], s.ref[k] = o.ces[k].sums(test, ref)
	}
	s.test[seenDark], s.ref[seenDark] = o.dark.sums(test, ref)
	s.test[seenWhite], s.ref[seenWhite] = o.white.sums(test, ref)
	return s
}
