package page

import (
	"context"
	"crypto/tls"
	"embed"
	"errors"
	"io/fs"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"github.com/rs/zerolog"
	"golang.org/x/net/netutil"
	"golang.org/x/time/rate"

	"trueup/loop/session/rig"
)

//go:embed static
var static embed.FS

// Config is what a server is made from.
type Config struct {
	Program string // name and version
	Secret  []byte // signs cookies; 32 bytes that only this machine knows
	TLS     *tls.Certificate
	Names   []string // further names by which browsers may call this machine
	// Presence ends a run gently when the operator's page has been gone for so long; 0: never.
	Presence time.Duration

	OutRoot string // of the runs
	RigName string
	Rig     func() (*rig.Rig, error)                            // as its file is now; nil: of a terminal's run
	Check   func(context.Context) (text string, faults []error) // nil as well
	// Paired is called when a key was used: the next one needs to be shown. It may be nil.
	Paired func()
	Log    zerolog.Logger
}

// Server is the way in to a board and its control.
type Server struct {
	cfg     Config
	board   *Board
	control *Control
	people  *people
	runs    *runs
	pairing *rate.Limiter // of keys that are not good
	tried   *rate.Limiter // lines of the log about them
	// checking is held while the rig is checked.
	checking sync.Mutex
	open     bool // on this machine alone: nobody is asked for a key
	at       net.Addr
	end      context.Context
}

const (
	maxConns   = 512
	readTime   = 10 * time.Second
	writeTime  = 30 * time.Second
	idleTime   = 2 * time.Minute
	goodbye    = 3 * time.Second
	stopPath   = "/api/stop"
	eventsPath = "/api/events"
)

// Listen takes a TCP address. On a loopback address whoever is on this machine is let in; on any other a key is
// needed first.
func Listen(cfg Config, b *Board, c *Control, address string) (*Server, net.Listener, error) {
	l, err := net.Listen("tcp", address)
	if err != nil {
		return nil, nil, err
	}
	s := &Server{cfg: cfg, board: b, control: c, people: newPeople(cfg.Secret, cfg.TLS != nil, b), at: l.Addr(), end: context.Background(),
		runs: &runs{root: cfg.OutRoot, rig: cfg.RigName}, pairing: rate.NewLimiter(pairPerSecond, pairBurst),
		tried: rate.NewLimiter(rate.Every(time.Minute), 1)}
	s.people.presence = cfg.Presence
	s.runs.busy = func() bool { return b.Phase().Runs() }
	if p, err := netip.ParseAddrPort(l.Addr().String()); err == nil {
		s.open = p.Addr().IsLoopback()
	}
	return s, l, nil
}

// Open tells that whoever is on this machine is let in without a key.
func (s *Server) Open() bool { return s.open }

// Serve answers until ctx ends.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	s.end = ctx
	h := &http.Server{Handler: s.Handler(), ReadHeaderTimeout: readTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
		MaxHeaderBytes: maxHeader, ErrorLog: nil, BaseContext: func(net.Listener) context.Context { return ctx }}
	h.ErrorLog = quiet(s.cfg.Log)
	l = newFairListener(netutil.LimitListener(l, maxConns))
	if s.cfg.TLS != nil {
		l = tls.NewListener(l, &tls.Config{Certificates: []tls.Certificate{*s.cfg.TLS}, MinVersion: tls.VersionTLS12, NextProtos: []string{"http/1.1"}})
	}
	go s.mindPresence(ctx)
	stopped := context.AfterFunc(ctx, func() {
		late, cancel := context.WithTimeout(context.WithoutCancel(ctx), goodbye)
		defer cancel()
		if h.Shutdown(late) != nil {
			h.Close()
		}
	})
	defer stopped()
	if err := h.Serve(l); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// Handler is everything that is served.
func (s *Server) Handler() http.Handler {
	_, port, err := net.SplitHostPort(s.at.String())
	if err != nil {
		port = ""
	}
	mux := http.NewServeMux()
	s.registerAPI(mux)
	files, err := fs.Sub(static, "static")
	if err != nil {
		panic(err) // embedded: cannot be
	}
	serve := http.FileServerFS(files)
	mux.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) {
		if _, known := s.people.who(r); !known && s.open {
			http.SetCookie(w, s.people.cookie())
		}
		http.ServeFileFS(w, r, files, "index.html")
	})
	mux.HandleFunc("GET /{file}", func(w http.ResponseWriter, r *http.Request) {
		if i, err := fs.Stat(files, r.PathValue("file")); err != nil || i.IsDir() || r.PathValue("file") == "index.html" {
			http.NotFound(w, r)
			return
		}
		serve.ServeHTTP(w, r)
	})
	return newGuard(s.cfg.Names, port, s.cfg.TLS != nil).wrap(mux)
}

// mindPresence ends a run whose operator has gone, or has handed over to nobody, where that is wished.
func (s *Server) mindPresence(ctx context.Context) {
	if s.cfg.Presence <= 0 {
		return
	}
	tick := time.NewTicker(time.Second)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if name, gone, ok := s.people.gone(); ok && gone > s.cfg.Presence && s.board.Phase().Runs() && s.board.Phase() != Ending {
			s.control.Stop("nobody at the page of " + name + " for " + s.cfg.Presence.String() + ":")
		}
	}
}
