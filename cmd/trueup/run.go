package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/rs/zerolog"

	"trueup/colorcalc"
	"trueup/colorcalc/expr"
	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/profiles/userfile"
	"trueup/safety"
)

// job is one run of a rig: what is to be done, and with whose word.
type job struct {
	rig      *rig.Rig
	compiled *session.Compiled
	work     string // survey, match or verify
	plan     session.Plan
	previous *session.Summary // of verify: the run whose settings are checked
	live     bool             // without it the run only rehearses
	preview  bool             // a rehearsal goes out too, marked as preview (E1.31 6.2.6)
	yes      bool             // a script's "yes" to the question before light moves
	outRoot  string
	cid      sacn.CID
	log      zerolog.Logger
	feeds    feed.Config         // what all feeds have in common
	onEntry  func(session.Entry) // also hears the journal; may be nil

	stdin          io.Reader
	stdout, stderr io.Writer
}

// result is what a run left behind.
type result struct {
	dir     string // of the run's files; "" for a rehearsal
	summary *session.Summary
}

// errStopped is the exit of a run that a person or a signal ended.
var errStopped = errors.New("stopped")

// run does the job: ask, open the meter, open the door, work, hand back, write.
// Whatever happens after the door is open, the door is closed gently, and what
// was measured is written up.
func (j *job) run(ctx context.Context) (*result, error) {
	ctx, second, stop := stopSignals(ctx)
	defer stop()
	j.showPlan()
	if !j.live {
		return &result{}, j.rehearse(ctx)
	}
	if err := j.confirm(); err != nil {
		return nil, err
	}
	hand := readByHand(j.rig)
	if hand {
		j.feeds.Ask = newTerminal(j.stdin, j.stdout).ask
		j.plan = patient(j.plan)
		for _, u := range j.compiled.Units {
			u.SettleKnown = true // a person takes longer than any lamp
		}
	}
	meters, err := session.OpenMeters(ctx, j.rig, j.feeds)
	if err != nil {
		return nil, err
	}
	defer meters.Close()
	if !hand {
		if err := awaitMeters(ctx, meters, j.compiled.Units); err != nil {
			return nil, err
		}
	}
	dir, err := session.MakeOutDir(j.outRoot, j.rig.Name, time.Now())
	if err != nil {
		return nil, err
	}
	show := newProgress(j.stdout)
	show.live = show.live && !hand // questions need the screen
	journalPath := filepath.Join(dir, "journal.jsonl")
	journal, err := session.CreateJournal(journalPath, time.Now, func(e session.Entry) {
		show.Entry(e)
		if j.onEntry != nil {
			j.onEntry(e)
		}
	})
	if err != nil {
		return nil, err
	}
	defer journal.Close()
	door, err := j.openDoor(ctx)
	if err != nil {
		return nil, err
	}
	defer door.close()
	workErr := door.Guard(func() error { return j.workUnderGuard(ctx, door, meters, journal) })
	door.end(ctx, workErr, second, j.stdout)
	closeErr := journal.Close()
	res, writeErr := writeUp(dir, journalPath)
	return res, errors.Join(workErr, closeErr, writeErr, door.Err())
}

func (j *job) workUnderGuard(ctx context.Context, door *openedDoor, meters *session.FeedMeters, journal *session.Journal) error {
	info, err := j.info()
	if err != nil {
		return err
	}
	if err := journal.Append(session.Entry{Kind: session.KindRun, Run: info}); err != nil {
		return err
	}
	var probes session.Meters = meters
	if door.base != nil {
		probes = &besideMeters{FeedMeters: meters, after: takeoverPause,
			above: func() []sacn.SourceInfo { return door.base.Above(door.priority) },
			say: func(note string) error {
				return journal.Append(session.Entry{Kind: session.KindConflict, Note: note})
			}}
	}
	s, err := session.New(j.compiled.Units, door, probes, journal, j.plan)
	if err != nil {
		return err
	}
	switch j.work {
	case "survey":
		return s.Survey(ctx)
	case "verify":
		return s.Verify(ctx, j.previous)
	}
	return s.Match(ctx)
}

