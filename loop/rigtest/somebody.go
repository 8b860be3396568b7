package rigtest

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/stage"
)

// A lamp that is nobody's in the run: somebody lights it at one probe for a while, once or more, and puts it out again. Its moments are drawn for
// the run as a whole, so that it may come and go between two looks at the dark. A light that goes on and off by itself all the time is another scene.
type somebody struct {
	times    int           // it is lit; always where it goes on and off until the run ends, and as long off as on; stays where it is left on; lastly
	from, to time.Duration // how long each time
	share    float64       // of a lamp's light
}

const (
	always = -1 // somebody never stops
	stays  = -2 // somebody lights it once, and leaves it on
	lastly = -3 // as always, from late in a run on that takes long
)

// litBy is one time that it is lit.
type litBy struct {
	from, to time.Duration
	light    colorcalc.XYZ
}

// visits draws when somebody lights it in a run that takes about so long, at one of its probes.
func (s *somebody) visits(r *Rig, lux float64, long time.Duration, d *draws) {
	if s.times == 0 {
		return
	}
	p := r.probes[d.IntN(r.class.probes())]
	warm := stage.White(colorcalc.Kelvin(d.between(2600, 3200)).Mired(), colorcalc.Duv(d.between(-0.004, 0.004))).XYZ(s.share * lux * d.between(0.7, 1.4))
	from := time.Duration(0)
	if s.times == lastly {
		from = 3 * long
	}
	if s.times == always || s.times == lastly {
		for from += d.seconds(5, 20); from < longest*time.Duration(len(r.lamps)); from += d.seconds(s.from.Seconds(), s.to.Seconds()) {
			on := litBy{from, from + d.seconds(s.from.Seconds(), s.to.Seconds()), warm}
			p.litBy, from = append(p.litBy, on), on.to
		}
		return
	}
	if s.times == stays {
		p.litBy = []litBy{{time.Duration(d.between(0.05, 0.75) * float64(long)), math.MaxInt64, warm}}
		return
	}
	for range s.times {
		from += time.Duration(d.between(0.05, 0.75) * float64(long) / float64(s.times))
		on := litBy{from, from + d.seconds(s.from.Seconds(), s.to.Seconds()), warm}
		p.litBy, from = append(p.litBy, on), on.to
	}
}

// somebodys is the light of it at a moment.
func (p *probePlan) somebodys(t time.Duration) (sum colorcalc.XYZ) {
	if i := slices.IndexFunc(p.litBy, func(l litBy) bool { return t >= l.from && t < l.to }); i >= 0 {
		return p.litBy[i].light
	}
	return sum
}
