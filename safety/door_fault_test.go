package safety_test

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"go.uber.org/goleak"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/safety"
	"trueup/safety/check"
)

// hall is a door in virtual time: nothing is sent, every frame is read by the
// second opinion in the moment it is made.
type hall struct {
	*safety.Door
	t    *testing.T
	desk *desk
	c    *check.Checker
	rest safety.Look
	stop func() // ends the context that the door was opened with

	mu     sync.Mutex
	frames int
	last   [512]byte
	light  []float64 // code of the dimmer in every frame, 0..1
	tap    func()
	deaf   bool // frames are made, and nobody hears them
}

// inTheHall runs f with an open door over one RGBW head, in a bubble of virtual
// time. The head is found at half light on the desk, or, without a desk, starts
// there. After f the door has to be closed, no limit broken and no goroutine
// left.
func inTheHall(t *testing.T, overlay bool, f func(ctx context.Context, h *hall)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
		found := new([512]byte)
		copy(found[:], []byte{180, 0, 128, 0, 128, 0, 128, 0, 128, 0, 255, 7})
		cfg := safety.Config{Limits: safety.DefaultLimits(), Heads: []safety.Head{rgbw(&layout{}, "wash")}}
		h := &hall{t: t, rest: safety.Look{1: found}}
		if overlay {
			h.desk = newDesk()
			*h.desk.of(1) = *found
			cfg.Desk = h.desk
		} else {
			cfg.Start = h.rest
		}
		h.c = check.New(cfg)
		var err error
		asked, stop := context.WithCancel(t.Context())
		defer stop()
		h.stop = stop
		if h.Door, err = safety.Open(asked, safety.DoorConfig{Governor: cfg, Silent: true, Tap: h.see}); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		f(ctx, h)
		select {
		case <-h.Done():
		default:
			t.Error("the door is still open")
			h.Hold("the test is over")
			<-h.Done()
		}
		for _, v := range h.c.Violations() {
			t.Error(v)
		}
	})
}

// see is the tap.
func (h *hall) see(now time.Time, u dmx.Universe, levels []byte) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if stage, _ := h.Governor().Stage(); stage != safety.Running {
		h.c.Ending()
	}
	var base []byte
	if h.desk != nil {
		base = h.desk.of(u)[:]
	}
	if !h.deaf {
		h.c.Frame(now, u, levels, base)
	}
	h.frames++
	copy(h.last[:], levels)
	h.light = append(h.light, float64(levels[0])/255)
	if h.tap != nil {
		h.tap()
	}
}

// shown is the head's part of the last frame, and how many there were.
func (h *hall) shown() (look []byte, frames int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	return bytes.Clone(h.last[:12]), h.frames
}

// cut takes the network away, or gives it back.
func (h *hall) cut(down bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.deaf = down
	h.Governor().Cut(down)
}

// full wishes the head to full, and waits until it is there.
func (h *hall) full(ctx context.Context) {
	h.t.Helper()
	if err := h.Wish(0, []uint32{65535, 65535, 65535, 65535, 65535}); err != nil {
		h.t.Fatal(err)
	}
	if _, err := h.WaitArrived(ctx, 0); err != nil {
		h.t.Fatal(err)
	}
	synctest.Wait() // who waits may be told before the test has seen the frame
}

