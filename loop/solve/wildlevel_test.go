package solve

import (
	"testing"
	"time"
)

// One reading of a level that is not there, of the right colour, has no sound lamp called exchanged: an accusation stands without any one of its readings.
func TestOneWildLevelTellsNoExchange(t *testing.T) {
	for _, times := range []float64{5, 60} {
		for wild := range 3 {
			held := 0
			for k := range uint64(60) {
				l := unit(sevenSpec(4, 65535), 19100+k, 1)
				d, _ := playBy(start(t, sevenSpec(4, 65535), warmWhite, nil), func(n int, d Drive, at time.Duration) Reading {
					r := l.read(d, at)
					if n == wild {
						r.Y *= times
					}
					return r
				})
				if d.Cause == Swapped {
					held++
				}
			}
			if held > 0 {
				t.Errorf("reading %d, %g times too bright: %d of 60 lamps are called exchanged", wild+1, times, held)
			}
		}
	}
}

// Nor is a sound lamp called anything else for it: the first reading alone sets the scale of all levels, and where it is wild the others seem to lack an emitter.
func TestOneWildLevelAccusesNobody(t *testing.T) {
	for emitters := 3; emitters <= 6; emitters++ {
		for _, times := range []float64{0.1, 0.3, 3, 5, 60} {
			accused := map[Cause]int{}
			for k := range uint64(40) {
				wild := int(k % 3)
				l := unit(sevenSpec(emitters, 65535), 29100+k, 1)
				d, _ := playBy(start(t, sevenSpec(emitters, 65535), warmWhite, nil), func(n int, d Drive, at time.Duration) Reading {
					r := l.read(d, at)
					if n == wild {
						r.Y *= times
					}
					return r
				})
				accused[d.Cause]++
			}
			delete(accused, NoCause)
			if len(accused) > 0 {
				t.Errorf("%d emitters, one reading of %g times its level: of 40 sound lamps are accused %v", emitters, times, accused)
			}
		}
	}
}
