package rigtest

import (
	"math"
	"testing"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session/core"
)

// playedWith plays a rig on what earlier runs found of its types, and tells what it found, and how long the readings took
// that served a dead time alone.
func playedWith(t *testing.T, r *Rig, known core.TypeTimes) (run Run, found core.TypeTimes, measuring time.Duration, readings int) {
	t.Helper()
	r.Config.DeadTimes, r.Config.Steadiness = known.DeadTimes, known.Steadiness
	c := newCore(t, r.Config)
	judge := &judge{rig: r, lamps: map[string]*Lamp{}, readings: map[string]int{}, light: map[string]colorcalc.XYZ{}}
	w := r.world(c)
	var last time.Duration
	w.Heard = func(e core.Entry) {
		judge.hear(e, w)
		if e.Kind == core.KindSettle && e.Reading != nil && !e.Glimpse() {
			measuring += w.Now() - last
			readings++
		}
		last = w.Now()
	}
	w.run(longest * time.Duration(len(r.lamps)))
	return judge.sum(w), c.TypeTimes(), measuring, readings
}

// class is the scene of a name.
func class(t *testing.T, name string) *Class {
	t.Helper()
	for _, c := range Classes() {
		if c.Name == name {
			return &c
		}
	}
	t.Fatalf("there is no scene %q", name)
	return nil
}

// A run that knows dead times from an earlier one does not measure them, and takes no more time.
func TestTheNextRunMeasuresNoDeadTime(t *testing.T) {
	c := class(t, "still, dark room")
	var saved, took time.Duration
	before, after := 0, 0
	const runs = 30 // single ones differ by more than is looked for
	for n := range runs {
		first, found, measuring, readings := playedWith(t, c.Rig(11, n), core.TypeTimes{})
		if len(found.DeadTimes) == 0 || readings < len(found.DeadTimes) {
			t.Fatalf("rig %d: %d dead times from %d readings", n, len(found.DeadTimes), readings)
		}
		second, _, looking, looks := playedWith(t, c.Rig(11, n), found)
		before, after = before+readings, after+looks
		saved += time.Duration((first.Seconds - second.Seconds) * float64(time.Second))
		took += measuring - looking
	}
	if after > before { // a look takes one reading, a measurement one or three, and one that the visit goes on from; an odd reading may have one measured again
		t.Errorf("the second runs took %d readings for dead times, the first %d", after, before)
	}
	if took < -100*time.Millisecond*runs || saved < -time.Second*runs/2 { // a light that was measured is read next, as one that was looked at is: little is left to save
		t.Errorf("the second runs were %v shorter, where measuring took %v more than looking", saved, took)
	}
}

// Slow lamps are read while they are waited for: their kept dead time becomes better, and is not taken for wrong.
func TestTheDeadTimeOfSlowLampsStaysKnown(t *testing.T) {
	c := class(t, "slow lamps, 1 s")
	var runs []Run
	var off, later float64
	for n := range 4 {
		_, found, _, _ := playedWith(t, c.Rig(11, n), core.TypeTimes{})
		run, again, _, _ := playedWith(t, c.Rig(11, n), found)
		for key, d := range found.DeadTimes {
			off += math.Abs(d.Seconds() - 4)
			if better, ok := again.DeadTimes[key]; ok {
				d = better
			}
			later += math.Abs(d.Seconds() - 4)
		}
		runs = append(runs, run)
	}
	if s := Sum(c, runs); s.Landed < 0.95 || s.False > 0.01 || s.Failed > 0 {
		t.Errorf("landed %.2f, false %.3f", s.Landed, s.False)
	}
	if later > off+1 {
		t.Errorf("four time constants are 4 s: dead times were off by %.2f s together, and by %.2f s after another run", off, later)
	}
}

