package safety

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/rs/zerolog"

	"trueup/dmx"
	"trueup/dmx/sacn"
)

// DoorConfig is what a [Door] needs to know. It is read once.
type DoorConfig struct {
	// Governor; its Desk is filled in from Base when Base is given.
	Governor Config
	// Sender is the way out. Universes are filled in from the heads.
	Sender sacn.SenderConfig
	// Base, already running, makes it an overlay. Nil is own mode.
	Base *sacn.Base
	// Silent rehearses: frames are made and shown to Tap, nothing is sent.
	Silent bool
	// Tap sees every frame in the moment it is made: for a journal, a page, a
	// checker. The levels are lent; it must not block, and a panic in it ends
	// the run gently.
	Tap func(now time.Time, u dmx.Universe, levels []byte)
	Log zerolog.Logger
}

// Door is the only way for levels to leave. It owns a governor, the sender that
// the governor feeds, and their goroutines.
type Door struct {
	gov    *Governor
	sender *sacn.Sender
	cfg    DoorConfig
	unis   []dmx.Universe

	cancel context.CancelFunc
	broken bool // the tap panicked

	done chan struct{}
	err  error
}

// Open starts to send. When ctx ends the lamps are handed back gently, as by
// Release; the door is closed when Done is.
func Open(ctx context.Context, cfg DoorConfig) (*Door, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if cfg.Base != nil {
		cfg.Governor.Desk = cfg.Base
	}
	gov, err := NewGovernor(cfg.Governor)
	if err != nil {
		return nil, err
	}
	d := &Door{gov: gov, cfg: cfg, unis: gov.Universes(), done: make(chan struct{})}
	if !cfg.Silent {
		cfg.Sender.Universes = d.unis
		if d.sender, err = sacn.NewSender(cfg.Sender); err != nil {
			return nil, err
		}
	}
	// The sender outlives the caller's context: an end is a ramp.
	run, cancel := context.WithCancel(context.WithoutCancel(ctx))
	d.cancel = cancel
	sent := make(chan error, 1)
	go func() {
		if d.sender == nil {
			sent <- d.rehearse(run)
			return
		}
		sent <- d.sender.Run(run, d)
	}()
	go d.mind(ctx, sent)
	return d, nil
}

// mind follows a run from its release to its last packet.
func (d *Door) mind(ctx context.Context, sent <-chan error) {
	defer close(d.done)
	defer d.cancel()
	asked := ctx.Done()
	stage := Running
	for {
		changed := d.gov.Changed()
		now, why := d.gov.Stage()
		if now != stage {
			stage = now
			d.cfg.Log.Info().Stringer("stage", stage).Str("reason", why).Msg("safety")
		}
		if stage == Done {
			d.cancel()
			d.err = <-sent
			return
		}
		select {
		case <-asked:
			asked = nil
			d.gov.Release("the run was stopped")
		case <-changed:
		case err := <-sent:
			if err == nil {
				err = errors.New("the sender stopped by itself")
			}
			d.err = err
			d.gov.Hold("nothing can be sent: " + err.Error())
			return
		}
	}
}

// Levels implements [sacn.Frames]: the governor's frames, shown to the tap.
func (d *Door) Levels(now time.Time, u dmx.Universe, dst *[512]byte) int {
	if d.sender != nil {
		d.gov.Cut(d.sender.Down())
	}
	n := d.gov.Levels(now, u, dst)
	if d.cfg.Tap != nil && n > 0 && !d.broken {
		d.show(now, u, dst[:n])
	}
	return n
}

func (d *Door) show(now time.Time, u dmx.Universe, levels []byte) {
	defer func() {
		if p := recover(); p != nil {
			d.broken = true
			d.gov.Release(fmt.Sprintf("a fault in what watches the frames: %v", p))
		}
	}()
	d.cfg.Tap(now, u, levels)
}

// rehearse makes frames at the pace of the wire and sends none.
func (d *Door) rehearse(ctx context.Context) error {
	tick := time.NewTicker(time.Second / 44)
	defer tick.Stop()
	var frame [512]byte
	for {
		select {
		case <-ctx.Done():
			return nil
		case now := <-tick.C:
			for _, u := range d.unis {
				d.Levels(now, u, &frame)
			}
		}
	}
}

// Wish asks for codes of a head; see [Governor.Wish].
func (d *Door) Wish(head int, codes []uint32) error { return d.gov.Wish(head, codes) }

// WaitArrived waits until the wire has reached the head's wish and returns when
// that was. It returns an error when ctx ends, when the head is held (with the
// reason), or when the run is being handed back.
func (d *Door) WaitArrived(ctx context.Context, head int) (at time.Time, err error) {
	for {
		changed := d.gov.Changed()
		if why := d.gov.Held(head); why != "" {
			return time.Time{}, fmt.Errorf("%w: %s", ErrHeld, why)
		}
		if at, ok := d.gov.Arrived(head); ok {
			return at, nil
		}
		if stage, why := d.gov.Stage(); stage != Running {
			return time.Time{}, fmt.Errorf("%w: %s", ErrReleased, why)
		}
		select {
		case <-changed:
		case <-ctx.Done():
			return time.Time{}, ctx.Err()
		}
	}
}

// ErrHeld is returned when a head does not follow its wish.
var ErrHeld = errors.New("held")

// Sent returns the codes of the head's movable slots as they are on the wire.
func (d *Door) Sent(head int) []uint32 { return d.gov.Sent(head) }

// Effective returns the codes that a wish ends on; see [Governor.Effective].
func (d *Door) Effective(head int) (codes []uint32, capped bool) { return d.gov.Effective(head) }

// Alive feeds the watchdog after a step of the run's event loop; see [Governor.Alive].
func (d *Door) Alive() { d.gov.Alive() }

// Release ends the run gently; see [Governor.Release]. It does not wait.
func (d *Door) Release(reason string) { d.gov.Release(reason) }

// Hold ends the run at once: levels stay as they are and the stream ends. It
// does not wait; Done is closed a few frames later.
func (d *Door) Hold(reason string) { d.gov.Hold(reason) }

// Governor is for looking: stages, limits, what was held back.
func (d *Door) Governor() *Governor { return d.gov }

// Done is closed when the stream has ended and no goroutine of ours is left.
func (d *Door) Done() <-chan struct{} { return d.done }

// Err is why the door closed by itself; nil after Release and Hold. It is valid
// once Done is closed.
func (d *Door) Err() error {
	select {
	case <-d.done:
		return d.err
	default:
		return nil
	}
}

// Close releases and waits for the end.
func (d *Door) Close() error {
	d.Release("the run is over")
	<-d.done
	return d.err
}

// Lateness tells how late frames have left; the zero one where nothing is sent.
func (d *Door) Lateness() sacn.Lateness {
	if d.sender == nil {
		return sacn.Lateness{}
	}
	return d.sender.Lateness()
}

// Links tells how each way out is doing; none where nothing is sent.
func (d *Door) Links() []sacn.LinkState {
	if d.sender == nil {
		return nil
	}
	return d.sender.Links()
}
