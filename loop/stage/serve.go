package stage

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/netip"
	"slices"
	"sync"
	"time"

	"github.com/rs/zerolog"

	"trueup/dmx"
	"trueup/dmx/sacn"
)

// ServeConfig says where the stage listens. Port 0 takes any free port.
type ServeConfig struct {
	SACN  netip.AddrPort // UDP, levels in
	Meter string         // TCP, readings out, host:port
	Truth string         // TCP, the truth on request; "" = nobody is told
	Log   zerolog.Logger
}

// Server is a hall behind sockets: E1.31 in, one JSON object a line out.
type Server struct {
	hall      *Hall
	universes []dmx.Universe
	rx        *sacn.Receiver
	meter     net.Listener
	truth     net.Listener
	log       zerolog.Logger

	mu      sync.Mutex // hall, clients, waiting
	clients map[net.Conn]chan []byte
	waiting []waiter
	began   time.Time
}

// Listen opens the sockets, so that the addresses are known. Run serves them.
func Listen(h *Hall, c ServeConfig) (*Server, error) {
	s := &Server{hall: h, log: c.Log, clients: map[net.Conn]chan []byte{}}
	h.Levels(0, nil) // lamps that no slot reaches stand where their profile starts them
	for _, l := range h.lamps {
		if l.Universe.Valid() && len(l.Channels) > 0 && !slices.Contains(s.universes, l.Universe) {
			s.universes = append(s.universes, l.Universe)
		}
	}
	var err error
	if s.rx, err = sacn.NewReceiver(sacn.ReceiverConfig{Listen: c.SACN, Universes: s.universes, Log: c.Log}); err != nil {
		return nil, err
	}
	if s.meter, err = net.Listen("tcp", c.Meter); err != nil {
		s.discard()
		return nil, fmt.Errorf("meter: %w", err)
	}
	if c.Truth != "" {
		if s.truth, err = net.Listen("tcp", c.Truth); err != nil {
			s.discard()
			return nil, fmt.Errorf("truth: %w", err)
		}
	}
	return s, nil
}

// discard closes what Listen opened, for a server that never runs.
func (s *Server) discard() {
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	s.rx.Run(ended)
	for _, l := range []net.Listener{s.meter, s.truth} {
		if l != nil {
			l.Close()
		}
	}
}

// SACN is where levels are taken, with the real port.
func (s *Server) SACN() netip.AddrPort { return s.rx.LocalAddr() }

// Meter is where readings are given, with the real port.
func (s *Server) Meter() string { return s.meter.Addr().String() }

// Truth is where the truth is given; "" when it is not.
func (s *Server) Truth() string {
	if s.truth == nil {
		return ""
	}
	return s.truth.Addr().String()
}

// tick is how often the hall catches up with the clock.
const tick = 10 * time.Millisecond

// Run serves until ctx ends, then closes everything and returns nil.
func (s *Server) Run(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	var all sync.WaitGroup
	all.Go(func() { s.rx.Run(ctx) })
	all.Go(func() { s.accept(ctx, &all, s.meter, s.tell) })
	if s.truth != nil {
		all.Go(func() { s.accept(ctx, &all, s.truth, s.confess) })
	}
	s.began = time.Now()
	t := time.NewTicker(tick)
	for running := true; running; {
		select {
		case <-ctx.Done():
			running = false
		case <-t.C:
			s.catchUp(time.Since(s.began))
		}
	}
	t.Stop()
	cancel()
	s.meter.Close()
	if s.truth != nil {
		s.truth.Close()
	}
	all.Wait()
	return nil
}

// longestLag is how far the hall may be behind. A machine that slept does not
// owe the stage those hours: they are left out.
const longestLag = time.Second

// catchUp brings the hall to a moment since the stage began.
func (s *Server) catchUp(to time.Duration) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if lag := to - s.hall.Now(); lag > longestLag {
		s.began = s.began.Add(lag - longestLag)
		to -= lag - longestLag
	}
	var slots [512]byte
	for _, u := range s.universes {
		if n, _ := s.rx.Levels(u, &slots); n > 0 {
			s.hall.Levels(u, slots[:n])
		}
	}
	for _, r := range s.hall.Advance(to - s.hall.Now()) {
		s.show(r)
		line := s.line(r)
		for c, out := range s.clients {
			select {
			case out <- line:
			default: // a reader that does not read loses readings, not the stage
				s.log.Warn().Stringer("client", c.RemoteAddr()).Msg("reading dropped: client does not read")
			}
		}
	}
}

// meterLine is one reading on the wire.
type meterLine struct {
	Probe         string   `json:"probe"`
	Seq           uint64   `json:"seq"`
	TimeUnixMs    int64    `json:"time_unix_ms"` // end of the integration
	IntegrationMs float64  `json:"integration_ms"`
	X             *float64 `json:"x,omitempty"`
	Y             *float64 `json:"y,omitempty"`
	Lux           *float64 `json:"lux,omitempty"`
	RoundXY       float64  `json:"round_xy"`
	Underrange    bool     `json:"underrange,omitempty"`

	Spectrum []float64 `json:"spectrum,omitempty"` // per nm, of a spectrometer
	FromNM   float64   `json:"spectrum_from_nm,omitempty"`
	StepNM   float64   `json:"spectrum_step_nm,omitempty"`
}

