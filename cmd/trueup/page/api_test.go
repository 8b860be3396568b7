package page

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"trueup/loop/session"
)

// What is answered is what the description of the interface says, by a reader of schemas that is not the library
// which wrote it.
func TestAnswersAreAsTheDescriptionSays(t *testing.T) {
	x := serveOn(t, true)
	text, err := os.ReadFile("../../../testdata/journals/v2/match.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	entries, _, err := session.ReadJournal(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		x.board.Entry(e)
	}
	x.board.Top(func(t *Top) {
		t.Question = &Question{ID: 1, Kind: dialKind, Lamp: "a", Dials: []Dial{{"CCT", "", "4300 K"}}}
	})
	c := x.paired()
	_, described := x.do(c, "GET", "/api/openapi.json", "")
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(described))
	if err != nil {
		t.Fatal(err)
	}
	if v := doc.(map[string]any)["openapi"]; v != "3.1.0" {
		t.Errorf("OpenAPI %v", v)
	}
	paths := doc.(map[string]any)["paths"].(map[string]any)
	if len(paths) < 18 {
		t.Errorf("%d paths are described", len(paths))
	}
	compiler := jsonschema.NewCompiler()
	if err := compiler.AddResource("trueup:api", doc); err != nil {
		t.Fatal(err)
	}
	looked := 0
	for path, ways := range paths {
		if _, ok := ways.(map[string]any)["get"]; !ok || strings.Contains(path, "{") || path == eventsPath {
			continue
		}
		code, body := x.do(c, "GET", path, "")
		status := map[int]string{200: "200", 409: "default"}[code]
		place := "trueup:api#/paths/" + strings.ReplaceAll(path, "/", "~1") + "/get/responses/" + status + "/content/application~1json/schema"
		if code == 409 { // choices: this server has no rig
			place = "trueup:api#/components/schemas/ErrorModel"
		}
		schema, err := compiler.Compile(place)
		if err != nil {
			t.Errorf("%s (%d): %v", path, code, err)
			continue
		}
		answer, err := jsonschema.UnmarshalJSON(strings.NewReader(body))
		if err == nil {
			err = schema.Validate(answer)
		}
		if err != nil {
			t.Errorf("%s answers what its description does not say: %v", path, err)
		}
		looked++
	}
	if looked < 4 {
		t.Errorf("%d answers were looked at", looked)
	}
}

