package page

import (
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"
	"sync"

	"golang.org/x/time/rate"
)

// What one address may ask for: a person's fingers and a browser's files are far below it. Stopping is
// never counted.
const (
	perSecond  = 40
	burst      = 120
	maxTracked = 1024 // addresses

	// pairings of all addresses together: 128 bits are not guessed, and trying must not cost us anything.
	pairPerSecond = 1
	pairBurst     = 10

	maxBody       = 64 << 10
	maxHeader     = 16 << 10
	maxStreams    = 64 // in all
	streamsPerOne = 8  // of one browser
)

// guard stands before everything: who asks by which name, from where, how much and how often.
type guard struct {
	names   []string // what we are called, beside numeric addresses of ours
	ours    func(netip.Addr) bool
	port    string
	tls     bool
	crossed *http.CrossOriginProtection

	mu   sync.Mutex
	rate map[netip.Addr]*rate.Limiter
}

func newGuard(names []string, port string, tls bool) *guard {
	return &guard{names: names, ours: addressIsOurs, port: port, tls: tls, crossed: http.NewCrossOriginProtection(), rate: map[netip.Addr]*rate.Limiter{}}
}

// addressIsOurs tells whether an address is one of this machine's.
func addressIsOurs(a netip.Addr) bool {
	if a.IsLoopback() {
		return true
	}
	all, err := net.InterfaceAddrs()
	if err != nil {
		return false
	}
	return slices.ContainsFunc(all, func(x net.Addr) bool {
		p, err := netip.ParsePrefix(x.String())
		return err == nil && p.Addr().Unmap() == a.Unmap()
	})
}

// knows tells whether host is us. A name that a stranger's DNS leads here is not (DNS rebinding).
func (g *guard) knows(host string) bool {
	name, port, err := net.SplitHostPort(host)
	if err != nil {
		name, port = strings.Trim(host, "[]"), map[bool]string{false: "80", true: "443"}[g.tls]
	}
	if port != g.port {
		return false
	}
	if a, err := netip.ParseAddr(name); err == nil {
		return g.ours(a.WithZone(""))
	}
	return strings.EqualFold(name, "localhost") || slices.ContainsFunc(g.names, func(n string) bool { return strings.EqualFold(n, name) })
}

// refusal is why a request is not served; code 0: it is.
func (g *guard) refusal(r *http.Request) (code int, why string) {
	switch {
	case !g.knows(r.Host):
		return http.StatusMisdirectedRequest, "not a name of this machine"
	case r.ContentLength > maxBody:
		return http.StatusRequestEntityTooLarge, "too large"
	case len(r.URL.RequestURI()) > 2048:
		return http.StatusRequestURITooLong, "too long"
	}
	if o := r.Header.Get("Origin"); o != "" {
		u, err := url.Parse(o)
		if err != nil || u.Host != r.Host {
			return http.StatusForbidden, "asked from another page"
		}
	}
	if s := r.Header.Get("Sec-Fetch-Site"); s != "" && s != "same-origin" && s != "none" && strings.HasPrefix(r.URL.Path, "/api/") {
		return http.StatusForbidden, "asked from another page"
	}
	if err := g.crossed.Check(r); err != nil {
		return http.StatusForbidden, "asked from another page"
	}
	if r.URL.Path != stopPath && !g.allow(r) {
		return http.StatusTooManyRequests, "too often: wait a moment"
	}
	return 0, ""
}

func (g *guard) allow(r *http.Request) bool {
	p, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return false
	}
	a := p.Addr().Unmap()
	g.mu.Lock()
	defer g.mu.Unlock()
	l := g.rate[a]
	if l == nil {
		if len(g.rate) >= maxTracked {
			clear(g.rate) // a crowd of addresses begins anew; each is limited still
		}
		l = rate.NewLimiter(perSecond, burst)
		g.rate[a] = l
	}
	return l.Allow()
}

// wrap guards a handler, and says to the browser what the page may do.
func (g *guard) wrap(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), microphone=(), geolocation=(), screen-wake-lock=(self)")
		h.Set("Cache-Control", "no-store")
		if code, why := g.refusal(r); code != 0 {
			h.Set("Connection", "close") // what else it wanted to send is not read
			http.Error(w, why, code)
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, maxBody)
		next.ServeHTTP(w, r)
	})
}
