package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"time"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/page"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/safety"
)

// pageFlags are those of every command that serves the page.
type pageFlags struct {
	tls      bool
	names    []string
	presence time.Duration
	metrics  string
}

func (f *pageFlags) add(c *cobra.Command) {
	c.Flags().BoolVar(&f.tls, "tls", false, "serve by TLS, with a certificate that this machine makes for itself; browsers warn once, compare the fingerprint")
	c.Flags().StringSliceVar(&f.names, "page-name", nil, "further names by which browsers may call this machine, with commas")
	c.Flags().DurationVar(&f.presence, "presence", 0, "end a run gently when the page of whoever operates has been gone for so long, such as 30s (default: never)")
	c.Flags().StringVar(&f.metrics, "metrics", "", "also give metrics for Prometheus at this address, such as 127.0.0.1:9780; whoever reaches it may read them")
}

// check refuses what a flag can not mean.
func (f *pageFlags) check() error {
	if f.presence != 0 && (f.presence < leastPresence || f.presence > time.Hour) {
		return usageError("--presence %v: want %v to 1h; a phone in a pocket is gone for a while", f.presence, leastPresence)
	}
	return wantAddress("metrics", f.metrics, "127.0.0.1:9780")
}

// leastPresence is well above what a page's own signs of life and a short hole in a wireless network take.
const leastPresence = 10 * time.Second

func newServeCommand() *cobra.Command {
	var f pageFlags
	var stage string
	c := &cobra.Command{
		Use:   "serve RIG",
		Short: "Run the whole job from a phone at the fixture: a local web page",
		Long: `Serves one page that checks the rig, starts a survey, a match, a verification or a recall, shows it, holds, skips and stops it, asks what a
person reads or dials, and hands over report, settings sheet and cues. Nothing moves until somebody there says that people are warned and the stage
is clear. Every action goes through the same limits as the commands.

It listens on this machine alone unless --page-address (or page_address in the settings) names another address. Then each page must be paired: open the
address with the key, or read the QR code. A key opens one page; the next one is shown when it was used. Without --tls whoever listens to the network
can read and copy what goes by.

One page operates, the others look on; any of them may stop the run. Ctrl-C ends a run gently, then the program; a second Ctrl-C leaves the levels.`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error { return serve(c, args[0], stage, f) },
	}
	f.add(c)
	addStageFlag(c, &stage)
	return c
}

func serve(c *cobra.Command, path, stage string, f pageFlags) error {
	if err := f.check(); err != nil {
		return err
	}
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitUsage, err}
	}
	r, err := rig.Load(path)
	if err != nil {
		return err
	}
	if err := onStage(r, stage); err != nil {
		return err
	}
	out := c.OutOrStdout()
	sig := catchSignals(context.Background(), out)
	defer sig.stop()
	jobs := &pageJobs{set: set, path: path, stage: stage, sig: sig, out: out, log: set.logger(c.ErrOrStderr())}
	board := page.NewBoard(r.Name, epoch(), plainWords())
	if jobs.site, err = openSite(sig.ctx, set, board, jobs.log); err != nil {
		return err
	}
	defer jobs.site.close()
	jobs.shares = startSharing(sig.ctx, set, out)
	defer jobs.shares.close()
	control := page.NewControl(sig.ctx, board, jobs.prepare)
	p, err := openPage(sig.ctx, out, set, r.Name, f, board, control, jobs)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\n%s\n\nCtrl-C ends\n", safety.CautionsShort)
	select {
	case <-sig.ctx.Done():
	case err = <-p.broke:
		sig.cancel(err)
	}
	control.Wait() // lamps are handed back while pages can still look
	p.close()
	return err
}

// openedPage is a page that is served.
type openedPage struct {
	end   context.CancelFunc
	broke chan error
	over  chan struct{}
}

func (p *openedPage) close() {
	p.end()
	<-p.over
}

// openPage serves a page, and says where. jobs is nil where the page shows a run of the terminal.
func openPage(ctx context.Context, out io.Writer, set *settings, rigName string, f pageFlags, board *page.Board, control *page.Control, jobs *pageJobs) (*openedPage, error) {
	dir, err := configDir()
	if err != nil {
		return nil, err
	}
	cfg := page.Config{Program: "trueup " + version(), Names: f.names, Presence: f.presence, OutRoot: set.Out, RigName: rigName, Log: set.logger(io.Discard)}
	if cfg.Secret, err = page.Secret(dir); err != nil {
		return nil, err
	}
	if f.tls {
		if cfg.TLS, err = page.Certificate(dir, time.Now()); err != nil {
			return nil, err
		}
	}
	if jobs != nil {
		cfg.Log, cfg.Rig, cfg.Check = jobs.log, jobs.load, jobs.check
	}
	var srv *page.Server
	cfg.Paired = func() { showInvitation(out, srv, nil, true) }
	srv, l, err := page.Listen(cfg, board, control, set.Page)
	if err != nil {
		return nil, fmt.Errorf("page: %w; choose another with --page-address", err)
	}
	showInvitation(out, srv, cfg.TLS, false)
	during, end := context.WithCancel(context.WithoutCancel(ctx))
	p := &openedPage{end: end, broke: make(chan error, 1), over: make(chan struct{})}
	if f.metrics != "" {
		m, err := net.Listen("tcp", f.metrics)
		if err != nil {
			end()
			return nil, errors.Join(fmt.Errorf("metrics: %w", err), l.Close())
		}
		fmt.Fprintf(out, "metrics: http://%s/metrics\n", m.Addr())
		go page.ServeMetrics(during, m, control)
	}
	go board.Run(during)
	go func() {
		defer close(p.over)
		if err := srv.Serve(during, l); err != nil {
			p.broke <- fmt.Errorf("page: %w", err)
		}
	}()
	return p, nil
}

// showInvitation says where the page is, as an address and as a QR code.
func showInvitation(out io.Writer, srv *page.Server, cert *tls.Certificate, again bool) {
	i, err := srv.Invite()
	if err != nil {
		fmt.Fprintf(out, "page: %v\n", err)
		return
	}
	if again {
		fmt.Fprintf(out, "a page was paired; the next one opens %s\n", i.Address)
		return
	}
	fmt.Fprintf(out, "page: %s\n", i.Address)
	if cert != nil {
		fmt.Fprintf(out, "certificate, SHA-256: %s\n", page.Fingerprint(cert))
	}
	if srv.Open() {
		fmt.Fprintln(out, "on this machine alone; for a phone: --page-address 0.0.0.0:7780")
		return
	}
	if isTerminal(out) {
		fmt.Fprint(out, i.CodeText())
	}
}

// epoch names this start of the program.
func epoch() string { return fmt.Sprintf("%x", time.Now().UnixNano()) }

// plainWords gives the plain line of each entry of a run, as a terminal shows it.
func plainWords() func(session.Entry) string {
	p := newProgress(io.Discard)
	return func(e session.Entry) string {
		if e.Kind == core.KindRun {
			p = newProgress(io.Discard)
		}
		line, _ := p.quietly(e)
		return line
	}
}