// presenceOf is a server that ends a run when nobody who operates was heard of for a second. stopped gets why, and pass lets time pass
// for who is heard of.
func presenceOf(t *testing.T) (s *Server, stopped chan error, pass func(time.Duration)) {
	t.Helper()
	b := NewBoard("a rig", "e", nil)
	c := NewControl(t.Context(), b, nil)
	stopped = make(chan error, 16)
	c.mu.Lock()
	c.running, c.stop = true, func(why error) { stopped <- why }
	c.mu.Unlock()
	s, l, err := Listen(Config{Presence: time.Second, Secret: make([]byte, 32)}, b, c, "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	l.Close()
	b.Top(func(t *Top) { t.Phase = Working })
	now := time.Now()
	s.people.now = func() time.Time { return now }
	return s, stopped, func(d time.Duration) {
		s.people.mu.Lock()
		defer s.people.mu.Unlock()
		now = now.Add(d)
	}
}

// A run ends gently when the page of whoever operates has been gone for as long as was wished, and not before.
func TestAnOperatorWhoIsGoneStopsTheRun(t *testing.T) {
	s, stopped, pass := presenceOf(t)
	who := Person{ID: "1", Name: "page 1"}
	if err := s.people.operates(who); err != nil {
		t.Fatal(err)
	}
	s.people.here(who, 0)
	if _, gone, ok := s.people.gone(); !ok || gone > s.cfg.Presence {
		t.Errorf("whoever is here has been gone for %v", gone)
	}
	pass(2 * time.Second)
	go s.mindPresence(t.Context())
	select {
	case why := <-stopped:
		if !strings.Contains(why.Error(), "nobody at the page of page 1") {
			t.Error(why)
		}
	case <-time.After(time.Minute):
		t.Error("the run goes on without its operator")
	}
}

// Whoever operates and hands over to nobody leaves a run that ends as if they had gone, and all read so; somebody who takes over in
// time keeps it. A page that is handed the role has as long to be heard of as any, however long it was silent before.
func TestARoleHandedToNobodyCountsAsGone(t *testing.T) {
	s, _, pass := presenceOf(t)
	gone := func() bool {
		_, d, ok := s.people.gone()
		return ok && d > s.cfg.Presence
	}
	if gone() {
		t.Error("nobody has operated yet, and is gone")
	}
	one, two := Person{ID: "1", Name: "page 1"}, Person{ID: "2", Name: "page 2"}
	s.people.here(two, 1)
	if err := s.people.operates(one); err != nil {
		t.Fatal(err)
	}
	pass(time.Hour)
	s.people.here(one, 0)
	if err := s.people.handOver(one, two.ID); err != nil {
		t.Fatal(err)
	}
	if gone() {
		t.Error("a page that was just handed the role is gone")
	}
	if err := s.people.handOver(two, ""); err != nil {
		t.Fatal(err)
	}
	log := s.board.Now().Log
	if last := log[len(log)-1]; !last.Loud || !strings.Contains(last.Text, "the run ends in 1s if nobody takes over") {
		t.Errorf("the log says %+v", last)
	}
	if gone() {
		t.Error("gone at once")
	}
	pass(2 * time.Second)
	if !gone() {
		t.Error("nobody operates, and the run goes on")
	}
	s.people.take(one)
	if gone() {
		t.Error("gone, and somebody operates")
	}
}

// The certificate that is made is served, stays the same from start to start, and has the fingerprint that is shown; nobody
// else may read its key.
func TestTheCertificateIsTheOneShown(t *testing.T) {
	dir := t.TempDir()
	cert, err := Certificate(dir, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	again, err := Certificate(dir, time.Now())
	if err != nil || Fingerprint(again) != Fingerprint(cert) {
		t.Fatalf("the second start has another certificate: %v", err)
	}
	later, err := Certificate(dir, time.Now().Add(2*certLife))
	if err != nil || Fingerprint(later) == Fingerprint(cert) {
		t.Errorf("a certificate that holds no more is still used: %v", err)
	}
	if i, err := os.Stat(dir + "/page.pem"); err != nil || i.Mode().Perm() != 0o600 {
		t.Errorf("%v %v: want a file for its owner alone", i.Mode(), err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	b := NewBoard("a rig", "e", nil)
	s, l, err := Listen(Config{TLS: cert, Secret: make([]byte, 32)}, b, NewControl(ctx, b, nil), "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	over := make(chan error, 1)
	go func() { over <- s.Serve(ctx, l) }()
	roots := x509.NewCertPool()
	leaf, err := x509.ParseCertificate(cert.Certificate[0])
	if err != nil {
		t.Fatal(err)
	}
	roots.AddCert(leaf)
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: roots}}}
	r, err := client.Get("https://" + l.Addr().String() + "/")
	if err != nil {
		t.Fatal(err)
	}
	io.Copy(io.Discard, r.Body)
	r.Body.Close()
	if c := r.Header.Get("Set-Cookie"); !strings.Contains(c, "Secure") {
		t.Errorf("by TLS the cookie is %q: want it Secure", c)
	}
	client.CloseIdleConnections()
	cancel()
	if err := <-over; err != nil {
		t.Error(err)
	}
}

// The secret that signs cookies outlives the program, so that phones need no new key after a crash.
func TestTheSecretStays(t *testing.T) {
	dir := t.TempDir()
	a, err := Secret(dir)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Secret(dir)
	if err != nil || !bytes.Equal(a, b) || len(a) != 32 {
		t.Errorf("%x and then %x, %v", a, b, err)
	}
	old := newPeople(a, false, NewBoard("", "e", nil))
	old.now = func() time.Time { return time.Now().Add(-2 * cookieLife) }
	fresh := newPeople(b, false, NewBoard("", "e", nil))
	r, _ := http.NewRequest("GET", "/", nil)
	r.AddCookie(fresh.cookie())
	if _, ok := newPeople(a, false, nil).who(r); !ok {
		t.Error("the next start does not know a page that was paired")
	}
	r, _ = http.NewRequest("GET", "/", nil)
	r.AddCookie(old.cookie())
	if _, ok := fresh.who(r); ok {
		t.Error("a cookie that is too old is good")
	}
}

// Prometheus gets figures in its own format, whether a run works or not.
func TestMetricsAreServed(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	c := NewControl(ctx, NewBoard("", "e", nil), nil)
	c.counts.entry(session.Entry{Kind: "reading"})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	over := make(chan error, 1)
	go func() { over <- ServeMetrics(ctx, l, c) }()
	client := &http.Client{Transport: &http.Transport{}}
	r, err := client.Get("http://" + l.Addr().String() + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(r.Body)
	r.Body.Close()
	client.CloseIdleConnections()
	if err != nil || !strings.Contains(string(text), "trueup_readings_total 1\n") || !strings.Contains(string(text), "trueup_run_active 0\n") {
		t.Errorf("%v:\n%s", err, text)
	}
	cancel()
	if err := <-over; err != nil {
		t.Error(err)
	}
}

// A QR code says what it was made of to another reader of its squares: here the fixed patterns of ISO/IEC 18004 7.3
// are looked for, which every reader begins with.
func TestTheCodeHasItsFinders(t *testing.T) {
	c, err := codeOf("http://192.0.2.7:7780/#key=AAAAAAAAAAAAAAAAAAAAAA")
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range [][2]int{{0, 0}, {c.size - 7, 0}, {0, c.size - 7}} {
		for k := range 7 { // dark rim, light inside, dark core
			if !c.dark(at[0]+k, at[1]) || !c.dark(at[0], at[1]+k) || c.dark(at[0]+1, at[1]+1) || !c.dark(at[0]+3, at[1]+3) {
				t.Fatalf("no finder at %v", at)
			}
		}
	}
	for k := 8; k < c.size-8; k++ { // the timing pattern
		if c.dark(k, 6) != (k%2 == 0) {
			t.Fatalf("the timing pattern breaks at %d", k)
		}
	}
	text := Invitation{Address: "http://192.0.2.7:7780/"}.CodeText()
	if n := strings.Count(text, "\n"); n < 15 {
		t.Errorf("drawn in %d lines", n)
	}
}
