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
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"trueup/loop/session/rig"
	"trueup/loop/stage"
)

type stageOptions struct {
	file, sacn, meter, truth string
	seed                     uint64
	json, schema             bool
}

func newStageCommand() *cobra.Command {
	var o stageOptions
	c := &cobra.Command{
		Use:   "stage RIG",
		Short: "Put a simulated rig on a simulated stage, behind real sockets",
		Long: `Stands in for a hall: takes levels as sACN (E1.31) and gives readings as JSON lines over TCP, one line for each reading of
each probe of the rig. The lamps are spectra that differ from unit to unit, warm up, and are dimmed by laws of their own; the
meter has noise and a window. What stands on the stage is said in a stage file (default: stage.yaml beside the rig); without
one, ordinary lamps stand where the rig has fixtures. examples/reference-stage.yaml shows every key, --schema prints the JSON Schema.

The first line on standard output says where the stage listens. It runs until it is stopped.`,
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
			e := json.NewEncoder(c.OutOrStdout())
			e.SetIndent("", "  ")
			return e.Encode(stage.Schema())
		},
	}
	f := c.Flags()
	f.StringVar(&o.file, "stage", "", "stage file (default: stage.yaml beside the rig, if there is one)")
	f.StringVar(&o.sacn, "sacn", "127.0.0.1:5568", "address and UDP port to take levels at; port 0 takes a free one")
	f.StringVar(&o.meter, "meter", "127.0.0.1:7311", "address and TCP port to give readings at; port 0 takes a free one")
	f.StringVar(&o.truth, "truth", "", "give the noise-free light of every fixture at this TCP address to whoever sends a line; for tests")
	f.Lookup("truth").NoOptDefVal = "127.0.0.1:0"
	f.Uint64Var(&o.seed, "seed", 0, "another draw of lamps and meter (0: the stage file's own)")
	f.BoolVar(&o.schema, "schema", false, "print the JSON Schema of the stage file, and stop")
	f.BoolVar(&o.json, "json", false, "say where the stage listens as a JSON object")
	return c
}

// build reads the files and sets the stage.
func (o *stageOptions) build(rigPath string) (*stage.Hall, error) {
	r, err := rig.Load(rigPath)
	if err != nil {
		return nil, err
	}
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
	at, err := netip.ParseAddrPort(o.sacn)
	if err != nil {
		return usageError("--sacn %q: want an address and a port, such as 127.0.0.1:5568", o.sacn)
	}
	h, err := o.build(rigPath)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	log := zerolog.New(zerolog.ConsoleWriter{Out: c.ErrOrStderr(), TimeFormat: time.TimeOnly, NoColor: true}).With().Timestamp().Logger()
	s, err := stage.Listen(h, stage.ServeConfig{SACN: at, Meter: o.meter, Truth: o.truth, Log: log})
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt)
	defer cancel()
	where := struct {
		SACN  string `json:"sacn"`
		Meter string `json:"meter"`
		Truth string `json:"truth,omitempty"`
	}{s.SACN().String(), s.Meter(), s.Truth()}
	if o.json {
		err = json.NewEncoder(c.OutOrStdout()).Encode(where)
	} else {
		truth := ""
		if where.Truth != "" {
			truth = ", truth at tcp " + where.Truth
		}
		_, err = fmt.Fprintf(c.OutOrStdout(), "stage ready: levels at udp %s, readings at tcp %s%s\n", where.SACN, where.Meter, truth)
	}
	if err != nil {
		cancel() // whoever started us has gone; Run closes the sockets
	}
	return errors.Join(err, s.Run(ctx))
}
