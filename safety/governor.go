package safety

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"
	"time"

	"trueup/dmx"
	"trueup/dmx/sacn"
)

// Governor decides what the wire gets. It implements [sacn.Frames]. All methods
// may be called from any goroutine; none blocks for longer than a frame's work.
type Governor struct {
	mu      sync.Mutex
	limits  Limits
	desk    Desk
	unis    map[dmx.Universe]*universe
	heads   []*head
	guard   guards
	waiting *head // for the guard, the longest

	clock boundedClock  // of all universes together
	time  time.Duration // never ahead of real time
	quiet time.Duration // since the run finished a step

	strobe     Hertz // flash rates on the wire, sum over all heads
	strobeHigh Hertz // what it was until strobeTill
	strobeTill time.Duration

	stage  Stage
	reason string
	ending time.Duration // since the release
	cut    bool
	held   int // frames in which the flash guard held a head back

	changed chan struct{}
}

var _ sacn.Frames = (*Governor)(nil)

// Stage is how far a run's end has come.
type Stage uint8

const (
	Running   Stage = iota // wishes are taken
	Releasing              // ramping to the desk's look, or to the rest look
	Waiting                // there, but the desk is gone: its last look is kept alive
	Done                   // nothing of ours is left: the stream may end
)

func (s Stage) String() string {
	switch s {
	case Running:
		return "running"
	case Releasing:
		return "handing back"
	case Waiting:
		return "holding the desk's last look until the desk is back"
	case Done:
		return "handed back"
	}
	return "unknown"
}

// Errors of Wish and of waiting.
var (
	ErrReleased = errors.New("the fixtures are being handed back")
	ErrAloft    = errors.New("people are aloft and the head would lose too much light")
)

// Wish asks for codes of a head's movable slots, in the order of Head.Slots.
// The wire gets there as fast as the limits allow, on a straight line in light, and
// ends on exactly these codes unless a cap bites: see [Governor.Effective].
// A newer wish takes the place of an older one.
func (g *Governor) Wish(i int, codes []uint32) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	h, err := g.head(i)
	if err != nil {
		return err
	}
	if g.stage != Running {
		return fmt.Errorf("head %q: %w (%s)", h.spec.Name, ErrReleased, g.reason)
	}
	if len(codes) != len(h.axes) {
		return fmt.Errorf("head %q: %d codes wished, it has %d movable slots", h.spec.Name, len(codes), len(h.axes))
	}
	for j, c := range codes {
		if r := h.axes[j].rule; c > r.Max {
			return fmt.Errorf("head %q, %q: code %d is above %d", h.spec.Name, r.Name, c, r.Max)
		}
	}
	var few [16]uint32
	goal := few[:]
	if len(codes) > len(few) {
		goal = make([]uint32, len(codes))
	}
	goal = goal[:len(codes)]
	capped := h.limit(codes, goal)
	if err := g.strobes(h, codes, goal); err != nil {
		return fmt.Errorf("head %q: %w", h.spec.Name, err)
	}
	if g.limits.PeopleAloft && h.taken && h.lightOf(goal) < g.limits.KeepLight*h.base {
		return fmt.Errorf("head %q: %w: %.3g of full wished, %.3g at the start", h.spec.Name, ErrAloft, h.lightOf(goal), h.base)
	}
	copy(h.wish, codes)
	if h.calm {
		h.later, h.held = true, ""
		return nil
	}
	h.capped = capped
	g.quiet = 0
	same := h.taken && (h.moving || h.arrived) && !h.fresh && h.held == ""
	for j := range goal {
		same = same && h.goal[j] == goal[j]
	}
	if same {
		return nil // under way, or there
	}
	copy(h.goal, goal)
	h.fresh, h.arrived, h.held = true, false, ""
	return nil
}

func (g *Governor) head(i int) (*head, error) {
	if i < 0 || i >= len(g.heads) {
		return nil, fmt.Errorf("head %d: there are %d", i, len(g.heads))
	}
	return g.heads[i], nil
}

// Arrived tells when the frame was made in which the head reached its wish (or
// what the caps left of it); false while it is on its way.
func (g *Governor) Arrived(i int) (at time.Time, ok bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	h, err := g.head(i)
	if err != nil || !h.arrived {
		return time.Time{}, false
	}
	return h.arrivedAt, true
}

// Effective returns the codes that the head ends on: the wish, or what the caps
// left of it, and whether they took anything off.
func (g *Governor) Effective(i int) (codes []uint32, capped bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	h, err := g.head(i)
	if err != nil {
		return nil, false
	}
	return append([]uint32(nil), h.goal...), h.capped
}

// Capped tells whether a cap took something off the head's wish.
func (g *Governor) Capped(i int) bool {
	_, c := g.Effective(i)
	return c
}

// Sent returns the codes of the head's movable slots as the last frame has them.
func (g *Governor) Sent(i int) []uint32 {
	g.mu.Lock()
	defer g.mu.Unlock()
	h, err := g.head(i)
	if err != nil {
		return nil
	}
	codes := make([]uint32, len(h.axes))
	for j := range codes {
		codes[j] = h.axes[j].code
	}
	return codes
}

// Held says why a head does not follow its wish; empty when it does.
func (g *Governor) Held(i int) string {
	g.mu.Lock()
	defer g.mu.Unlock()
	h, err := g.head(i)
	if err != nil {
		return err.Error()
	}
	return h.held
}

// Alive feeds the watchdog: it says that the run has just finished a step of its
// event loop. Call it from that loop alone, after an event was handled; a tick is
// an event like any other, as long as it is handled where all others are. Called
// from a goroutine that runs beside the loop it would promise what it can not
// know. A wish feeds the watchdog too, for it comes of a finished step. Without
// either for Limits.Watchdog the governor releases by itself.
func (g *Governor) Alive() {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.quiet = 0
}

// Release ends the run gently: every head ramps to what the desk shows, or to
// the rest look. The first reason stays. It may be called at any time, twice,
// from anywhere.
func (g *Governor) Release(reason string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.release(reason)
}

func (g *Governor) release(reason string) {
	if g.stage != Running {
		return
	}
	g.stage, g.reason = Releasing, reason
	for _, h := range g.heads {
		h.arrived, h.calm, h.later = false, false, false
	}
	g.notify()
}

// Hold ends the run at once: levels stay as they are in every frame from now on.
func (g *Governor) Hold(reason string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.stage == Done {
		return
	}
	if g.stage == Running {
		g.reason = reason
	}
	g.stage = Done
	g.notify()
}

// Stage returns how far the end has come, and why it began.
func (g *Governor) Stage() (Stage, string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.stage, g.reason
}

// HeldBack counts the frames in which the flash guard kept a head waiting.
func (g *Governor) HeldBack() int {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.held
}

// Universes lists what the governor makes frames for, in order.
func (g *Governor) Universes() []dmx.Universe {
	return slices.Sorted(maps.Keys(g.unis))
}

// Cut says whether every way out is down. Nothing moves while it is: when it is back the
// lamps go on from where the last packet left them, and if that took longer
// than [LostAfter], the run is released.
func (g *Governor) Cut(down bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	g.cut = down
}

// Limits returns the limits in force.
func (g *Governor) Limits() Limits { return g.limits }

// Changed returns a channel that is closed when a head arrives or is held, or
// the stage changes.
func (g *Governor) Changed() <-chan struct{} {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.changed
}

func (g *Governor) notify() {
	close(g.changed)
	g.changed = make(chan struct{})
}
