package session

import (
	"testing"
	"time"

	"trueup/loop/session/core"
)

// What a slow lamp is waited for is the lamp's time, not the meter's: readings that measure its dead time begin at once, and tell nothing of how long
// its light needs.
func TestWhatASlowLampIsWaitedForIsTheLamps(t *testing.T) {
	var s Spending
	s.Take(&Entry{Kind: core.KindRun, Run: &RunInfo{}})
	at := func(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
	arrived := func(when float64) {
		s.Take(&Entry{Kind: core.KindSent, Fixture: "slow", Event: &core.Event{Kind: core.Arrived, At: at(when), When: at(when)}})
	}
	read := func(kind core.Kind, begins float64) {
		r := core.Reading{At: at(begins + 0.15), Integration: at(0.15)}
		s.Take(&Entry{Kind: kind, Fixture: "slow", Reading: &Measured{}, Event: &core.Event{Kind: core.Read, At: at(begins + 0.18), Reading: &r}})
	}
	arrived(1)
	read(core.KindSettle, 1.06)
	read(core.KindSettle, 1.26)
	arrived(3)
	read(core.KindReading, 6.5)
	arrived(8)
	read(core.KindReading, 11.45)
	sum := s.Spent()
	if sum.Settle != 2*at(3.45) {
		t.Errorf("%v is told to be the lamp's, want 2 x 3.45 s: %+v", sum.Settle, sum)
	}
	if off := sum.Total() - at(11.63); off.Abs() > time.Millisecond {
		t.Errorf("the parts add up to %v: %+v", sum.Total(), sum)
	}
}

// A lamp that is watched stands between its readings: that is no time of the meter's, and no run is the faster for another meter. The floor holds it.
func TestTheTimeOfAWatchIsItsOwn(t *testing.T) {
	var s Spending
	s.Take(&Entry{Kind: core.KindRun, Run: &RunInfo{}})
	for i, at := range []time.Duration{time.Second, 3 * time.Second, 8 * time.Second, 8200 * time.Millisecond} {
		r := core.Reading{At: at, Integration: 150 * time.Millisecond}
		s.Take(&Entry{Kind: core.KindReading, Fixture: "key", Reading: &Measured{Awaited: i == 1 || i == 2}, Event: &core.Event{Kind: core.Read, At: at + 30*time.Millisecond, Reading: &r}})
	}
	sum := s.Spent()
	if want := 2*time.Second + 5*time.Second - 2*180*time.Millisecond; sum.Watch != want {
		t.Errorf("watched for %v, want %v: %+v", sum.Watch, want, sum)
	}
	if sum.Total() != 8230*time.Millisecond {
		t.Errorf("the parts add up to %v: %+v", sum.Total(), sum)
	}
	f := Floor{heads: map[int]*core.Unit{}, Ramps: time.Second}
	if least, _ := f.Of(sum); least != time.Second+sum.Watch+4*180*time.Millisecond {
		t.Errorf("the floor is %v", least)
	}
}
