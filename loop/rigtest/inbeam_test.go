package rigtest

import (
	"math/rand/v2"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session/core"
)

// inBeam is people who stand between a probe's lamps and its meter, one after another, each for some readings.
type inBeam struct {
	r        *rand.Rand
	from, to time.Duration
	takes    float64      // of the lamps' light; of the room's, which comes from everywhere, a third of that
	tint     colorcalc.UV // of what is left
}

// through is what reaches the meter of the light of the lamps and of the room at a moment.
func (s *inBeam) through(lamps, room colorcalc.XYZ, t time.Duration) colorcalc.XYZ {
	for t >= s.to {
		s.from = s.to + time.Duration((6+12*s.r.Float64())*float64(time.Second))
		s.to = s.from + time.Duration((1+3*s.r.Float64())*float64(time.Second))
		s.takes = 0.3 + 0.6*s.r.Float64()
		s.tint = colorcalc.UV{U: 0.012 * (s.r.Float64() - 0.5), V: 0.012 * (s.r.Float64() - 0.5)}
	}
	if t < s.from {
		return lamps.Add(room)
	}
	room = room.Scale(1 - s.takes/3)
	if !(lamps.Y > 0) {
		return room
	}
	uv := lamps.UV()
	uv.U, uv.V = uv.U+s.takes*s.tint.U, uv.V+s.takes*s.tint.V
	return uv.XYZ(lamps.Y * (1 - s.takes)).Add(room)
}

// Somebody who stands in a beam for one to four seconds takes a third to nine tenths of a lamp's light for several readings in a row, which agree with one another: they are
// not the lamp's. Of these lamps six in a hundred were claimed beyond 1.5 times the tolerance in a dark room, and a lamp took a third longer.
func TestSomebodyStandsInTheBeam(t *testing.T) {
	for _, c := range []Class{{Name: "dark"}, {Name: "ambient 0.15", Background: 0.15}} {
		lamps, missed, beyond, seconds := 0, 0, 0, 0.0
		for n := range 25 {
			r := c.Rig(4802, n)
			j, w := r.judge(), r.world(newCore(t, r.Config))
			w.Heard = func(e core.Entry) { j.hear(e, w) }
			for i, p := range r.probes {
				if p.reference {
					continue
				}
				people := &inBeam{r: rand.New(rand.NewPCG(uint64(n), uint64(i)))}
				all := w.Probes[p.name]
				open := all.Light
				all.Light = func(d time.Duration) colorcalc.XYZ {
					room := p.light.At(w.Now())
					return people.through(open(d).Sub(room), room, w.Now())
				}
			}
			w.run(longest * time.Duration(len(r.lamps)))
			run := j.sum(w)
			if run.Err != nil {
				t.Fatal(run.Err)
			}
			seconds += run.Seconds
			for i := range run.Lamps {
				l := &run.Lamps[i]
				switch {
				case !l.Reachable:
					continue
				case !l.Outcome.Landed():
					missed++
				case l.Beyond():
					beyond++
				}
				lamps++
			}
		}
		t.Logf("%s: of %d lamps %d are not landed, %d are landed and beyond 1.5 tolerances, %.1f s a lamp", c.Name, lamps, missed, beyond, seconds/float64(lamps))
		if missed*100 > lamps || beyond*100 > lamps {
			t.Errorf("%s: of %d lamps %d are not landed, %d are landed and beyond 1.5 tolerances", c.Name, lamps, missed, beyond)
		}
	}
}
