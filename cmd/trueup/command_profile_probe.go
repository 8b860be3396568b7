package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/profiles"
)

func newProfileProbeCommand() *cobra.Command {
	var f runFlags
	var spectra string
	c := &cobra.Command{
		Use:   "probe RIG FIXTURE",
		Short: "Light a fixture's emitters one by one, and say what each is",
		Long: `Lights the emitters of a fixture one by one at low level, through the governor, reads the meter, and says which slot is which
colour and how its light follows the level: what to write into the profile. For a fixture with several heads the first one is lit.

Without --live it only says what it would do. Take the other fixtures off the probe first: they stay as they are.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return usageError("say which rig, and which fixture of it")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error { return runProbe(c, args[0], args[1], spectra, f) },
	}
	f.add(c)
	c.Flags().StringVar(&spectra, "spectra", "", "with a spectrometer: write the measured spectrum of every emitter to `FILE`, as CSV for beside the profile")
	return c
}

func runProbe(c *cobra.Command, path, name, spectra string, f runFlags) error {
	if spectra != "" {
		if _, err := os.Stat(spectra); err == nil {
			return usageError("%s is there already: name another file, or take it away", spectra)
		}
	}
	set, r, err := settingsAndRig(c, path)
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
	j, err := newJob(r, core.Probe, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	i := slices.IndexFunc(j.Compiled.Units, func(u *session.Unit) bool {
		return u.Head >= 0 && (u.Info.Name == name || u.Info.Name == name+"/1")
	})
	if i < 0 {
		return fmt.Errorf("fixture %q is not driven", name)
	}
	out := c.OutOrStdout()
	p := &emitterProbe{unit: j.Compiled.Units[i], mode: x.Mode}
	showPlan(out, j)
	var levels []string
	for _, s := range probeSteps {
		levels = append(levels, fmt.Sprintf("%.0f", 100*probeTop*s))
	}
	fmt.Fprintf(out, "%s: %d emitters, each at %s %% of its range, alone\n", name, len(p.mode.Emitters), strings.Join(levels, ", "))
	if !f.live {
		fmt.Fprintln(out, "nothing is sent and no light changes; add --live to do it")
		return nil
	}
	if err := confirm(c.InOrStdin(), out, f.yes); err != nil {
		return err
	}
	sig := catchSignals(context.Background(), out)
	defer sig.stop()
	j.Probe = p.plan()
	j.Listen = func(e session.Entry) { p.hear(out, e) }
	j.Say = func(text string) { fmt.Fprintln(out, text) }
	run, err := session.Open(sig.ctx, j)
	var res *session.Result
	if err == nil {
		sig.armed(run)
		res, err = run.Work(sig.ctx)
	}
	if err = sig.cause(err); stopped(err) {
		return &exitError{exitStopped, err}
	}
	if err != nil {
		return err
	}
	if err := p.writeSpectra(out, spectra); err != nil {
		return err
	}
	p.report(out)
	fmt.Fprintf(out, "journal: %s\n", res.Dir)
	return nil
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

	level      int           // that is being read; -1: every emitter dark
	sent       solve.Drive   // what stood on the wire counts, not what was wished for
	sum        colorcalc.XYZ // of its readings
	readings   int
	background colorcalc.XYZ
	light      []*spectrum.Spectrum // of its readings, where a spectrometer told them
	dark       *spectrum.Spectrum   // of the background
	file       string               // that the spectra were written to; "" for none
}

// plan is the way of the probe: one emitter after the other; the dimmer, where there is
// one, stands at the fixture's level all the time.
func (p *emitterProbe) plan() *core.ProbePlan {
	base := slices.Clone(p.unit.Lit)
	for i := range p.mode.Emitters {
		base[i] = p.mode.Emitters[i].Lo
	}
	plan := &core.ProbePlan{Fixture: p.unit.Info.Name, Base: base, Readings: probeReadings}
	for i := range p.mode.Emitters {
		e := &p.mode.Emitters[i]
		for _, share := range probeSteps {
			d := slices.Clone(base)
			d[i] = e.Code(share * probeTop)
			plan.Levels = append(plan.Levels, d)
		}
	}
	p.level = -1
	return plan
}

// hear takes the journal of the probe.
func (p *emitterProbe) hear(w io.Writer, e session.Entry) {
	switch e.Kind {
	case core.KindSent:
		p.sent = e.Step.Codes
	case core.KindReading:
		if e.Reading.RawLux > 0 {
			p.sum = p.sum.Add(e.Reading.RawUV.XYZ(e.Reading.RawLux))
		}
		if e.Event != nil && e.Event.Reading != nil {
			p.light = append(p.light, e.Event.Reading.Light(nil))
		}
		if p.readings++; p.readings == probeReadings {
			p.read(w, p.sum.Scale(1.0/probeReadings))
			p.sum, p.readings, p.light = colorcalc.XYZ{}, 0, nil
		}
	case core.KindStop, core.KindConflict:
		fmt.Fprintln(w, e.Note)
	}
}

// read takes the light of one level.
func (p *emitterProbe) read(w io.Writer, light colorcalc.XYZ) {
	if p.level++; p.level == 0 {
		p.background, p.dark = light, core.MeanSpectrum(p.light)
		return
	}
	i := (p.level - 1) / len(probeSteps)
	if i == len(p.found) {
		p.found = append(p.found, probed{emitter: &p.mode.Emitters[i]})
	}
	q, e := &p.found[i], &p.mode.Emitters[i]
	q.points = append(q.points, probedPoint{drive: e.Fraction(p.sent[i]), light: light.Sub(p.background)})
	q.light = core.MeanSpectrum(p.light)
	if q.light != nil && p.dark != nil {
		*q.light = q.light.Add(p.dark.Scale(-1))
	}
	if len(q.points) == len(probeSteps) {
		fmt.Fprintf(w, "  %s: %s\n", e.Name, q.words())
	}
}