// A dead time that no longer holds is noticed at the first lamp that fades in, and measured anew.
func TestADeadTimeThatNoLongerHoldsIsMeasuredAnew(t *testing.T) {
	for _, name := range []string{"slow lamps, 1 s", "slow lamps, 2 s"} {
		c := class(t, name)
		var runs []Run
		for n := range 4 {
			r := c.Rig(12, n)
			short := core.TypeTimes{DeadTimes: map[string]time.Duration{}}
			for i := range r.Config.Units {
				if u := &r.Config.Units[i]; !u.SettleKnown && u.SettleKey() != "" {
					short.DeadTimes[u.SettleKey()] = 300 * time.Millisecond
				}
			}
			run, found, _, _ := playedWith(t, r, short)
			for key := range short.DeadTimes {
				if d := found.DeadTimes[key]; d < 2*time.Second {
					t.Errorf("%s, rig %d: %s is waited for %v", name, n, key, d)
				}
			}
			runs = append(runs, run)
		}
		if s := Sum(c, runs); s.Landed < 0.9 || s.False > 0.021 || s.Failed > 0 {
			t.Errorf("%s: landed %.2f, false %.3f", name, s.Landed, s.False)
		}
	}
}

// A type that was found restless is watched in the next run without being asked for, all its lamps; one that was found steady is not
// watched again.
func TestWhatWasWatchedIsKnownInTheNextRun(t *testing.T) {
	c := class(t, "lamps that calibrate themselves, watched")
	var blind, knowing []Run
	restless := 0
	for n := range 4 {
		_, found, _, _ := playedWith(t, c.Rig(13, n), core.TypeTimes{})
		for _, s := range found.Steadiness {
			if s.Restless() {
				restless++
			}
		}
		later := *c
		later.Watch = 0
		run, _, _, _ := playedWith(t, later.Rig(13, n), core.TypeTimes{})
		blind = append(blind, run)
		run, _, _, _ = playedWith(t, later.Rig(13, n), found)
		knowing = append(knowing, run)
	}
	a, b := Sum(c, blind), Sum(c, knowing)
	t.Logf("false of those that know nothing %.3f, of those that know %.3f", a.False, b.False)
	if restless < 3 {
		t.Errorf("%d types are known as restless", restless)
	}
	if a.False < 0.08 || b.False > a.False/3 || b.Landed < 0.9 {
		t.Errorf("beyond 1.5 times the tolerance: %.1f %% where nothing is known, %.1f %% where it is, %.1f %% landed", 100*a.False, 100*b.False, 100*b.Landed)
	}
}

// Sound lamps warm while they are watched, by a tolerance and more: next to none of them is said to change its colour by itself, not by the watched
// lamps of a type together either.
func TestLampsThatWarmAreNotAccused(t *testing.T) {
	var accused []string
	for _, name := range []string{"still, watched", "reference warms, 24 lamps", "slow lamps, 1 s", "hysteresis at low codes"} {
		c := class(t, name)
		c.Watch = watched
		for n := range 4 {
			run, found, _, _ := playedWith(t, c.Rig(14, n), core.TypeTimes{})
			if len(found.Steadiness) < 3 {
				t.Errorf("%s, rig %d: %d types were watched", name, n, len(found.Steadiness))
			}
			for _, l := range run.Lamps {
				if l.Outcome != nil && accusation(l.Outcome) == "sets itself" {
					accused = append(accused, name+", "+l.Name+": "+l.Outcome.Reason)
				}
			}
		}
	}
	if len(accused) > 2 { // of some 240
		t.Errorf("%q", accused)
	}
}

// Lamps that leap by less than would be told of one alone are found by what the watched ones of a type show together.
func TestSmallLeapsOfSeveralLampsAreFoundTogether(t *testing.T) {
	c := class(t, "24 lamps of one type that calibrate themselves a little, watched")
	found := 0
	for n := range 12 {
		_, known, _, _ := playedWith(t, c.Rig(14, n), core.TypeTimes{})
		for _, s := range known.Steadiness {
			if s.Restless() {
				found++
			}
		}
	}
	t.Logf("%d of 12 types", found)
	if found < 2 {
		t.Errorf("%d of 12 types that set themselves anew by little were found", found)
	}
}