// handedBack fails unless the door closed within so long, with the head on the
// look it was found with, for the reason given, and by a fade: on its way from full
// the dimmer was seen at a dozen levels at least.
func (h *hall) handedBack(within time.Duration, reason string) {
	h.t.Helper()
	from := time.Now()
	select {
	case <-h.Done():
	case <-time.After(within):
		s, why := h.Governor().Stage()
		h.t.Fatalf("not handed back within %v: %v, %q", within, s, why)
	}
	if took := time.Since(from); took < 300*time.Millisecond {
		h.t.Errorf("handed back in %v: that is a cut", took)
	}
	if s, why := h.Governor().Stage(); s != safety.Done || !strings.Contains(why, reason) {
		h.t.Errorf("ended as %v, because %q; want %q", s, why, reason)
	}
	look, _ := h.shown()
	if !bytes.Equal(look, h.rest[1][:12]) {
		h.t.Errorf("left at %v, found at %v", look, h.rest[1][:12])
	}
	levels := map[float64]bool{}
	h.mu.Lock()
	for _, l := range h.light {
		levels[l] = true
	}
	h.mu.Unlock()
	if len(levels) < 12 {
		h.t.Errorf("only %d levels were seen", len(levels))
	}
}

// both runs a fault in own mode and beside a desk.
func both(t *testing.T, f func(t *testing.T, overlay bool)) {
	for name, overlay := range map[string]bool{"own": false, "overlay": true} {
		t.Run(name, func(t *testing.T) { f(t, overlay) })
	}
}

// A loop that hangs: nobody calls anything, and the lamps are handed back.
func TestALoopThatHangsLosesTheLamps(t *testing.T) {
	both(t, func(t *testing.T, overlay bool) {
		inTheHall(t, overlay, func(ctx context.Context, h *hall) {
			from := time.Now() // the last thing the run did is the wish
			h.full(ctx)
			for s, _ := h.Governor().Stage(); s == safety.Running; s, _ = h.Governor().Stage() {
				<-h.Governor().Changed()
			}
			if took := time.Since(from); took < 4900*time.Millisecond || took > 5200*time.Millisecond {
				t.Errorf("noticed after %v, the limit is %v", took, safety.DefaultLimits().Watchdog)
			}
			h.handedBack(10*time.Second, "watchdog")
		})
	})
}

// A loop that goes on finishing steps keeps the lamps, however long it only waits.
func TestALoopThatLivesKeepsTheLamps(t *testing.T) {
	inTheHall(t, false, func(ctx context.Context, h *hall) {
		h.full(ctx)
		for range 60 {
			time.Sleep(time.Second)
			h.Alive()
		}
		if s, why := h.Governor().Stage(); s != safety.Running {
			t.Errorf("%v, because %q", s, why)
		}
		h.Release("enough")
		h.handedBack(10*time.Second, "enough")
	})
}

// A panic in the loop becomes an error, and the lamps are handed back: whatever
// was thrown.
func TestALoopThatPanicsLosesTheLamps(t *testing.T) {
	var nothing *hall
	for name, fault := range map[string]func(){
		"words":   func() { panic("slip") },
		"error":   func() { panic(errors.New("slip")) },
		"runtime": func() { _ = nothing.frames },
		"index":   func() { var none []int; _ = none[len(none)] },
	} {
		t.Run(name, func(t *testing.T) {
			both(t, func(t *testing.T, overlay bool) {
				inTheHall(t, overlay, func(ctx context.Context, h *hall) {
					h.full(ctx)
					err := h.Guard(func() error { fault(); return nil })
					var p *safety.PanicError
					if !errors.As(err, &p) || len(p.Stack) == 0 {
						t.Errorf("%v", err)
					}
					h.handedBack(10*time.Second, "fault in the program")
				})
			})
		})
	}
}

// An error of the loop, such as a full disk, is no panic: it comes back as it is.
func TestAnErrorOfTheLoopComesBack(t *testing.T) {
	full := errors.New("no space left on device")
	inTheHall(t, false, func(ctx context.Context, h *hall) {
		h.full(ctx)
		if err := h.Guard(func() error { return full }); err != full {
			t.Errorf("%v", err)
		}
		h.Release(full.Error())
		h.handedBack(10*time.Second, "no space left")
	})
}

