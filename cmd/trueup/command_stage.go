package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"net/netip"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"trueup/cmd/trueup/report"
	"trueup/dmx/sacn"
	"trueup/loop/session/rig"
	"trueup/loop/stage"
)

// loopback is this machine alone; usualMeter the port that the examples name.
var loopback = netip.AddrFrom4([4]byte{127, 0, 0, 1})

const usualMeter = 7311

type stageOptions struct {
	file, sacn, meter, truth string
	seed                     uint64
	json, schema, desk       bool
}

func newStageCommand() *cobra.Command {
	var o stageOptions
	c := &cobra.Command{
		Use:   "stage RIG",
		Short: "Simulate a stage: receive sACN, return meter readings",
		Long: `Simulates a stage: receives sACN (E1.31) and returns meter readings as JSON lines over TCP, one line for each reading of
each probe of the rig. The fixtures are spectra that differ from unit to unit, warm up, and dim by laws of their own; the
meter has noise and an integration time. What stands on the stage is said in a stage file (default: stage.yaml beside the rig);
without one, ordinary fixtures stand where the rig has them. examples/reference-stage.yaml shows every key.

It takes the ports 5568 (5569 with --desk) and 7311 if they are free, else others. The first line on standard output says where the stage
listens, the next ones what to type in another terminal. It runs until Ctrl-C.

With --desk it also plays a lighting desk to this machine alone, one on a machine: the rig's fixtures at a fifth of their light, and a slow fade on all
other slots. A rig with mode: overlay can be tried beside it.

Fixtures that are set by hand stand on the stage too. In the terminal of the stage you are the person at their knobs, and at the
meter: "key INT 40 CCT 5600" turns knobs of the fixture key, "key off" puts it out, "read" says what the meter shows now.

Exit codes: 0 stopped by Ctrl-C; 1 the rig, the stage file or an address cannot be used; 2 wrong command line.`,
		Args: func(c *cobra.Command, args []string) error {
			if o.schema {
				return nil
			}
			return oneRig(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if !o.schema {
				return o.run(c, args[0])
			}
			return report.JSON(data(c), stage.Schema())
		},
	}
	f := c.Flags()
	f.StringVar(&o.file, "stage", "", "stage file (default: stage.yaml beside the rig, if there is one)")
	f.StringVar(&o.sacn, "sacn", "", "address and UDP port to take levels at; port 0 takes a free one (default: 127.0.0.1, port 5568, with --desk 5569, or a free one)")
	f.StringVar(&o.meter, "meter", "", "address and TCP port to give readings at; port 0 takes a free one (default: 127.0.0.1, port 7311 or a free one)")
	f.StringVar(&o.truth, "truth", "", "give the noise-free light of every fixture at this TCP address to whoever sends a line; for tests")
	f.Lookup("truth").NoOptDefVal = "127.0.0.1:0"
	f.Uint64Var(&o.seed, "seed", 0, "another draw of fixtures and meter (0: the stage file's own)")
	f.BoolVar(&o.desk, "desk", false, "also play a lighting desk, to this machine alone")
	f.BoolVar(&o.schema, "schema", false, "print the JSON Schema of the stage file, and stop")
	f.BoolVar(&o.json, "json", false, "say where the stage listens as a JSON object")
	return c
}

// build reads the files and sets the stage.
func (o *stageOptions) build(r *rig.Rig, rigPath string) (*stage.Hall, error) {
	path := o.file
	if path == "" {
		path = filepath.Join(filepath.Dir(rigPath), "stage.yaml")
	}
	f, err := stage.LoadFile(path)
	if errors.Is(err, fs.ErrNotExist) && o.file == "" {
		f, err = &stage.File{}, nil
	}
	if err != nil {
		return nil, err
	}
	if o.seed != 0 {
		f.Seed = o.seed
	}
	return stage.Build(r, f)
}

func (o *stageOptions) run(c *cobra.Command, rigPath string) error {
	at := netip.AddrPortFrom(loopback, o.levelsPort())
	if o.sacn != "" {
		var err error
		if at, err = netip.ParseAddrPort(o.sacn); err != nil {
			return usageError("--sacn %q: want an address and a port, such as 127.0.0.1:5568", o.sacn)
		}
	}
	if err := errors.Join(wantAddress("meter", o.meter, "127.0.0.1:7311"), wantAddress("truth", o.truth, "127.0.0.1:7312")); err != nil {
		return err
	}
	r, err := rig.Load(rigPath)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	h, err := o.build(r, rigPath)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	log := zerolog.New(zerolog.ConsoleWriter{Out: c.ErrOrStderr(), TimeFormat: time.TimeOnly, NoColor: true}).With().Timestamp().Logger()
	s, err := o.listen(h, stage.ServeConfig{SACN: at, Meter: o.meter, Truth: o.truth, Log: log})
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt)
	defer cancel()
	var d *stage.Desk
	if o.desk { // before anybody is told that the stage is ready
		if d, err = stage.NewDesk(r, s.SACN(), netip.AddrPortFrom(loopback, sacn.Port)); err != nil {
			cancel()
			return &exitError{exitNotAll, errors.Join(err, s.Run(ctx))}
		}
	}
	where := struct {
		SACN  string `json:"sacn"`
		Meter string `json:"meter"`
		Truth string `json:"truth,omitempty"`
	}{s.SACN().String(), s.Meter(), s.Truth()}
	if o.json {
		err = json.NewEncoder(data(c)).Encode(where)
	} else {
		truth := ""
		if where.Truth != "" {
			truth = ", truth at tcp " + where.Truth
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "stage ready: levels at udp %s, readings at tcp %s%s\n%s", where.SACN, where.Meter, truth, whatToType(r, rigPath, where.SACN, where.Meter))
	}
	if err != nil {
		cancel() // whoever started us has gone; Run closes the sockets
	}
	if p := (&person{rig: r, stage: s, out: c.OutOrStdout()}); p.wanted() && err == nil {
		fmt.Fprint(p.out, p.help())
		go p.listen(ctx, c.InOrStdin()) // ends with the input: a terminal can not be woken
	}
	if d == nil {
		return errors.Join(err, s.Run(ctx))
	}
	var desk sync.WaitGroup
	desk.Go(func() { d.Run(ctx) })
	err = errors.Join(err, s.Run(ctx))
	cancel()
	desk.Wait()
	return err
}

