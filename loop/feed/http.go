package feed

import (
	"context"
	"crypto/subtle"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"
)

// httpEndpoint takes readings by POST. Without a key it listens on this machine
// alone, and takes nothing from a web page that some browser has open here.
type httpEndpoint struct {
	address string
	key     string
}

// MinKey is the fewest characters of a key; 16 random ones can not be guessed
// over a network.
const MinKey = 16

func newHTTP(c Config) (transport, error) {
	a, err := listenAddress(c)
	if err != nil {
		return nil, err
	}
	host, _, _ := net.SplitHostPort(a)
	key := c.Secrets[c.Name].Key
	if key != "" && len(key) < MinKey {
		return nil, fmt.Errorf("feed %s: a key of %d characters is too short, want at least %d", c.Name, len(key), MinKey)
	}
	if key == "" && !loopback(host) {
		return nil, fmt.Errorf("feed %s: %s can be reached from other machines; set a key of at least %d characters, or listen on 127.0.0.1", c.Name, a, MinKey)
	}
	return &httpEndpoint{a, key}, nil
}

func loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}

func (t *httpEndpoint) run(ctx context.Context, f *Feed) error {
	ln, err := new(net.ListenConfig).Listen(ctx, "tcp", t.address)
	if err != nil {
		return err
	}
	from, bodies := newPeers(f), &bodies{}
	srv := &http.Server{
		Handler:     http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { t.serve(w, r, from, bodies) }),
		ReadTimeout: 5 * time.Second, WriteTimeout: 5 * time.Second, IdleTimeout: 30 * time.Second, MaxHeaderBytes: 8 << 10,
	}
	f.listening(ln.Addr())
	from.rest.up()
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(ln) }()
	select {
	case <-ctx.Done():
		srv.Close()
		<-ended
		return ctx.Err()
	case err := <-ended:
		return err
	}
}

func (t *httpEndpoint) serve(w http.ResponseWriter, r *http.Request, from *peers, open *bodies) {
	if t.key != "" {
		given, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
		if !ok || subtle.ConstantTimeCompare([]byte(given), []byte(t.key)) != 1 {
			w.Header().Set("WWW-Authenticate", "Bearer")
			http.Error(w, "the key is missing or wrong", http.StatusUnauthorized)
			return
		}
	} else if host, _, err := net.SplitHostPort(r.Host); err != nil && !loopback(r.Host) || err == nil && !loopback(host) || r.Header.Get("Origin") != "" {
		// A page in a browser can post to this machine under a name of its own.
		http.Error(w, "not from a web page", http.StatusForbidden)
		return
	}
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		http.Error(w, "want POST", http.StatusMethodNotAllowed)
		return
	}
	f := from.f
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	l := from.of(host, time.Now())
	done := open.begin(http.NewResponseController(w))
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, int64(f.cfg.MaxLine)))
	done()
	if err != nil {
		var big *http.MaxBytesError
		if errors.As(err, &big) {
			l.tooLong()
			http.Error(w, fmt.Sprintf("more than %d bytes", f.cfg.MaxLine), http.StatusRequestEntityTooLarge)
		}
		return
	}
	switch v := l.datagram(body, r.URL.Path); {
	case v.fast:
		w.Header().Set("Retry-After", "1")
		http.Error(w, "too fast", http.StatusTooManyRequests)
	case v.taken > 0:
		w.WriteHeader(http.StatusNoContent)
	default:
		http.Error(w, "no reading in it that counts", http.StatusUnprocessableEntity)
	}
}

// bodies are the requests whose body is being read. Where there are too many the
// oldest is ended: those who send slowly can not keep others out.
type bodies struct {
	mu   sync.Mutex
	open []*http.ResponseController // oldest first
}

// maxBodies at once, each at most Config.MaxLine bytes.
const maxBodies = 64

// begin counts a body in; the function it returns counts it out.
func (b *bodies) begin(c *http.ResponseController) func() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.open) >= maxBodies {
		b.open[0].SetReadDeadline(time.Unix(1, 0))
		b.open = slices.Delete(b.open, 0, 1)
	}
	b.open = append(b.open, c)
	return func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.open = slices.DeleteFunc(b.open, func(have *http.ResponseController) bool { return have == c })
	}
}
