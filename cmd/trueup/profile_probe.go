package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/profiles"
	"trueup/safety"
)

func newProfileProbeCommand() *cobra.Command {
	var f runFlags
	c := &cobra.Command{
		Use:   "probe RIG FIXTURE",
		Short: "Light a fixture's emitters one by one, and say what each is",
		Long: `Lights the emitters of a fixture one by one at low level, through the governor, reads the meter, and says which slot is which
colour and how its light follows the level: what to write into the profile. For a fixture with several heads the first one is lit.

Without --live it only says what it would do. Take the other lamps off the probe first: they stay as they are.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return usageError("say which rig, and which fixture of it")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return runProbe(c, args[0], args[1], f) },
	}
	f.add(c)
	return c
}

func runProbe(c *cobra.Command, path, name string, f runFlags) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	r, err := rig.Load(path)
	if err != nil {
		return err
	}
	x, ok := r.Fixture(name)
	if !ok {
		return usageError("%s has no fixture called %q", path, name)
	}
	if !x.Sent() || x.Mode.Kind != profiles.Emitters {
		return usageError("fixture %q: only a mode of kind emitters, sent over the network, can be probed", name)
	}
	j, err := newJob(r, "probe", set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	j.live, j.yes = f.live, f.yes
	j.stdin, j.stdout, j.stderr = c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr()
	i := slices.IndexFunc(j.compiled.Units, func(u *session.Unit) bool {
		return u.Head >= 0 && (u.Info.Name == name || u.Info.Name == name+"/1")
	})
	if i < 0 {
		return fmt.Errorf("fixture %q is not driven", name)
	}
	p := &emitterProbe{unit: j.compiled.Units[i], mode: x.Mode}
	j.showPlan()
	fmt.Fprintf(j.stdout, "%s: %d emitters, each at %v of %.0f %% of its range, alone\n", name, len(p.mode.Emitters), probeSteps, 100*probeTop)
	if !j.live {
		fmt.Fprintln(j.stdout, "nothing is sent and no lamp moves; add --live to do it")
		return nil
	}
	if err := j.confirm(); err != nil {
		return err
	}
	return j.probe(context.Background(), p)
}

// probeTop is the highest level of an emitter that is probed, as a share of its
// allowed range, and probeSteps the shares of it that are read.
const probeTop = 0.6

var probeSteps = []float64{0.25, 0.5, 1}

// probeReadings of each level are averaged.
const probeReadings = 3

// emitterProbe is what is probed, and what came of it.
type emitterProbe struct {
	unit  *session.Unit
	mode  *profiles.Mode
	found []probed
}

// probe opens meter and door, lights the emitters, and hands back.
func (j *job) probe(ctx context.Context, p *emitterProbe) error {
	ctx, second, stop := stopSignals(ctx)
	defer stop()
	meters, err := session.OpenMeters(ctx, j.rig, j.feeds)
	if err != nil {
		return err
	}
	defer meters.Close()
	if err := awaitMeters(ctx, meters, []*session.Unit{p.unit}); err != nil {
		return err
	}
	door, err := j.openDoor(ctx)
	if err != nil {
		return err
	}
	defer door.close()
	err = door.Guard(func() error { return p.run(ctx, door.Door, meters, j.stdout) })
	door.end(ctx, err, second, j.stdout)
	if err == nil {
		err = door.Err()
	}
	if err != nil {
		return err
	}
	p.report(j.stdout)
	return nil
}

// run lights one emitter after the other; the dimmer, where there is one, stands
// at the fixture's level all the time.
func (p *emitterProbe) run(ctx context.Context, door *safety.Door, meters session.Meters, w io.Writer) error {
	dark := slices.Clone(p.unit.Lit)
	for i := range p.mode.Emitters {
		dark[i] = p.mode.Emitters[i].Lo
	}
	background, err := p.read(ctx, door, meters, dark)
	if err != nil {
		return err
	}
	for i := range p.mode.Emitters {
		e := &p.mode.Emitters[i]
		got := probed{emitter: e}
		for _, share := range probeSteps {
			d := slices.Clone(dark)
			d[i] = e.Code(share * probeTop)
			light, err := p.read(ctx, door, meters, d)
			if err != nil {
				return fmt.Errorf("%s: %w", e.Name, err)
			}
			// What stood on the wire counts, not what was wished for.
			sent := door.Sent(p.unit.Head)[i]
			got.points = append(got.points, probedPoint{drive: e.Fraction(sent), light: light.Sub(background)})
		}
		fmt.Fprintf(w, "  %s: %s\n", e.Name, got.words())
		p.found = append(p.found, got)
	}
	_, err = p.set(ctx, door, dark)
	return err
}

func (p *emitterProbe) set(ctx context.Context, door *safety.Door, d solve.Drive) (time.Time, error) {
	if err := door.Wish(p.unit.Head, d); err != nil {
		return time.Time{}, err
	}
	return waitAlive(ctx, door, p.unit.Head)
}

// read sets the fixture and averages readings of the light that stands then.
func (p *emitterProbe) read(ctx context.Context, door *safety.Door, meters session.Meters, d solve.Drive) (colorcalc.XYZ, error) {
	at, err := p.set(ctx, door, d)
	if err != nil {
		return colorcalc.XYZ{}, err
	}
	after := at.Add(p.unit.Settle)
	var sum colorcalc.XYZ
	for range probeReadings {
		r, err := readAlive(ctx, door, meters, p.unit.Info.Probe, after)
		if err != nil {
			return colorcalc.XYZ{}, fmt.Errorf("reading the meter: %w", err)
		}
		if !r.HasY {
			return colorcalc.XYZ{}, fmt.Errorf("the meter tells no level: emitters can not be told from the background with it")
		}
		sum = sum.Add(r.XYZ())
		after = r.Time
	}
	return sum.Scale(1.0 / probeReadings), nil
}

// readAlive waits for a reading. Each tick of the wait is a step of ours and feeds
// the watchdog; after 15 s no more do, and a meter that does not even give up then
// costs the run its lamps.
func readAlive(ctx context.Context, door *safety.Door, meters session.Meters, probe string, after time.Time) (r feed.Reading, err error) {
	ctx, cancel := context.WithTimeout(ctx, 15*time.Second)
	defer cancel()
	done := make(chan struct{})
	go func() { // ends with ctx
		defer close(done)
		r, err = meters.ReadAfter(ctx, probe, after)
	}()
	tick := time.NewTicker(500 * time.Millisecond)
	defer tick.Stop()
	for {
		door.Alive()
		select {
		case <-tick.C:
			continue
		case <-ctx.Done():
		case <-done:
		}
		<-done
		return r, err
	}
}