// info opens the journal.
func (j *job) info() (*session.RunInfo, error) {
	text, err := userfile.Read(j.rig.Path, userfile.Rig)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(text)
	i := &session.RunInfo{Program: "trueup " + version, Rig: j.rig.Name, RigFile: filepath.Base(j.rig.Path), RigSHA256: hex.EncodeToString(sum[:]),
		Work: j.work, Mode: string(j.rig.Output.Mode), Priority: j.rig.Output.Priority, Target: targetText(j.rig), Tolerance: j.plan.Tolerance,
		Level: j.rig.Target.Level, Limits: j.rig.Safety.Limits.Describe(),
		Corrected: correctionWords(j.feeds.Corrections)}
	for _, u := range j.universes() {
		i.Universes = append(i.Universes, uint16(u))
	}
	for _, u := range j.compiled.Units {
		i.Fixtures = append(i.Fixtures, u.Info)
	}
	return i, nil
}

func (j *job) universes() []dmx.Universe {
	var us []dmx.Universe
	for _, h := range j.compiled.Heads {
		if !slices.Contains(us, h.Universe) {
			us = append(us, h.Universe)
		}
	}
	slices.Sort(us)
	return us
}

func targetText(r *rig.Rig) string {
	if r.Target.Reference != "" {
		return "the light of " + r.Target.Reference
	}
	return r.Target.Color
}

// planFor turns the rig's target into a session's.
func planFor(r *rig.Rig) (session.Plan, error) {
	p := session.DefaultPlan()
	p.Tolerance = r.Tolerance
	p.Common, p.Lux = r.Target.Common, r.Target.Lux
	p.KeepLit = r.Safety.Limits.PeopleAloft
	p.DarkEnd = r.Output.Mode == rig.Own
	p.Target = session.Target{Reference: r.Target.Reference, Text: r.Target.Color}
	if r.Target.Reference == "" {
		c, err := expr.Parse(r.Target.Color)
		if err != nil {
			return p, fmt.Errorf("%s:%d:%d: target color: %w", r.Path, r.Target.Pos.Line, r.Target.Pos.Col, err)
		}
		p.Target.UV = c.XY.UV()
		if p.Target.UV == (colorcalc.UV{}) {
			return p, fmt.Errorf("%s:%d:%d: target color %q is no colour of light", r.Path, r.Target.Pos.Line, r.Target.Pos.Col, r.Target.Color)
		}
	}
	return p, nil
}

// openedDoor closes itself once.
type openedDoor struct {
	*safety.Door
	base     *sacn.Base // of an overlay; nil in own mode
	priority uint8
	stopBase func()
	once     sync.Once
}

func (d *openedDoor) close() {
	d.once.Do(func() {
		d.Release("the run is over")
		<-d.Done()
		d.stopBase()
	})
}

// end hands the lamps back and waits for it; a second Ctrl-C in that time
// leaves them as they are. So does the first, where the run has come to its end
// by itself and the hand-over waits for a desk.
func (d *openedDoor) end(ctx context.Context, workErr error, second <-chan struct{}, out io.Writer) {
	reason := "the run is over"
	if workErr != nil {
		reason = workErr.Error()
	}
	first := ctx.Done()
	if ctx.Err() != nil {
		first = nil
	}
	d.Release(reason)
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
				fmt.Fprintf(out, "%s. Ctrl-C leaves at once; the lamps then do what they do without data.\n", why)
			}
			continue
		case <-first:
			first = nil
			if d.Waits() == "" {
				continue // it is being handed back already
			}
		case <-second:
		}
		d.Hold("left at once on Ctrl-C")
		d.close()
		return
	}
}

// waitsEvery is how often a hand-over is asked what it waits for.
const waitsEvery = 500 * time.Millisecond

