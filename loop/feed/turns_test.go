package feed

import (
	"context"
	"testing"
	"testing/synctest"
	"time"
)

// Of two who wait for readings of one probe each is served in turn: one who is served and asks anew at once left the other without any until
// its time was over, and a meter that read all the time was called silent.
func TestWhoWaitsLongestIsServedFirst(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, w := openWire(t, Config{Name: "bench"})
		defer f.Close()
		ctx := t.Context()
		go func() {
			for i := 0; w.later(ctx, 250*time.Millisecond, func() string { return ownText(i, time.Now(), 0.3127) }); i++ {
			}
		}()
		var served []uint64
		for range 200 {
			asked, before, done := time.Now(), uint64(0), make(chan Reading, 1)
			go func() {
				r, err := f.NextAfter(ctx, "mark", asked)
				if err != nil {
					t.Error(err)
				}
				done <- r
			}()
			synctest.Wait()
			for over := false; !over; before++ { // another, who asks anew at once and takes any reading
				r, err := f.NextDarkAfter(ctx, "mark", asked)
				if err != nil {
					t.Fatal(err)
				}
				served = append(served, r.Seq)
				synctest.Wait()
				select {
				case old := <-done:
					over = true
					if before > 1 {
						t.Fatalf("served after %d readings of the other", before)
					}
					served = append(served, old.Seq)
				default:
				}
			}
		}
		seen := map[uint64]bool{}
		for _, n := range served {
			if seen[n] {
				t.Fatalf("reading %d was given out twice", n)
			}
			seen[n] = true
		}
	})
}

// Whoever of them wakes first: a reading is for the one who waits the longest of those whom it serves, and the next one for the other.
func TestAReadingIsForWhoWaitsLongest(t *testing.T) {
	now := time.Now()
	reading := func(began time.Duration) Reading {
		return Reading{Probe: "mark", Time: now.Add(began + 200*time.Millisecond), Integration: 200 * time.Millisecond}
	}
	waits := func(after time.Duration, from uint64) demand {
		return demand{probe: "mark", settled: now.Add(after), over: new(bool), failed: new(error), from: from}
	}
	old, young, late := waits(0, 0), waits(0, 0), waits(time.Second, 0)
	f := &Feed{cursor: map[string]uint64{}, queue: map[string][]demand{"mark": {late, old, young}}, given: map[string]map[uint64]bool{}}
	gets := func(what string, who demand, want uint64, ok bool) {
		t.Helper()
		if i, is := f.turn(who); is != ok || ok && i != want {
			t.Errorf("%s: reading %d, %v; want %d, %v", what, i, is, want, ok)
		}
	}
	f.ring = []Reading{reading(0)}
	gets("the younger, by one reading", young, 0, false)
	gets("who waits for a later one", late, 0, false)
	gets("the older, by one reading", old, 0, true)
	f.ring = append(f.ring, reading(300*time.Millisecond))
	gets("the younger, by two readings", young, 1, true)
	f.give(young, 1) // it woke first
	gets("the older, after the younger was served", old, 0, true)
	f.give(old, 0)
	again := waits(0, f.cursor["mark"])
	f.queue["mark"] = append(f.queue["mark"], again)
	gets("who asks anew", again, 0, false)
	f.ring = append(f.ring, reading(1100*time.Millisecond))
	gets("who asks anew, behind the one who waits for a later one", again, 0, false)
	gets("who waits for a later one, by one", late, 2, true)
}

// A reading that was for one who waits no more, since their time was over, is for the next: they do not wait for another one.
func TestWhatWasForOneWhoIsGoneIsForTheNext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f, w := openWire(t, Config{Name: "bench"})
		defer f.Close()
		ctx := t.Context()
		old := demand{probe: "mark", over: new(bool), failed: new(error)} // has not woken when the reading comes
		f.mu.Lock()
		f.queue["mark"] = append(f.queue["mark"], old)
		f.mu.Unlock()
		done := make(chan time.Time, 1)
		go func() {
			if _, err := f.NextAfter(ctx, "mark", time.Time{}); err != nil {
				t.Error(err)
			}
			done <- time.Now()
		}()
		synctest.Wait()
		w.later(ctx, 250*time.Millisecond, func() string { return ownText(1, time.Now(), 0.3127) })
		synctest.Wait()
		came := time.Now()
		gone, cancel := context.WithCancel(ctx)
		cancel()
		f.mu.Lock()
		f.leaves(old)
		f.mu.Unlock()
		if _, err := f.NextAfter(gone, "mark", came.Add(time.Hour)); err == nil { // leaves at once
			t.Fatal("served a reading of an hour later")
		}
		if at := <-done; !at.Equal(came) {
			t.Errorf("served %v after the reading came", at.Sub(came))
		}
	})
}
