package session

import (
	"context"
	"fmt"
	"strconv"
	"time"

	"github.com/rs/zerolog"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/session/rig"
)

// ListenConfig is how a run of r listens to the sources beside it: to the groups
// of its universes and to what is sent to this machine, by whichever way it
// sends itself.
func ListenConfig(r *rig.Rig, cid sacn.CID, universes []dmx.Universe, log zerolog.Logger) sacn.ReceiverConfig {
	return sacn.ReceiverConfig{Universes: universes, Multicast: true, Interfaces: r.Output.Interfaces, TryIPv6: true, OwnCID: cid, Log: log}
}

// WantedPriority is what an overlay of r asks [sacn.Base.Survey] for.
func WantedPriority(r *rig.Rig) int {
	if r.Output.AutoPriority {
		return sacn.OneAbove
	}
	return int(r.Output.Priority)
}

// Taken is the output of a rig while it is one run's alone.
type Taken struct {
	heard  *sacn.Contention // nil where there is nobody to listen for
	stop   func()
	unlock func()
}

// TakeOutput makes a run of r the only one on this machine that drives its
// lamps. Where it drives universes as their only source (own mode, live, and not
// only to programs of this machine) it also listens for [sacn.ListenTime] for
// others on the network, and goes on listening. The error names whoever the run
// cannot go on beside. say tells a person what is going on.
//
// The sender has to know Receiver as its Beside; EndRun has to run while levels
// go out; Release is called when they no longer do.
func TakeOutput(ctx context.Context, r *rig.Rig, cid sacn.CID, universes []dmx.Universe, live bool, say func(string), log zerolog.Logger) (*Taken, error) {
	dir, err := ClaimDir()
	if err != nil {
		return nil, err
	}
	unlock, err := LockRun(dir, NewClaim(r, cid.String(), universes, time.Now()))
	if err != nil {
		return nil, err
	}
	t := &Taken{unlock: unlock, stop: func() {}}
	if !live || r.Output.Mode != rig.Own || r.Output.Local() {
		return t, nil
	}
	say("listening for other sources for three seconds ...")
	below, err := t.listen(ctx, ListenConfig(r, cid, universes, log), r.Output.Priority)
	if err != nil {
		t.Release()
		return nil, err
	}
	for _, s := range below {
		say(fmt.Sprintf("universe %d: source %s (%v) sends at priority %d; what it sends will not show while we send at %d",
			s.Universe, strconv.Quote(s.Name), s.From, s.Claim(), r.Output.Priority))
	}
	return t, nil
}

func (t *Taken) listen(ctx context.Context, cfg sacn.ReceiverConfig, priority uint8) (below []sacn.SourceInfo, err error) {
	if t.heard, err = sacn.NewContention(cfg, priority); err != nil {
		return nil, err
	}
	run, cancel := context.WithCancel(context.WithoutCancel(ctx))
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := t.heard.Run(run); err != nil {
			cfg.Log.Error().Err(err).Msg("listening for other sources")
		}
	}()
	t.stop = func() { cancel(); <-done }
	return t.heard.Survey(ctx)
}

// Receiver is what the sender has to know; nil where nobody is listened for.
func (t *Taken) Receiver() *sacn.Receiver {
	if t.heard == nil {
		return nil
	}
	return t.heard.Receiver
}

// EndRun calls end with the name of the first source that comes in at or above
// our priority, or with our CID, and returns then or when ctx ends; at once on a
// nil Taken. The error
// wraps [sacn.ErrContended].
func (t *Taken) EndRun(ctx context.Context, end func(error)) {
	if t == nil || t.heard == nil {
		return
	}
	if err := t.heard.Watch(ctx); err != nil {
		end(err)
	}
}

// Release lets other runs have the output. It may be called more than once.
func (t *Taken) Release() {
	t.stop()
	t.unlock()
}