// levelsPort is the port to try first. Beside a desk that is played, 5568 is
// left to the run that has to hear it.
func (o *stageOptions) levelsPort() uint16 {
	if o.desk {
		return sacn.Port + 1
	}
	return sacn.Port
}

// listen opens the sockets; where an address was not given and its usual port is
// in use, a free one is taken.
func (o *stageOptions) listen(h *stage.Hall, cfg stage.ServeConfig) (*stage.Server, error) {
	if o.sacn == "" && cfg.SACN.Port() != 0 {
		cfg.SACN = stage.UsualOrFree(cfg.SACN)
	}
	if cfg.Meter == "" {
		cfg.Meter = stage.UsualOrFreeTCP(netip.AddrPortFrom(loopback, usualMeter))
	}
	return stage.Listen(h, cfg)
}

// whatToType says how to work with the rig on this stage.
func whatToType(r *rig.Rig, path, levels, meter string) string {
	path = typed(path)
	where := " --stage " + levels + "," + meter
	if meets(r, levels, meter) {
		where = "" // the rig file says so itself
	}
	byHand := slices.ContainsFunc(r.Fixtures, func(f rig.Fixture) bool { return f.ByHand })
	hears := slices.ContainsFunc(r.Feeds, func(f rig.Feed) bool { return f.Kind != "hand" })
	sent := slices.ContainsFunc(r.Fixtures, func(f rig.Fixture) bool { return f.Sent() })
	text := "type in another terminal:\n  trueup check " + path + where + "\n"
	if sent && (hears || !byHand) {
		text += "  trueup match " + path + " --live" + where + "\n"
	}
	if byHand {
		text += "  trueup byhand " + path + "\n"
	}
	return text
}

// meets is whether the rig's own output and feeds are at the stage.
func meets(r *rig.Rig, levels, meter string) bool {
	return !r.Output.Multicast && len(r.Output.Unicast) == 1 && r.Output.Unicast[0].String() == levels &&
		!slices.ContainsFunc(r.Feeds, func(f rig.Feed) bool { return f.Kind != "hand" && f.Address != meter })
}
