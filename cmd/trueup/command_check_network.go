package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"sync"

	"github.com/rs/zerolog"

	"trueup/dmx/sacn"
	"trueup/loop/session"
	"trueup/loop/session/rig"
)

// checkWays tries the ways out: the interfaces of multicast, and the route to
// every receiver.
func checkWays(ctx context.Context, w io.Writer, r *rig.Rig) error {
	fail := func(err error) error { return fmt.Errorf("%s: output: %w", r.Path, err) }
	var faults []error
	fmt.Fprintln(w, "ways out:")
	if r.Output.Multicast {
		names, err := sacn.SendInterfaces(r.Output.Interfaces)
		if err != nil {
			faults = append(faults, fail(err))
		}
		for _, name := range names {
			state := "ready"
			if err := sacn.HasLink(name); err != nil {
				state = "out of use"
				faults = append(faults, fail(err))
			}
			fmt.Fprintf(w, "  multicast by %s: %s\n", name, state)
		}
	}
	type answer struct {
		via string
		err error
	}
	answers := make([]answer, len(r.Output.Unicast))
	var all sync.WaitGroup
	for i, to := range r.Output.Unicast {
		all.Go(func() { answers[i].via, answers[i].err = sacn.Reach(ctx, to) })
	}
	all.Wait()
	for i, to := range r.Output.Unicast {
		a, by := answers[i], ""
		if a.via != "" {
			by = " by " + a.via
		}
		if a.err != nil {
			fmt.Fprintf(w, "  %v%s: not reached\n", to, by)
			faults = append(faults, fail(fmt.Errorf("unicast %v: %w", to, a.err)))
			continue
		}
		fmt.Fprintf(w, "  %v%s: there is a way\n", to, by)
	}
	return errors.Join(faults...)
}

// checkSources listens on the universes of the rig for as long as a run does
// before its first frame, shows who sends there, and says what a run would say.
// It listens by multicast whichever way the rig sends: a desk does not choose
// its way by ours.
func checkSources(ctx context.Context, w io.Writer, r *rig.Rig) error {
	universes := r.Universes()
	if len(universes) == 0 || r.Output.Mode == rig.Own && r.Output.Local() {
		return nil
	}
	fail := func(err error) error { return fmt.Errorf("%s: output: %w", r.Path, err) }
	dir, err := configDir()
	if err != nil {
		return fail(err)
	}
	cid, err := installationCID(dir)
	if err != nil {
		return fail(fmt.Errorf("identity of this installation: %w", err))
	}
	heard, survey, err := openSurvey(ctx, r, session.ListenConfig(r, cid, universes, zerolog.Nop()))
	if err != nil {
		return fail(fmt.Errorf("listening to other sources: %w", err))
	}
	run, cancel := context.WithCancel(ctx)
	var reading sync.WaitGroup
	reading.Go(func() { _ = heard.Run(run) })
	err = survey()
	sources := heard.Sources()
	cancel()
	reading.Wait()
	sources = slices.DeleteFunc(sources, func(s sacn.SourceInfo) bool { return !slices.Contains(universes, s.Universe) })
	fmt.Fprintf(w, "heard on universe %s within %s:\n", universeList(universes), sacn.ListenTime)
	if len(sources) == 0 {
		fmt.Fprintln(w, "  nobody")
	} else {
		fmt.Fprint(w, sourceTable(sources, nil, nil))
	}
	if err != nil {
		return fail(err)
	}
	return nil
}

// openSurvey opens what a run of r listens with, and gives the survey it would make.
func openSurvey(ctx context.Context, r *rig.Rig, cfg sacn.ReceiverConfig) (*sacn.Receiver, func() error, error) {
	if r.Output.Mode == rig.Own {
		alone, err := sacn.NewContention(cfg, r.Output.Priority)
		if err != nil {
			return nil, nil, err
		}
		return alone.Receiver, func() error {
			_, err := alone.Survey(ctx)
			return err
		}, nil
	}
	base, err := sacn.NewBase(cfg)
	if err != nil {
		return nil, nil, err
	}
	return base.Receiver, func() error {
		_, err := base.Survey(ctx, cfg.Universes, session.WantedPriority(r))
		return errors.Join(err, session.DeskOnAll(base, cfg.Universes))
	}, nil
}