// What watches the frames may fail, the frames may not: the lamps are handed back.
func TestAWatcherThatPanicsEndsTheRunGently(t *testing.T) {
	inTheHall(t, true, func(ctx context.Context, h *hall) {
		h.full(ctx)
		before := h.Sent(0)
		h.mu.Lock()
		h.tap = func() { panic("watcher") }
		h.mu.Unlock()
		<-h.Done()
		if _, why := h.Governor().Stage(); !strings.Contains(why, "watcher") {
			t.Errorf("ended because %q", why)
		}
		if after := h.Sent(0); after[0] >= before[0] || after[0] != 180<<8 {
			t.Errorf("left at %v, was at %v", after, before)
		}
	})
}

// A panic in the governor itself keeps that head where it stands, and releases
// the run; it never takes the process with it.
func TestAGovernorThatPanicsHoldsTheHead(t *testing.T) {
	for _, fault := range []string{"panic", "panic at rest"} {
		t.Run(fault, func(t *testing.T) {
			both(t, func(t *testing.T, overlay bool) {
				inTheHall(t, overlay, func(ctx context.Context, h *hall) {
					h.full(ctx)
					before, _ := h.shown()
					h.Governor().Break(fault)
					<-h.Done()
					if look, _ := h.shown(); !bytes.Equal(look, before) {
						t.Errorf("moved from %v to %v", before, look)
					}
					if why := h.Governor().Held(0); !strings.Contains(why, "fault") {
						t.Errorf("held because %q", why)
					}
				})
			})
		})
	}
}

// The person who started it ends it: by the context, by Release, twice, in the
// middle of a ramp.
func TestEveryStopIsAFade(t *testing.T) {
	both(t, func(t *testing.T, overlay bool) {
		t.Run("release twice", func(t *testing.T) {
			inTheHall(t, overlay, func(ctx context.Context, h *hall) {
				h.full(ctx)
				h.Release("first")
				h.Release("second")
				h.handedBack(10*time.Second, "first")
			})
		})
		t.Run("context", func(t *testing.T) {
			inTheHall(t, overlay, func(ctx context.Context, h *hall) {
				h.full(ctx)
				h.stop()
				h.handedBack(10*time.Second, "stopped")
			})
		})
		t.Run("in the middle of a ramp", func(t *testing.T) {
			inTheHall(t, overlay, func(ctx context.Context, h *hall) {
				if err := h.Wish(0, []uint32{65535, 65535, 65535, 65535, 65535}); err != nil {
					t.Fatal(err)
				}
				time.Sleep(400 * time.Millisecond)
				h.Release("half way")
				h.handedBack(10*time.Second, "half way")
			})
		})
		t.Run("close", func(t *testing.T) {
			inTheHall(t, overlay, func(ctx context.Context, h *hall) {
				h.full(ctx)
				if err := h.Close(); err != nil || h.Err() != nil {
					t.Errorf("%v, %v", err, h.Err())
				}
				h.mu.Lock()
				defer h.mu.Unlock()
				if got := h.last[:12]; !bytes.Equal(got, h.rest[1][:12]) {
					t.Errorf("left at %v", got)
				}
			})
		})
	})
}

// Hold leaves levels as they are, at once, also in the middle of a release.
func TestHoldLeavesAtOnce(t *testing.T) {
	both(t, func(t *testing.T, overlay bool) {
		for name, releasing := range map[string]bool{"running": false, "releasing": true} {
			t.Run(name, func(t *testing.T) {
				inTheHall(t, overlay, func(ctx context.Context, h *hall) {
					h.full(ctx)
					if releasing {
						h.Release("the end")
						time.Sleep(200 * time.Millisecond)
					}
					before, n := h.shown()
					h.Hold("now")
					asked := time.Now()
					<-h.Done()
					if took := time.Since(asked); took > 100*time.Millisecond {
						t.Errorf("took %v", took)
					}
					after, m := h.shown()
					if !bytes.Equal(before, after) || m > n+3 {
						t.Errorf("went on from %v to %v in %d frames", before, after, m-n)
					}
					if bytes.Equal(after, h.rest[1][:12]) {
						t.Error("it stands where it was found: this test proves nothing")
					}
				})
			})
		}
	})
}