// openDoor listens first where a desk owns the universes, then opens the one
// way out.
func (j *job) openDoor(ctx context.Context) (*openedDoor, error) {
	out := j.rig.Output
	cfg := safety.DoorConfig{Log: j.log}
	cfg.Governor = safety.Config{Limits: j.rig.Safety.Limits, Heads: j.compiled.Heads, Start: j.compiled.Start}
	for _, l := range j.rig.Safety.Locked {
		cfg.Governor.Locked = append(cfg.Governor.Locked, safety.SlotRange{Universe: l.Universe, First: l.First, Last: l.Last})
	}
	cfg.Sender = sacn.SenderConfig{CID: j.cid, SourceName: out.SourceName, Priority: out.Priority, Interfaces: out.Interfaces,
		Multicast: out.Multicast, Unicast: out.Unicast, Preview: !j.live, Log: j.log}
	stopBase := func() {}
	if out.Mode == rig.Overlay {
		base, stop, priority, err := j.listenToDesk(ctx)
		if err != nil {
			return nil, err
		}
		cfg.Base, stopBase = base, stop
		cfg.Sender.Follow = base // what the desk changes goes on at once, not with our next tick
		look := func(u dmx.Universe, dst *[512]byte) int { n, _ := base.Look(u, dst); return n }
		if err := j.compiled.TakeFound(look); err != nil {
			stop()
			return nil, err
		}
		cfg.Sender.Priority = priority
		cfg.Governor.Start = nil
	}
	door, err := safety.Open(ctx, cfg)
	if err != nil {
		stopBase()
		return nil, err
	}
	d := &openedDoor{Door: door, base: cfg.Base, priority: cfg.Sender.Priority, stopBase: stopBase}
	select {
	case <-time.After(takeoverPause):
	case <-ctx.Done():
		d.close()
		return nil, fmt.Errorf("%w before any light was moved", context.Cause(ctx))
	}
	return d, nil
}

// takeoverPause is how long the levels found at the start are sent before any
// of them moves. Receivers that obey per-address priorities (START code 0xDD)
// wait up to 1.5 s for them before they show a new source's levels; a reading
// taken in that time would be of the look before.
const takeoverPause = 1700 * time.Millisecond

// listenToDesk hears what the desk sends before anything of ours is sent.
func (j *job) listenToDesk(ctx context.Context) (*sacn.Base, func(), uint8, error) {
	base, err := sacn.NewBase(sacn.ReceiverConfig{Universes: j.universes(), Multicast: j.rig.Output.Multicast,
		Interfaces: j.rig.Output.Interfaces, OwnCID: j.cid, Log: j.log})
	if err != nil {
		return nil, nil, 0, err
	}
	run, cancel := context.WithCancel(context.WithoutCancel(ctx))
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := base.Run(run); err != nil {
			j.log.Error().Err(err).Msg("listening to the desk")
		}
	}()
	stop := func() { cancel(); <-done }
	fmt.Fprintln(j.stdout, "listening to the desk for three seconds ...")
	priority, err := base.Survey(ctx, j.universes())
	if err == nil {
		err = deskOnAll(base, j.universes())
	}
	if err != nil {
		stop()
		return nil, nil, 0, err
	}
	return base, stop, priority, nil
}

// deskOnAll refuses to overlay a universe on which no desk is heard: there
// would be nothing to lay over, and nothing to give back to.
func deskOnAll(base *sacn.Base, universes []dmx.Universe) error {
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

// awaitMeters waits until every feed has brought something, before any light
// moves.
func awaitMeters(ctx context.Context, m *session.FeedMeters, units []*session.Unit) error {
	ctx, cancel := context.WithTimeout(ctx, meterTimeout)
	defer cancel()
	seen := map[string]bool{}
	for _, u := range units {
		probe := u.Info.Probe
		if seen[probe] || u.Info.ByHand {
			continue
		}
		seen[probe] = true
		if _, err := m.ReadAfter(ctx, probe, time.Time{}); err != nil {
			if ctx.Err() == nil {
				return err
			}
			return fmt.Errorf("no reading of probe %q within %s: %s; no light was moved", probe, meterTimeout, m.Trouble())
		}
	}
	return nil
}

// meterTimeout is how long a feed has to bring its first reading.
const meterTimeout = 8 * time.Second

// stopSignals ends ctx on the first Ctrl-C or SIGTERM, with the signal as its
// cause, and closes second on the next one.
func stopSignals(ctx context.Context) (context.Context, <-chan struct{}, func()) {
	ctx, cancel := context.WithCancelCause(ctx)
	ch := make(chan os.Signal, 2)
	signal.Notify(ch, os.Interrupt, syscall.SIGTERM)
	second, quit := make(chan struct{}), make(chan struct{})
	go func() {
		select {
		case s := <-ch:
			word := "Ctrl-C"
			if s == syscall.SIGTERM {
				word = "the system's signal to end"
			}
			cancel(fmt.Errorf("%w by %s", errStopped, word))
		case <-quit:
			return
		}
		select {
		case <-ch:
			close(second)
		case <-quit:
		}
	}()
	var once sync.Once
	return ctx, second, func() { once.Do(func() { signal.Stop(ch); close(quit); cancel(nil) }) }
}
