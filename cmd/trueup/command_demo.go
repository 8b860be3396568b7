package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"trueup/colorcalc"
	"trueup/examples"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

func newDemoCommand() *cobra.Command {
	var seed uint64
	c := &cobra.Command{
		Use:   "demo",
		Short: "Match a simulated stage on this machine: nine fixtures, one meter, under a minute",
		Long: `Starts the simulated stage as a process of its own and matches it over real sockets on 127.0.0.1: levels go out as
E1.31, readings come back over TCP. Nothing leaves this machine. At the end the stage tells its own truth, and the table shows
it beside what was measured.

Exit codes: 0 every fixture that can reach the reference truly stands within 0.0015 of it, and the one that cannot is named;
1 not so, or a fault; 2 wrong command line; 3 stopped by a person or a signal.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return demo(c, seed) },
	}
	c.Flags().Uint64Var(&seed, "seed", 0, "another draw of fixtures and meter (0: the stage file's own)")
	return c
}

func demo(c *cobra.Command, seed uint64) error {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	dir, err := os.MkdirTemp("", "trueup-demo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if err := os.CopyFS(dir, examples.Files); err != nil {
		return fmt.Errorf("unpacking the demo rig: %w", err)
	}
	rigPath := filepath.Join(dir, "demo", "rig.yaml")
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	st, err := startStage(ctx, rigPath, seed, c.ErrOrStderr())
	if err != nil {
		return err
	}
	defer st.stop()
	r, err := rig.Load(rigPath)
	if err != nil {
		return err
	}
	toStage(r, st.ready.SACN, st.ready.Meter)
	j, err := newJob(r, core.Match, set, set.logger(c.ErrOrStderr()))
	if err != nil {
		return err
	}
	truth := map[string]colorcalc.UV{}
	var truthErr error
	// A lamp's truth is asked for while it stands where it was judged.
	j.Listen = func(e session.Entry) {
		if e.Kind == core.KindReference || e.Kind == core.KindOutcome || e.Kind == core.KindVerify {
			if err := st.addTruth(ctx, e.Fixture, truth); err != nil {
				truthErr = errors.Join(truthErr, err)
			}
		}
	}
	began := time.Now()
	// On a simulated stage nobody stands in front of a lamp: nothing is asked.
	sig := catchSignals(ctx, c.OutOrStdout())
	defer sig.stop()
	showPlan(c.OutOrStdout(), j)
	res, runErr := runJob(c, sig, set, j)
	if runErr != nil {
		if stopped(runErr) {
			return &exitError{exitStopped, runErr}
		}
		return runErr
	}
	if truthErr != nil {
		return fmt.Errorf("asking the stage for its truth: %w", truthErr)
	}
	ok := printDemo(c.OutOrStdout(), res, truth)
	fmt.Fprintf(c.OutOrStdout(), "took %.0f s; report, settings and journal: %s\n", time.Since(began).Seconds(), res.Dir)
	if !ok {
		return &exitError{exitNotAll, errors.New("a fixture is not where it was said to be")}
	}
	return nil
}

// trueLimit is how far a landed lamp may truly stand from the reference: one
// and a half times the default tolerance.
const trueLimit = 0.0015

// printDemo shows what was measured beside the stage's own truth, and reports
// whether both agree: landed lamps are truly near, and nothing that can reach
// the reference was called out of reach.
func printDemo(w io.Writer, res *session.Result, truth map[string]colorcalc.UV) bool {
	s := res.Summary
	reference, ok := truth[s.Reference.Name]
	fmt.Fprintln(w)
	tw := tabwriter.NewWriter(w, 0, 4, 2, ' ', 0)
	fmt.Fprintln(tw, "fixture\tas found\tnow\treadings\toutcome\ttruth of the stage\tin words")
	for _, f := range s.Fixtures {
		o := f.Final()
		if f.Fixed || o == nil {
			ok = ok && f.Fixed
			continue
		}
		t, known := truth[f.Name]
		ok = ok && known
		d := t.Dist(reference)
		reached := o.Landed() && d <= trueLimit
		if !reached && o.Result != solve.OutOfReach {
			ok = false
		}
		fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\t%.4f\t%s\n", f.Name, foundOf(o), deltaOf(o.Final), f.Readings, o.Result, d, wordsOf(o))
	}
	tw.Flush()
	for _, f := range s.Fixtures {
		if o := f.Final(); o != nil && o.Advice != "" {
			fmt.Fprintf(w, "%s: %s\n", f.Name, o.Advice)
		}
	}
	return ok
}

// stageProcess is the simulated stage, running as a process of its own.
type stageProcess struct {
	cmd   *exec.Cmd
	ready stageReady
}

// stageReady is the first line that the stage prints.
type stageReady struct {
	SACN  netip.AddrPort `json:"sacn"`
	Meter string         `json:"meter"`
	Truth string         `json:"truth"`
}

// startStage starts this program again as the stage, on free ports of the
// loopback interface, and waits for its first line.
func startStage(ctx context.Context, rigPath string, seed uint64, stderr io.Writer) (*stageProcess, error) {
	exe, err := os.Executable()
	if err != nil {
		return nil, err
	}
	args := []string{"stage", rigPath, "--sacn", "127.0.0.1:0", "--meter", "127.0.0.1:0", "--truth=127.0.0.1:0", "--json"}
	if seed != 0 {
		args = append(args, "--seed", fmt.Sprint(seed))
	}
	cmd := exec.CommandContext(ctx, exe, args...)
	cmd.Stderr = stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("starting the stage: %w", err)
	}
	s := &stageProcess{cmd: cmd}
	line, err := bufio.NewReader(out).ReadBytes('\n')
	if err == nil {
		err = json.Unmarshal(line, &s.ready)
	}
	if err != nil {
		s.stop()
		return nil, fmt.Errorf("starting the stage: it said %q: %w", line, err)
	}
	go io.Copy(io.Discard, out)
	return s, nil
}

func (s *stageProcess) stop() {
	s.cmd.Process.Signal(os.Interrupt)
	done := make(chan struct{})
	go func() { s.cmd.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(3 * time.Second):
		s.cmd.Process.Kill()
		<-done
	}
}

// addTruth asks the stage where a lamp truly stands at this moment, alone at
// its mark and without noise.
func (s *stageProcess) addTruth(ctx context.Context, fixture string, into map[string]colorcalc.UV) error {
	all, err := stage.AskTruth(ctx, s.ready.Truth)
	if err != nil {
		return err
	}
	for _, t := range all {
		if t.Fixture == fixture {
			into[fixture] = colorcalc.XY{X: t.X, Y: t.Y}.UV()
		}
	}
	return nil
}
