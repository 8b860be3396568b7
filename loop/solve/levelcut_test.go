package solve

import (
	"testing"
	"time"
)

// A level that a lamp does not give, or that its limits do not let it give, keeps no lamp from landing whose colour is right: it was moved by a thousandth after each
// reading, until the readings were spent. Where it has the level it is met.
func TestALevelThatIsNotToBeHadKeepsNoLampFromLanding(t *testing.T) {
	for _, x := range []struct {
		name string
		more float64 // times the most that it gives at this colour
		cap  float64 // of full, that its limits let through
	}{{"beyond its scale", 1.3, 1}, {"beyond its limits", 1.1, 0.9}, {"far beyond", 3, 0.9}, {"cut on its way", 0.5, 0.9}, {"to be had", 0.5, 1}} {
		most, landed, met := 0, 0, 0
		const lamps = 12
		for k := range uint64(lamps) {
			s := sevenSpec(5, 65535)
			l := unit(s, 40+k, 1)
			first, err := New(s, Target{UV: warmWhite, Tol: 0.001}, nil, DefaultOptions())
			if err != nil {
				t.Fatal(err)
			}
			d, _ := play(first, l)
			prior := first.Posterior()
			top := uint32(1)
			for _, c := range d.Drive {
				top = max(top, c)
			}
			gives := (l.light(d.Drive).Y - l.spill.Y*l.lux) * 65535 / float64(top) // at this mix
			m, err := New(s, Target{UV: warmWhite, Tol: 0.001, Y: x.more * gives, TolY: 0.02}, &prior, DefaultOptions())
			if err != nil {
				t.Fatal(err)
			}
			now, n := d.Drive, 0
			at := time.Minute
			var end Decision
			for ; n < 200; n++ {
				if end = m.Next(at); end.Action == Done {
					break
				}
				if end.Action == Move {
					now = capped(end.Drive, x.cap)
				}
				at += 800 * time.Millisecond
				m.Observe(l.read(now, at))
			}
			most = max(most, n)
			if end.Outcome == Landed {
				landed++
			}
			if y := l.light(now).Y; y > 0.95*x.more*gives && y < 1.05*x.more*gives {
				met++
			}
		}
		t.Logf("%s: %d of %d landed, %d at the level, after %d readings at the most", x.name, landed, lamps, met, most)
		if landed < lamps-1 || most > 25 || x.name == "to be had" && met < lamps-1 {
			t.Errorf("%s: %d of %d landed, %d at the level, after %d readings at the most", x.name, landed, lamps, met, most)
		}
	}
}

// capped is a drive as limits let it through, which scale all of it.
func capped(d Drive, most float64) Drive {
	top := 0.0
	for _, c := range d {
		top = max(top, float64(c)/65535)
	}
	if top <= most {
		return d
	}
	out := make(Drive, len(d))
	for i, c := range d {
		out[i] = uint32(float64(c) * most / top)
	}
	return out
}

// Where no level is asked for, a lamp of which more is to be known than usual takes its step on, as ever: only one whose level holds has nothing to gain by it.
func TestWithoutALevelALampThatIsToBeSurerStepsOn(t *testing.T) {
	s, on := sevenSpec(5, 65535), 0
	for k := range uint64(40) {
		l, opt := unit(s, 400+k, 1), DefaultOptions()
		l.sigma, opt.SigmaUV, opt.Sure = 0.0006, 0.0006, 0.999
		m, err := New(s, Target{UV: warmWhite, Tol: 0.001}, nil, opt)
		if err != nil {
			t.Fatal(err)
		}
		now, at := Drive(nil), time.Duration(0)
		for n := 0; n < 100; n++ {
			d := m.Next(at)
			if d.Action == Done {
				break
			}
			if d.P >= opt.Confidence && d.Action == Again && d.Reason == "it looks landed: one more reading to be sure" {
				t.Fatalf("lamp %d waits: %s", k, d.Reason)
			}
			if d.Action == Move {
				if now = d.Drive; d.P >= opt.Confidence {
					on++
				}
			}
			at += 800 * time.Millisecond
			m.Observe(l.read(now, at))
		}
	}
	if on == 0 {
		t.Error("no lamp came to where it could step on")
	}
}
