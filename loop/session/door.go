package session

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"time"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/session/rig"
	"trueup/safety"
)

// openedDoor is the one way out, with what listens beside it. It closes itself
// once.
type openedDoor struct {
	*safety.Door
	base     *sacn.Base // of an overlay; nil in own mode
	priority uint8      // on the wire
	taken    *Taken     // nil where nothing is sent
	stopBase func()
	once     sync.Once
}

func (d *openedDoor) close() {
	d.once.Do(func() {
		d.Release("the run is over")
		<-d.Done()
		d.letGo()
	})
}

// letGo ends what goes on beside the door.
func (d *openedDoor) letGo() {
	if d.stopBase != nil {
		d.stopBase()
	}
	if d.taken != nil {
		d.taken.Release()
	}
}

// release begins to hand the lamps back.
func (d *openedDoor) release(workErr error) {
	reason := "the run is over"
	if workErr != nil {
		reason = workErr.Error()
	}
	d.Release(reason)
}

// end waits until the lamps are handed back. A person who does not want to wait
// leaves them as they are: closing leave does so at any time, the end of ctx does where
// the run has come to its end by itself and the hand-over waits for a desk.
func (d *openedDoor) end(ctx context.Context, leave <-chan struct{}, say func(string, ...any)) {
	first := ctx.Done()
	if ctx.Err() != nil {
		first = nil
	}
	look := time.NewTicker(waitsEvery)
	defer look.Stop()
	said := ""
	for {
		select {
		case <-d.Done():
			d.close()
			return
		case <-look.C:
			if why := d.Waits(); why != "" && why != said {
				said = why
				say("%s. Ctrl-C leaves at once; the fixtures then do what they do without data.", why)
			}
			continue
		case <-first:
			first = nil
			if d.Waits() == "" {
				continue // it is being handed back already
			}
		case <-leave:
		}
		d.Hold(leftAtOnce)
		d.close()
		return
	}
}

// waitsEvery is how often a hand-over is asked what it waits for.
const waitsEvery = 500 * time.Millisecond

// openDoor makes sure that nobody else on this machine drives the lamps, listens
// to the desk or for other sources, then opens the one way out.
func (j *Job) openDoor(ctx context.Context) (d *openedDoor, err error) {
	d = &openedDoor{}
	defer func() {
		if err != nil {
			d.letGo()
		}
	}()
	out := j.Rig.Output
	cfg := safety.DoorConfig{Log: j.Log, Silent: j.Silent}
	cfg.Governor = safety.Config{Limits: j.Rig.Safety.Limits, Heads: j.Compiled.Heads, Start: j.Compiled.Start}
	for _, l := range j.Rig.Safety.Locked {
		cfg.Governor.Locked = append(cfg.Governor.Locked, safety.SlotRange{Universe: l.Universe, First: l.First, Last: l.Last})
	}
	cfg.Sender = sacn.SenderConfig{CID: j.CID, SourceName: out.SourceName, Priority: out.Priority, Interfaces: out.Interfaces,
		Multicast: out.Multicast, IP: out.IPv6.Versions(), Unicast: out.Unicast, Preview: j.Preview, Log: j.Log}
	if !j.Silent {
		say := func(line string) { j.say("%s", line) }
		if d.taken, err = TakeOutput(ctx, j.Rig, j.CID, j.universes(), !j.Preview, say, j.Log); err != nil {
			return d, err
		}
		cfg.Sender.Beside = d.taken.Receiver()
	}
	if out.Mode == rig.Overlay && !j.Silent {
		if d.base, d.stopBase, cfg.Sender.Priority, err = j.listenToDesk(ctx); err != nil {
			return d, err
		}
		cfg.Base = d.base
		cfg.Sender.Follow = d.base // what the desk changes goes on at once, not with our next tick
		look := func(u dmx.Universe, dst *[512]byte) int { n, _ := d.base.Look(u, dst); return n }
		if err = j.Compiled.TakeFound(look); err != nil {
			return d, err
		}
		cfg.Governor.Start = nil
	}
	d.priority = cfg.Sender.Priority
	if d.Door, err = safety.Open(ctx, cfg); err != nil {
		return d, err
	}
	if j.Silent {
		return d, nil
	}
	select {
	case <-time.After(takeoverPause):
	case <-ctx.Done():
		d.close()
		return d, fmt.Errorf("%w before any light was moved", context.Cause(ctx))
	}
	return d, nil
}

// takeoverPause is how long the levels found at the start are sent before any
// of them moves. Receivers that obey per-address priorities (START code 0xDD)
// wait up to 1.5 s for them before they show a new source's levels; a reading
// taken in that time would be of the look before.
const takeoverPause = 1700 * time.Millisecond

// listenToDesk hears what the desk sends before anything of ours is sent.
func (j *Job) listenToDesk(ctx context.Context) (*sacn.Base, func(), uint8, error) {
	base, err := sacn.NewBase(ListenConfig(j.Rig, j.CID, j.universes(), j.Log))
	if err != nil {
		return nil, nil, 0, err
	}
	run, cancel := context.WithCancel(context.WithoutCancel(ctx))
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := base.Run(run); err != nil {
			j.Log.Error().Err(err).Msg("listening to the desk")
		}
	}()
	stop := func() { cancel(); <-done }
	j.say("listening to the desk for three seconds ...")
	priority, err := base.Survey(ctx, j.universes(), WantedPriority(j.Rig))
	if err == nil {
		err = DeskOnAll(base, j.universes())
	}
	if err != nil {
		stop()
		return nil, nil, 0, err
	}
	j.say("sending at priority %d", priority)
	return base, stop, priority, nil
}

// DeskOnAll refuses to overlay a universe on which no desk is heard: there
// would be nothing to lay over, and nothing to give back to.
func DeskOnAll(base *sacn.Base, universes []dmx.Universe) error {
	var silent []string
	for _, u := range universes {
		var dst [dmx.SlotsPerUniverse]byte
		if _, state := base.Look(u, &dst); state == sacn.BaseNone {
			silent = append(silent, fmt.Sprint(u))
		}
	}
	if len(silent) == 0 {
		return nil
	}
	return fmt.Errorf("no desk is heard on universe %s: nothing to lay our slots over; is the desk on and its sACN output too, and on this interface? Without a desk write mode: own", strings.Join(silent, ", "))
}
