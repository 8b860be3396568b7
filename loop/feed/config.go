package feed

import (
	"io"
	"time"

	"github.com/rs/zerolog"

	"trueup/loop/feed/instrument"
)

// Config describes one feed: where it comes from, how it is read, and how its
// readings are judged. Zero durations and counts take the value of
// DefaultConfig.
type Config struct {
	// Name is used in messages: "feed NAME: ...".
	Name string
	// Kind is the transport: tcp, tcp-listen, udp, stdin, file, serial, exec,
	// http, osc, mqtt, hand, replay.
	Kind string
	// Address is host:port (tcp, tcp-listen, udp, osc, http), a path (file,
	// serial), or a broker URL (mqtt).
	Address string
	// Instrument says how to read a line; nil means JSON lines of our own.
	Instrument *instrument.Instrument
	// Probes maps the names an instrument uses to the names the rig uses. A
	// name that is not listed passes unchanged. The key "" names the only
	// probe of an instrument that tells no name.
	Probes map[string]string

	// Corrections bring probes into agreement, by the rig's name.
	Corrections map[string]Correction

	// Latency is how long after the end of integration a reading reaches us at
	// the latest; used only where the instrument's clock can not be.
	Latency time.Duration
	// Integration is used where the instrument does not tell its own.
	Integration time.Duration
	// StaleAfter without an accepted reading turns a live feed stale.
	StaleAfter time.Duration
	// MaxLine bounds a line or message in bytes; longer ones are dropped whole.
	MaxLine int
	// MaxRate bounds the messages of one peer in a second; more are dropped, and a
	// connection that brings ten times as many is ended.
	MaxRate int

	// Ask puts a question to the person of kind hand.
	Ask Asker
	// Undo lets that person answer "undo"; the caller must know ErrUndo.
	Undo bool
	// Skip lets that person answer "skip"; the caller must know ErrSkip.
	Skip bool

	// Input is read by kind stdin.
	Input io.Reader
	// Command is started by kind exec, in the folder Dir. Without it the address
	// is the command: words at white space, or in quotes.
	Command []string
	Dir     string
	// AllowExec must be set by the person's own settings before a feed may
	// start a program. A rig file alone can not.
	AllowExec bool

	// Topic is the filter to which kind mqtt subscribes, with + and #. It may
	// stand in the address instead: mqtt://host:1883/site/+/colour.
	Topic string
	// Secrets are what must not stand in a rig file, by the name of the feed.
	Secrets map[string]Secret

	// Tap, when set, is given everything that crosses the wire, from the feed's
	// goroutines, one call at a time. It must not block or call the feed.
	Tap func(Traffic)

	// OnEvent, when set, is told everything as it happens. It is called from
	// the feed's goroutine and must not block or call the feed.
	OnEvent func(Event)

	Log zerolog.Logger
}

// Secret is what a feed needs to be let in. It belongs to the machine, never to
// a show's files.
type Secret struct {
	// Key must come with every request of kind http: Authorization: Bearer KEY.
	Key string
	// User and Password are for kind mqtt.
	User, Password string
	// CAFile is the PEM file of the authority that the broker's certificate
	// comes from; empty: those of the system.
	CAFile string
	// CertFile and KeyFile are our own certificate, where the broker wants one.
	CertFile, KeyFile string
	ClientID          string
	// StateTopic, when set, holds "online" while we are there and "offline"
	// else, by the broker's last will.
	StateTopic string
}

// DefaultConfig returns the values that serve when nothing else is said.
func DefaultConfig() Config {
	return Config{
		Kind:        "tcp",
		Latency:     500 * time.Millisecond,
		Integration: 500 * time.Millisecond,
		StaleAfter:  5 * time.Second,
		MaxLine:     64 << 10,
		MaxRate:     200,
		Log:         zerolog.Nop(),
	}
}

// withDefaults fills zero fields.
func (c Config) withDefaults() Config {
	d := DefaultConfig()
	if c.Kind == "" {
		c.Kind = d.Kind
	}
	if i := c.Instrument; i != nil { // what the rig says goes before
		if c.Latency <= 0 {
			c.Latency = i.Latency
		}
		if c.Integration <= 0 {
			c.Integration = i.Integration
		}
		if i.MaxLine > 0 {
			c.MaxLine = i.MaxLine
		}
	}
	if c.Latency <= 0 {
		c.Latency = d.Latency
	}
	if c.Integration <= 0 {
		c.Integration = d.Integration
	}
	if c.StaleAfter <= 0 {
		c.StaleAfter = d.StaleAfter
	}
	if c.MaxLine <= 0 {
		c.MaxLine = d.MaxLine
	}
	if c.MaxRate <= 0 {
		c.MaxRate = d.MaxRate
	}
	return c
}