// Who waits for a head is told when the wait is over, whatever ends it.
func TestAWaitEndsWithTheRun(t *testing.T) {
	for name, end := range map[string]struct {
		do   func(h *hall, cancel func())
		want error
	}{
		"context": {func(_ *hall, cancel func()) { cancel() }, context.Canceled},
		"release": {func(h *hall, _ func()) { h.Release("the end") }, safety.ErrReleased},
		"hold":    {func(h *hall, _ func()) { h.Hold("now") }, safety.ErrReleased},
		"fault":   {func(h *hall, _ func()) { h.Governor().Break("panic") }, safety.ErrHeld},
	} {
		t.Run(name, func(t *testing.T) {
			inTheHall(t, false, func(ctx context.Context, h *hall) {
				ctx, cancel := context.WithCancel(ctx)
				defer cancel()
				if err := h.Wish(0, []uint32{0, 0, 0, 0, 0}); err != nil {
					t.Fatal(err)
				}
				time.AfterFunc(100*time.Millisecond, func() { end.do(h, cancel) })
				if _, err := h.WaitArrived(ctx, 0); !errors.Is(err, end.want) {
					t.Errorf("%v, want %v", err, end.want)
				}
				h.Release("the test is over")
				<-h.Done()
			})
		})
	}
}

// The desk goes silent in a run: its last look is held, and so are the lamps in
// the end, until it is back. Nobody is left in the dark by a desk that restarts.
func TestADeskThatDiesIsWaitedFor(t *testing.T) {
	for name, state := range map[string]sacn.BaseState{"lost": sacn.BaseLost, "terminated": sacn.BaseTerminated} {
		t.Run(name, func(t *testing.T) {
			inTheHall(t, true, func(ctx context.Context, h *hall) {
				h.full(ctx)
				h.desk.become(state)
				time.Sleep(3 * time.Second)
				if look, _ := h.shown(); look[0] != 255 {
					t.Errorf("the lamp was taken to %v", look)
				}
				h.Alive()
				h.Release("the end")
				time.Sleep(time.Minute)
				if s, _ := h.Governor().Stage(); s != safety.Waiting || h.Waits() == "" {
					t.Errorf("%v, waits %q", s, h.Waits())
				}
				if look, _ := h.shown(); !bytes.Equal(look, h.rest[1][:12]) {
					t.Errorf("waits at %v, the desk had %v", look, h.rest[1][:12])
				}
				h.desk.become(sacn.BaseLive)
				time.Sleep(time.Second)
			})
		})
	}
	t.Run("for good", func(t *testing.T) {
		inTheHall(t, true, func(ctx context.Context, h *hall) {
			h.full(ctx)
			h.desk.become(sacn.BaseLost)
			h.Release("the end")
			time.Sleep(time.Minute)
			h.Hold("left")
			time.Sleep(time.Second)
		})
	})
	t.Run("while handing back", func(t *testing.T) {
		inTheHall(t, true, func(ctx context.Context, h *hall) {
			h.full(ctx)
			h.Release("the end")
			time.Sleep(200 * time.Millisecond)
			h.desk.become(sacn.BaseLost)
			time.Sleep(time.Minute)
			if s, _ := h.Governor().Stage(); s != safety.Waiting {
				t.Errorf("%v", s)
			}
			h.desk.become(sacn.BaseLive)
			time.Sleep(time.Second)
		})
	})
}