func (s *Server) line(r Spoken) []byte {
	l := meterLine{Probe: r.Probe, Seq: r.Seq, TimeUnixMs: s.began.Add(r.End).UnixMilli(),
		IntegrationMs: float64(r.Window) / float64(time.Millisecond), RoundXY: r.Round, Underrange: r.Dark}
	if !r.Dark {
		l.X, l.Y, l.Lux = &r.Sample.XY.X, &r.Sample.XY.Y, &r.Sample.Lux
	}
	if s := r.Spectrum; s != nil {
		l.Spectrum, l.FromNM, l.StepNM = s.Values, s.StartNM, s.StepNM
	}
	b, err := json.Marshal(l)
	if err != nil { // a value that is no number: a reading that is none
		return []byte("{\"underrange\":true}\n")
	}
	return append(b, '\n')
}

// maxClients bounds the connections to each listener.
const maxClients = 32

// accept hands every client to serve in a goroutine of its own, which ends
// with ctx or with the client.
func (s *Server) accept(ctx context.Context, all *sync.WaitGroup, l net.Listener, serve func(context.Context, net.Conn)) {
	room := make(chan struct{}, maxClients)
	for {
		c, err := l.Accept()
		if err != nil {
			return
		}
		select {
		case room <- struct{}{}:
		default:
			c.Close()
			continue
		}
		all.Go(func() {
			defer func() { <-room }()
			stop := context.AfterFunc(ctx, func() { c.Close() })
			defer stop()
			defer c.Close()
			serve(ctx, c)
		})
	}
}

// tell sends readings to one client until it goes away.
func (s *Server) tell(ctx context.Context, c net.Conn) {
	out := make(chan []byte, 256)
	s.mu.Lock()
	s.clients[c] = out
	s.mu.Unlock()
	defer func() {
		s.mu.Lock()
		delete(s.clients, c)
		s.mu.Unlock()
	}()
	gone := make(chan struct{})
	var reading sync.WaitGroup
	reading.Go(func() { // what a client says is not listened to; its end is
		defer close(gone)
		var buf [512]byte
		for {
			if _, err := c.Read(buf[:]); err != nil {
				return
			}
		}
	})
	defer reading.Wait()
	defer c.Close()
	for {
		select {
		case <-ctx.Done():
			return
		case <-gone:
			return
		case line := <-out:
			c.SetWriteDeadline(time.Now().Add(5 * time.Second))
			if _, err := c.Write(line); err != nil {
				return
			}
		}
	}
}

// TruthLine is one lamp's truth on the wire.
type TruthLine struct {
	Fixture    string   `json:"fixture"`
	Probe      string   `json:"probe"`
	TimeUnixMs int64    `json:"time_unix_ms"`
	X          float64  `json:"x"`
	Y          float64  `json:"y"`
	Lux        float64  `json:"lux"`
	Codes      []uint32 `json:"codes"`
}

// dialled is a request to set a lamp by hand.
type dialled struct {
	Fixture string   `json:"fixture"`
	Codes   []uint32 `json:"codes"`
}

// confess answers each line of a client with the truth of all lamps, one line
// each, and an empty line at the end. A line that is a JSON object sets a lamp
// by hand first, as a person at its knobs would; what can not be done is said
// in a line with an error.
func (s *Server) confess(_ context.Context, c net.Conn) {
	in := bufio.NewScanner(c)
	for in.Scan() {
		var b []byte
		s.mu.Lock()
		if line := bytes.TrimSpace(in.Bytes()); bytes.HasPrefix(line, []byte("{")) {
			var d dialled
			err := json.Unmarshal(line, &d)
			if err == nil {
				err = s.hall.Dial(d.Fixture, d.Codes)
			}
			if err != nil {
				b, _ = json.Marshal(map[string]string{"error": err.Error()})
				b = append(b, '\n')
			}
		}
		truths := s.hall.Truths()
		began := s.began
		s.mu.Unlock()
		for _, t := range truths {
			xy := t.XYZ.XY()
			one, err := json.Marshal(TruthLine{Fixture: t.Lamp, Probe: t.Probe, TimeUnixMs: began.Add(t.At).UnixMilli(),
				X: xy.X, Y: xy.Y, Lux: t.XYZ.Y, Codes: t.Codes})
			if err != nil {
				return
			}
			b = append(append(b, one...), '\n')
		}
		c.SetWriteDeadline(time.Now().Add(5 * time.Second))
		if _, err := c.Write(append(b, '\n')); err != nil {
			return
		}
	}
}

// AskTruth asks a stage that was started with its truth open.
func AskTruth(ctx context.Context, addr string) ([]TruthLine, error) {
	var d net.Dialer
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	c, err := d.DialContext(ctx, "tcp", addr)
	if err != nil {
		return nil, err
	}
	defer c.Close()
	stop := context.AfterFunc(ctx, func() { c.Close() })
	defer stop()
	if _, err := io.WriteString(c, "truth\n"); err != nil {
		return nil, err
	}
	var out []TruthLine
	in := bufio.NewScanner(c)
	for in.Scan() && len(in.Bytes()) > 0 {
		var l TruthLine
		if err := json.Unmarshal(in.Bytes(), &l); err != nil {
			return out, fmt.Errorf("stage's truth: %w", err)
		}
		out = append(out, l)
	}
	return out, in.Err()
}
