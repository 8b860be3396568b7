package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/netip"
	"os"
	"os/signal"
	"strconv"
	"strings"
	"sync"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/session/rig"
)

type listenOptions struct {
	universes  string
	interfaces []string
	at         string
	unicast    bool
	duration   time.Duration
	json       bool
}

func newListenCommand() *cobra.Command {
	var o listenOptions
	c := &cobra.Command{
		Use:   "listen",
		Short: "Show who sends what on the lighting network, live",
		Long: `Listen to sACN (E1.31) and show every source on every universe: its priority,
rate, losses, and what becomes of it. Nothing is sent.

Without --universe, what sources announce is joined by itself; a source that
announces nothing is seen only on universes that are named.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return o.run(c) },
	}
	f := c.Flags()
	f.StringVar(&o.universes, "universe", "", "universes to listen to, such as 1..4,7")
	f.StringSliceVar(&o.interfaces, "interfaces", nil, "network interfaces to listen on (default: the one of the settings, else all that are up)")
	f.StringVar(&o.at, "at", "0.0.0.0:5568", "address and port to listen at")
	f.BoolVar(&o.unicast, "unicast", false, "join no multicast group: hear only what is sent to this machine")
	f.DurationVar(&o.duration, "for", 0, "stop after this time, such as 10s (default: until stopped)")
	f.BoolVar(&o.json, "json", false, "print one JSON object a second")
	return c
}

func (o *listenOptions) config() (sacn.ReceiverConfig, error) {
	at, err := netip.ParseAddrPort(o.at)
	if err != nil {
		return sacn.ReceiverConfig{}, usageError("--at %q: want an address and a port, such as 0.0.0.0:5568", o.at)
	}
	if o.duration < 0 {
		return sacn.ReceiverConfig{}, usageError("--for %v: a time to come is wanted", o.duration)
	}
	cfg := sacn.ReceiverConfig{Listen: at, Multicast: !o.unicast, Discover: !o.unicast, Interfaces: o.interfaces}
	if o.universes != "" {
		if cfg.Universes, err = dmx.ParseUniverses(o.universes, sacn.MaxUniverses); err != nil {
			return cfg, usageError("--universe: %v", err)
		}
	}
	if o.unicast && len(o.interfaces) > 0 {
		return cfg, usageError("--interfaces chooses where to join groups, and --unicast joins none: give one of them")
	}
	return cfg, nil
}

func (o *listenOptions) run(c *cobra.Command) error {
	cfg, err := o.config()
	if err != nil {
		return err
	}
	set, err := loadSettings(c.Flags())
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	if len(cfg.Interfaces) == 0 && set.Interface != "" && !o.unicast {
		cfg.Interfaces = []string{set.Interface}
	}
	cfg.IP = rig.IPv6Use(set.IPv6).Versions()
	if !c.Flags().Changed("at") && cfg.IP == sacn.IPv6 {
		cfg.Listen = netip.AddrPort{}
	}
	out := &lockedWriter{w: c.OutOrStdout()}
	if o.json {
		out.w = data(c)
	}
	live := isTerminal(c.OutOrStdout()) && !o.json
	if !live && !o.json {
		cfg.OnEvent = func(e sacn.Event) { fmt.Fprintf(out, "%s %s\n", e.At.Format("15:04:05.000"), e) }
	}
	r, err := sacn.NewReceiver(cfg)
	if err != nil {
		return &exitError{exitNotAll, err}
	}
	fmt.Fprintf(c.ErrOrStderr(), "listening at %v; stop with Ctrl-C\n", r.LocalAddr())
	ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt)
	defer cancel()
	if o.duration > 0 {
		ctx, cancel = context.WithTimeout(ctx, o.duration)
		defer cancel()
	}
	done := make(chan error, 1)
	go func() { done <- r.Run(ctx) }()
	second := time.NewTicker(time.Second)
	defer second.Stop()
	for {
		select {
		case <-second.C:
			if o.json {
				err = printJSON(out, r)
			} else if live {
				io.WriteString(screen(c.OutOrStdout()), "\x1b[H\x1b[2J")
				_, err = io.WriteString(out, sourceTable(r.Sources(), r.Listings(), r.Refused()))
			}
			if err != nil { // whoever read us has gone
				cancel()
				<-done
				return &exitError{exitNotAll, err}
			}
		case err := <-done:
			if err != nil {
				return &exitError{exitNotAll, err}
			}
			return o.last(out, r)
		}
	}
}

// last prints how things stood at the end.
func (o *listenOptions) last(out io.Writer, r *sacn.Receiver) error {
	if o.json {
		return printJSON(out, r)
	}
	sources := r.Sources()
	io.WriteString(out, sourceTable(sources, r.Listings(), r.Refused()))
	if len(sources) == 0 {
		return &exitError{exitNotAll, errors.New("no source was heard (is this the interface of the lighting network? a source that does not announce its universes needs --universe)")}
	}
	return nil
}

// sourceTable is what is known, as lines for a person. All text that came from
// the network is quoted.
func sourceTable(sources []sacn.SourceInfo, listings []sacn.Listing, refused map[sacn.Reason]uint64) string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 8, 2, ' ', 0)
	if len(sources) > 0 {
		fmt.Fprintln(w, "universe\tsource\tfrom\tpriority\tslots\tframes/s\tmissed\tlate\tstate")
	}
	for _, s := range sources {
		fmt.Fprintf(w, "%d\t%s\t%v\t%d\t%d\t%.1f\t%d\t%d\t%s\n", s.Universe, strconv.Quote(s.Name), s.From, s.Top, s.Slots,
			s.PerSecond, s.Missed, s.OutOfOrder, sourceState(s, sources))
	}
	w.Flush()
	for _, l := range listings {
		fmt.Fprintf(&b, "announced by %s (%v): %s\n", strconv.Quote(l.Name), l.From, universeList(l.Universes))
	}
	for r := range sacn.Unknown + 1 {
		if n := refused[r]; n > 0 {
			fmt.Fprintf(&b, "dropped: %d packets, %v\n", n, r)
		}
	}
	return b.String()
}

// sourceState says in words what a source is doing and what is odd about it.
func sourceState(s sacn.SourceInfo, all []sacn.SourceInfo) string {
	var words []string
	switch {
	case s.Gone != 0:
		return s.Gone.String()
	case s.Preview:
		words = append(words, "preview only")
	case s.Live:
		words = append(words, "live")
	default:
		words = append(words, "no levels")
	}
	if s.PerAddress {
		words = append(words, "priority by slot")
	}
	if s.Sync != 0 {
		words = append(words, fmt.Sprintf("synchronized by %d", s.Sync))
	}
	if s.CID.Ours() {
		words = append(words, "a trueup run")
	}
	for _, t := range all {
		if t.Universe == s.Universe && t.CID != s.CID && s.Live && t.Live {
			switch {
			case t.Top > s.Top:
				words = append(words, "overruled by "+strconv.Quote(t.Name))
			case t.Top == s.Top:
				words = append(words, "shares with "+strconv.Quote(t.Name)+": the highest level shows")
			}
		}
	}
	return strings.Join(words, ", ")
}

// universeList writes 1..4,7 for 1 2 3 4 7.
func universeList(us []dmx.Universe) string {
	if len(us) == 0 {
		return "nothing"
	}
	var parts []string
	for i := 0; i < len(us); {
		j := i
		for j+1 < len(us) && us[j+1] == us[j]+1 {
			j++
		}
		if i == j {
			parts = append(parts, fmt.Sprint(us[i]))
		} else {
			parts = append(parts, fmt.Sprintf("%d..%d", us[i], us[j]))
		}
		i = j + 1
	}
	return strings.Join(parts, ",")
}

func printJSON(w io.Writer, r *sacn.Receiver) error {
	type source struct {
		Universe   dmx.Universe `json:"universe"`
		Name       string       `json:"name"`
		CID        string       `json:"cid"`
		From       string       `json:"from"`
		Priority   uint8        `json:"priority"`
		PerAddress bool         `json:"per_address_priority"`
		Slots      int          `json:"slots"`
		PerSecond  float64      `json:"frames_per_second"`
		Missed     uint64       `json:"missed"`
		Late       uint64       `json:"late"`
		Sync       dmx.Universe `json:"synchronization_address"`
		State      string       `json:"state"`
	}
	line := struct {
		Time    time.Time         `json:"time"`
		Sources []source          `json:"sources"`
		Dropped map[string]uint64 `json:"dropped"`
	}{time.Now().UTC(), []source{}, map[string]uint64{}}
	all := r.Sources()
	for _, s := range all {
		line.Sources = append(line.Sources, source{s.Universe, s.Name, s.CID.String(), s.From.String(), s.Top, s.PerAddress,
			s.Slots, s.PerSecond, s.Missed, s.OutOfOrder, s.Sync, sourceState(s, all)})
	}
	for k, n := range r.Refused() {
		line.Dropped[k.String()] = n
	}
	return json.NewEncoder(w).Encode(line)
}

// lockedWriter lets events and tables share one output.
type lockedWriter struct {
	mu sync.Mutex
	w  io.Writer
}

func (l *lockedWriter) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.w.Write(p)
}