// Every way out is down for a while in the middle of a ramp: nothing moves, and
// afterwards it goes on from where the last packet left it; for longer than
// receivers wait, the run is handed back. One story in all its variants, told once.
func TestANetworkThatIsGoneStopsTheRamp(t *testing.T) {
	both(t, func(t *testing.T, overlay bool) {
		for _, gone := range []time.Duration{500 * time.Millisecond, 2 * time.Second, 4 * time.Second, time.Minute} {
			t.Run(gone.String(), func(t *testing.T) {
				inTheHall(t, overlay, func(ctx context.Context, h *hall) {
					if err := h.Wish(0, []uint32{65535, 65535, 65535, 65535, 65535}); err != nil {
						t.Fatal(err)
					}
					time.Sleep(400 * time.Millisecond)
					h.cut(true)
					time.Sleep(50 * time.Millisecond)
					before, _ := h.shown()
					for end := time.Now().Add(gone); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
						h.Alive()
					}
					if after, _ := h.shown(); !bytes.Equal(before, after) {
						t.Errorf("moved from %v to %v while nobody heard it", before, after)
					}
					h.cut(false)
					_, err := h.WaitArrived(ctx, 0)
					if gone < safety.LostAfter {
						if err != nil {
							t.Error(err)
						}
						h.Release("the end")
					} else if !errors.Is(err, safety.ErrReleased) {
						t.Errorf("%v, want the run handed back", err)
					}
					<-h.Done()
					if look, _ := h.shown(); !bytes.Equal(look, h.rest[1][:12]) {
						t.Errorf("left at %v, found at %v", look, h.rest[1][:12])
					}
				})
			})
		}
		t.Run("in the end", func(t *testing.T) {
			inTheHall(t, overlay, func(ctx context.Context, h *hall) {
				h.full(ctx)
				h.cut(true)
				h.Release("the end")
				time.Sleep(time.Second) // nobody hears a ramp: it is over
			})
		})
	})
}

// The laptop sleeps for an hour, or its clock is set, in the middle of a ramp or
// of the hand-over: light never jumps, and a run that receivers have given up is
// handed back. One story in all its variants, told once.
func TestAClockThatJumpsMovesNoLight(t *testing.T) {
	for name, jump := range map[string]time.Duration{"an hour ahead": time.Hour, "an hour back": -time.Hour, "three seconds ahead": 3 * time.Second, "two seconds ahead": 2 * time.Second} {
		for _, overlay := range []bool{false, true} {
			for _, ending := range []bool{false, true} {
				found := new([512]byte)
				copy(found[:], []byte{180, 0, 128, 0, 128, 0, 128, 0, 128, 0, 255, 7})
				cfg := safety.Config{Limits: safety.DefaultLimits(), Heads: []safety.Head{rgbw(&layout{}, "wash")}}
				if overlay {
					d := newDesk()
					*d.of(1) = *found
					cfg.Desk = d
				} else {
					cfg.Start = safety.Look{1: found}
				}
				b := newBench(t, cfg)
				b.step(0)
				b.wish(0, 65535, 65535, 65535, 65535, 65535)
				if ending {
					b.until(20*time.Second, b.arrived(0))
					b.g.Release("the end")
				}
				b.run(300 * time.Millisecond)
				before := append([]byte(nil), b.frame[1][:12]...)
				b.step(jump)
				// One frame may make up for MaxStep at most: of the dimmer's light that is
				// a fortieth.
				// Where receivers have gone back to the desk in the meantime, the desk's
				// look is what stands, and what goes out.
				if jump > safety.LostAfter && overlay {
					copy(before, found[:])
				}
				if d := int(b.frame[1][0]) - int(before[0]); d > 8 || d < -8 {
					t.Errorf("%s, overlay %v, ending %v: the dimmer jumped by %d", name, overlay, ending, d)
				}
				s, why := b.g.Stage()
				if lost := jump > safety.LostAfter; lost != (s != safety.Running) && !ending {
					t.Errorf("%s: %v, %q", name, s, why)
				}
				b.g.Release("the end")
				b.until(30*time.Second, b.done)
				b.clean()
				if !bytes.Equal(b.frame[1][:12], found[:12]) {
					t.Errorf("%s: left at %v", name, b.frame[1][:12])
				}
			}
		}
	}
}
