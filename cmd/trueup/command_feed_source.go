package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/rs/zerolog"
	"github.com/spf13/cobra"

	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// correctionsName is the file beside a rig that keeps how its probes were
// brought into agreement.
const correctionsName = "probes.yaml"

// feedBase is what every feed of a run has in common: the machine's settings
// and secrets, the corrections beside the rig, and the person to ask.
func feedBase(set *settings, rigPath string, log zerolog.Logger, ask feed.Asker) (feed.Config, error) {
	c := feed.DefaultConfig()
	c.Log, c.AllowExec, c.Ask = log, set.AllowExec, ask
	var err error
	if c.Secrets, err = loadSecrets(); err != nil {
		return c, err
	}
	if rigPath != "" {
		c.Dir = filepath.Dir(rigPath)
		if c.Corrections, err = feed.LoadCorrections(filepath.Join(c.Dir, correctionsName)); err != nil {
			return c, err
		}
	}
	return c, nil
}

// sourceOptions say which feeds a command reads: those of a rig, or one that is
// described on the command line.
type sourceOptions struct {
	kind, address, from string
}

func (o *sourceOptions) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&o.kind, "kind", "", "transport: tcp, tcp-listen, udp, osc, stdin, file, serial, exec, http, mqtt, hand (default: tcp with an address, else stdin)")
	f.StringVar(&o.address, "address", "", "host:port, port name, path, command or broker URL of the instrument")
	f.StringVar(&o.from, "from", "", "read this recording instead of the instrument")
}

// feedSource is the feeds of a command and what is known of them.
type feedSource struct {
	configs []feed.Config
	rigPath string // "" for an instrument alone
}

// load reads FILE, a rig or an instrument description; "" is JSON lines of our
// own.
func (o *sourceOptions) load(c *cobra.Command, file string) (*feedSource, error) {
	set, err := loadSettings(c.Flags())
	if err != nil {
		return nil, &exitError{exitNotAll, err}
	}
	level, err := set.Level()
	if err != nil {
		return nil, &exitError{exitNotAll, err}
	}
	log := zerolog.New(zerolog.ConsoleWriter{Out: c.ErrOrStderr(), TimeFormat: time.TimeOnly, NoColor: true}).Level(level).With().Timestamp().Logger()
	isRig, err := looksLikeRig(file)
	if err != nil {
		return nil, &exitError{exitNotAll, err}
	}
	s := &feedSource{}
	if isRig {
		s.rigPath = file
	}
	base, err := feedBase(set, s.rigPath, log, newTerminal(c.InOrStdin(), c.ErrOrStderr()).ask)
	if err != nil {
		return nil, &exitError{exitNotAll, err}
	}
	if isRig {
		if o.kind != "" || o.address != "" {
			return nil, usageError("%s says where its feeds are; --kind and --address go with an instrument", file)
		}
		r, err := rig.Load(file)
		if err != nil {
			return nil, shownErrors(c.ErrOrStderr(), err)
		}
		for _, f := range r.Feeds {
			k, err := session.FeedConfig(f, base)
			if err != nil {
				return nil, shownErrors(c.ErrOrStderr(), err)
			}
			s.configs = append(s.configs, k)
		}
		if len(s.configs) == 0 {
			return nil, &exitError{exitNotAll, fmt.Errorf("%s has no feed; add one under feeds:", file)}
		}
	} else {
		k := base
		k.Name, k.Kind, k.Address = "instrument", o.kind, o.address
		if file != "" {
			if k.Instrument, err = feed.LoadInstrument(file); err != nil {
				return nil, shownErrors(c.ErrOrStderr(), err)
			}
			k.Name = k.Instrument.Name
			k.Latency, k.Integration = k.Instrument.Latency, k.Instrument.Integration
		}
		if k.Kind == "" {
			k.Kind = "stdin"
			if k.Address != "" {
				k.Kind = "tcp"
			}
		}
		s.configs = append(s.configs, k)
	}
	for i := range s.configs {
		k := &s.configs[i]
		k.Input = c.InOrStdin()
		if o.from != "" {
			k.Kind, k.Address = "replay", o.from
		}
	}
	if o.from != "" && len(s.configs) > 1 {
		return nil, usageError("--from replays one feed, and %s has %d; name the instrument instead", file, len(s.configs))
	}
	return s, nil
}

// looksLikeRig tells a rig from an instrument by its first keys.
func looksLikeRig(path string) (bool, error) {
	if path == "" {
		return false, nil
	}
	data, err := userfile.Read(path, userfile.RigOrMeter)
	if err != nil {
		return false, err
	}
	doc, _ := yamlfile.Decode(path, data, &struct{}{}) // only its keys are asked for
	if doc == nil {
		// Not YAML: the strict reader says where. It is more likely to be what
		// the commands of this family are mostly given.
		return strings.Contains(string(data), "\nfixtures:"), nil
	}
	return doc.Has("$.fixtures") || doc.Has("$.rig"), nil
}

// shownErrors prints a file's errors with their excerpts; the returned error
// only carries the exit code.
func shownErrors(w io.Writer, err error) error {
	var all yamlfile.Errors
	if !errors.As(err, &all) {
		return &exitError{exitNotAll, err}
	}
	for _, e := range all {
		one := *e
		one.Hint, one.Excerpt = "", ""
		fmt.Fprintf(w, "error: %s\n", one.Error())
		if e.Excerpt != "" {
			fmt.Fprintln(w, e.Excerpt)
		}
		if e.Hint != "" {
			fmt.Fprintf(w, "hint: %s\n", e.Hint)
		}
	}
	return &exitError{exitNotAll, nil}
}

// open opens every feed of the source.
func (s *feedSource) open(ctx context.Context) ([]*feed.Feed, func(), error) {
	var feeds []*feed.Feed
	closeAll := func() {
		for _, f := range feeds {
			f.Close()
		}
	}
	for _, c := range s.configs {
		f, err := feed.Open(ctx, c)
		if err != nil {
			closeAll()
			return nil, nil, &exitError{exitNotAll, err}
		}
		feeds = append(feeds, f)
	}
	return feeds, closeAll, nil
}
