package page

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"go.uber.org/goleak"

	"trueup/loop/session"
	"trueup/profiles/userfile"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

// served is a server on a free port, whose control counts what it was asked to prepare and prepares nothing.
type served struct {
	*Server
	t        testing.TB
	url      string
	prepared atomic.Int32
}

func serveOn(t testing.TB, open bool) *served {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	b := NewBoard("a rig", "e1", nil)
	x := &served{t: t}
	c := NewControl(ctx, b, func(context.Context, Order) (*Prepared, error) {
		x.prepared.Add(1)
		return nil, errors.New("this rig prepares nothing")
	})
	s, l, err := Listen(Config{Program: "trueup test", Secret: bytes.Repeat([]byte{7}, 32), OutRoot: t.TempDir(), RigName: "a rig", Log: zerolog.Nop()}, b, c, "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.open = open
	x.Server, x.url = s, "http://"+l.Addr().String()
	go b.Run(ctx)
	over := make(chan error, 1)
	go func() { over <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		http.DefaultClient.CloseIdleConnections()
		cancel()
		if err := <-over; err != nil {
			t.Error(err)
		}
		c.Wait()
	})
	return x
}

// browser is a client with cookies of its own.
func (x *served) browser() *http.Client {
	jar, err := cookiejar.New(nil)
	if err != nil {
		x.t.Fatal(err)
	}
	c := &http.Client{Jar: jar, Timeout: time.Minute, Transport: &http.Transport{}}
	x.t.Cleanup(c.CloseIdleConnections)
	return c
}

// paired is a browser that was let in.
func (x *served) paired() *http.Client {
	x.t.Helper()
	c := x.browser()
	u, err := url.Parse(x.url)
	if err != nil {
		x.t.Fatal(err)
	}
	c.Jar.SetCookies(u, []*http.Cookie{x.people.cookie()})
	return c
}

func (x *served) do(c *http.Client, method, path, body string, head ...string) (int, string) {
	x.t.Helper()
	r, err := http.NewRequest(method, x.url+path, strings.NewReader(body))
	if err != nil {
		x.t.Fatal(err)
	}
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i+1 < len(head); i += 2 {
		if head[i] == "Host" {
			r.Host = head[i+1]
			continue
		}
		r.Header.Set(head[i], head[i+1])
	}
	a, err := c.Do(r)
	if err != nil {
		x.t.Fatal(err)
	}
	defer a.Body.Close()
	text, err := io.ReadAll(a.Body)
	if err != nil {
		x.t.Fatal(err)
	}
	return a.StatusCode, string(text)
}

// What a run writes into its journal is what every page is shown: the numbers of the summary, which reports are
// made from, and of the fold are the same.
func TestStateAgreesWithTheSummaryOfEveryRecordedRun(t *testing.T) {
	all, err := filepath.Glob("../../../testdata/journals/v*/*.jsonl")
	if err != nil || len(all) < 5 {
		t.Fatal(all, err)
	}
	for _, path := range all {
		f, err := userfile.Open(path, userfile.Journal)
		if err != nil {
			t.Fatal(err)
		}
		entries, _, err := session.ReadJournal(f)
		f.Close()
		if err != nil {
			t.Fatal(err)
		}
		s, err := session.Summarise(entries)
		if err != nil {
			t.Fatal(err)
		}
		b := NewBoard("", "e", nil)
		for _, e := range entries {
			b.Entry(e)
		}
		got := b.Now()
		if len(got.Fixtures) != len(s.Fixtures) || len(got.Rows) != len(s.Fixtures) || len(got.Paths) != len(s.Fixtures) {
			t.Fatalf("%s: %d fixtures and %d rows for %d", path, len(got.Fixtures), len(got.Rows), len(s.Fixtures))
		}
		for i, want := range s.Fixtures {
			r := got.Rows[i]
			o := want.Final()
			if got.Fixtures[i].Name != want.Name || (o == nil) != (r.Result == "") {
				t.Errorf("%s: %s: the summary's outcome is %v, the page shows %q", path, want.Name, o, r.Result)
				continue
			}
			if o == nil {
				continue
			}
			if r.Result != o.Result.String() || (o.Final == nil) != (r.Now == nil) || o.Final != nil && *r.Now != o.Final.Delta {
				t.Errorf("%s: %s: the summary has %v %+v, the page shows %q %v", path, want.Name, o.Result, o.Final, r.Result, r.Now)
			}
		}
		if (s.Reference == nil) != (got.Top.Reference == nil) {
			t.Errorf("%s: reference %v, the page shows %v", path, s.Reference, got.Top.Reference)
		}
	}
}

// A page is never sent null where it expects a list, from before the first run on.
func TestAStateHasNoNull(t *testing.T) {
	b := NewBoard("a rig", "e", nil)
	look := func(when string) {
		all, _, _, err := b.since(0, false)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(all[0].data, []byte("null")) {
			t.Errorf("%s: %.300s", when, all[0].data)
		}
	}
	look("before the first run")
	b.Entry(session.Entry{Kind: "run", Run: &session.RunInfo{Fixtures: []session.FixtureInfo{{Name: "lamp"}}}})
	look("at the start of a run")
}

// A page that applies every change to the state it had has the same state as one that asks anew.
func TestChangesLeadToTheSameState(t *testing.T) {
	text, err := os.ReadFile("../../../testdata/journals/v2/match.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	entries, _, err := session.ReadJournal(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	b := NewBoard("", "e", func(e session.Entry) string { return e.Note })
	var have State
	for i, e := range entries {
		b.Entry(e)
		if i%3 > 0 { // several entries come in one message
			continue
		}
		b.flush()
		all, last, _, err := b.since(0, true)
		if err != nil {
			t.Fatal(err)
		}
		m := all[len(all)-1]
		if last != b.first+uint64(len(b.ring))-1 {
			t.Fatal(last)
		}
		if m.whole {
			have = State{}
			if err := json.Unmarshal(m.data, &have); err != nil {
				t.Fatal(err)
			}
			continue
		}
		var c Change
		if err := json.Unmarshal(m.data, &c); err != nil {
			t.Fatal(err)
		}
		if c.Top != nil {
			have.Top = *c.Top
		}
		for k, r := range c.Rows {
			var n int
			fmt.Sscan(k, &n)
			have.Rows[n] = r
		}
		have.Log = append(have.Log, c.Log...)
	}
	b.flush()
	want := b.Now()
	all, _, _, _ := b.since(0, true)
	var c Change
	if err := json.Unmarshal(all[len(all)-1].data, &c); err != nil {
		t.Fatal(err)
	}
	have.Paths, want.Paths = nil, nil // a page adds to its paths by itself
	if len(c.Log) > 0 && have.Log[len(have.Log)-1] != c.Log[len(c.Log)-1] {
		have.Log = append(have.Log, c.Log...)
	}
	if c.Top != nil {
		have.Top = *c.Top
	}
	for k, r := range c.Rows {
		var n int
		fmt.Sscan(k, &n)
		have.Rows[n] = r
	}
	x, _ := json.Marshal(have)
	y, _ := json.Marshal(want)
	if !bytes.Equal(x, y) {
		t.Errorf("a page that was sent changes has\n%.600s\none that asks anew\n%.600s", x, y)
	}
}

// Who was away for a while is sent what was missed; who was away for long, or remembers another program, all.
func TestAStreamGoesOnAfterTheLastEventSeen(t *testing.T) {
	x := serveOn(t, true)
	c := x.paired()
	read := func(last string, n int) (ids, names []string) {
		r, _ := http.NewRequest("GET", x.url+eventsPath, nil)
		if last != "" {
			r.Header.Set("Last-Event-ID", last)
		}
		a, err := c.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		if k := a.Header.Get("Content-Type"); k != "text/event-stream" {
			t.Fatal(a.Status, k)
		}
		for in := bufio.NewScanner(a.Body); in.Scan() && len(names) < n; {
			if id, ok := strings.CutPrefix(in.Text(), "id: "); ok {
				ids = append(ids, id)
			}
			if name, ok := strings.CutPrefix(in.Text(), "event: "); ok && name != "beat" {
				names = append(names, name)
			}
		}
		return ids, names
	}
	ids, names := read("", 1)
	if names[0] != "state" {
		t.Fatal(names)
	}
	for k := range 3 {
		x.board.Say(fmt.Sprint("line ", k), false)
		x.board.flush()
	}
	if _, names = read(ids[0], 3); names[0] != "change" {
		t.Errorf("after %s come %v: want changes alone", ids[0], names)
	}
	for _, bad := range []string{"e0-1", "e1-99999", "e1-", "e1--1", "e1-1x", "nonsense", "e1-18446744073709551615"} {
		if _, names = read(bad, 1); names[0] != "state" {
			t.Errorf("after %q comes %v: want the whole state", bad, names)
		}
	}
	for k := range 3 * kept {
		x.board.Say(fmt.Sprint("line ", k), false)
		x.board.flush()
	}
	if _, names = read(ids[0], 1); names[0] != "state" {
		t.Errorf("after long away comes %v: want the whole state", names)
	}
	x.board.mu.Lock() // the board runs, and makes messages of its own accord
	n := len(x.board.ring)
	x.board.mu.Unlock()
	if n > kept {
		t.Errorf("%d messages are kept, want at most %d", n, kept)
	}
}

// Nobody but our own page, by our own name, let in by a key, gets anywhere, and nothing is changed by the attempt.
func TestHostileRequestsAreRefusedAndChangeNothing(t *testing.T) {
	x := serveOn(t, false)
	in, out := x.paired(), x.browser()
	order := `{"work":"match"}`
	for _, c := range []struct {
		name           string
		who            *http.Client
		method, path   string
		body           string
		head           []string
		want           int
		countsPrepared bool
	}{
		{"no key", out, "GET", "/api/state", "", nil, 401, false},
		{"no key, an action", out, "POST", "/api/stop", "", nil, 401, false},
		{"no key, the events", out, "GET", "/api/events", "", nil, 401, false},
		{"a made-up cookie", out, "GET", "/api/state", "", []string{"Cookie", "trueup=" + strings.Repeat("A", 70)}, 401, false},
		{"a short cookie", out, "GET", "/api/state", "", []string{"Cookie", "trueup=AAAA"}, 401, false},
		{"a made-up key", out, "POST", "/api/pair", `{"key":"AAAAAAAAAAAAAAAAAAAAAA"}`, nil, 403, false},
		{"an empty key", out, "POST", "/api/pair", `{"key":""}`, nil, 403, false},
		{"another name", in, "GET", "/api/state", "", []string{"Host", "evil.example"}, 421, false},
		{"another name with our port", in, "GET", "/", "", []string{"Host", "evil.example:" + x.url[strings.LastIndex(x.url, ":")+1:]}, 421, false},
		{"another address", in, "GET", "/api/state", "", []string{"Host", "203.0.113.9:80"}, 421, false},
		{"no name", in, "GET", "/api/state", "", []string{"Host", "."}, 421, false},
		{"another origin", in, "POST", "/api/plan", order, []string{"Origin", "http://evil.example"}, 403, false},
		{"another origin reads", in, "GET", "/api/state", "", []string{"Origin", "http://evil.example"}, 403, false},
		{"no origin at all", in, "POST", "/api/plan", order, []string{"Origin", "null"}, 403, false},
		{"another site", in, "POST", "/api/plan", order, []string{"Sec-Fetch-Site", "cross-site"}, 403, false},
		{"a sister site", in, "GET", "/api/state", "", []string{"Sec-Fetch-Site", "same-site"}, 403, false},
		{"no JSON", in, "POST", "/api/plan", `{"work":`, nil, 400, false},
		{"JSON of something else", in, "POST", "/api/plan", `[1,2,3]`, nil, 422, false},
		{"an unknown key", in, "POST", "/api/plan", `{"work":"match","level":2}`, nil, 422, false},
		{"an unknown work", in, "POST", "/api/plan", `{"work":"strobe"}`, nil, 422, false},
		{"a number for a word", in, "POST", "/api/plan", `{"work":7}`, nil, 422, false},
		{"deep JSON", in, "POST", "/api/plan", strings.Repeat(`[`, 20000), nil, 400, false},
		{"a long body", in, "POST", "/api/plan", `{"work":"` + strings.Repeat("m", maxBody) + `"}`, nil, 413, false},
		{"a long address", in, "GET", "/" + strings.Repeat("a", 3000), "", nil, 414, false},
		{"a plan that was never made", in, "POST", "/api/start", `{"plan":"AAAAAAAAAAAAAAAAAAAAAA","clear":true}`, nil, 409, false},
		{"a start without care", in, "POST", "/api/start", `{"plan":"AAAAAAAAAAAAAAAAAAAAAA","clear":false}`, nil, 422, false},
		{"an answer to nothing", in, "POST", "/api/answer", `{"question":0,"text":"4300 0"}`, nil, 409, false},
		{"a hold of nothing", in, "POST", "/api/hold", "", nil, 409, false},
		{"a stop of nothing", in, "POST", "/api/stop", "", nil, 409, false},
		{"a step up", in, "GET", "/../../etc/passwd", "", nil, 404, false},
		{"a step up, hidden", in, "GET", "/%2e%2e%2f%2e%2e%2fetc%2fpasswd", "", nil, 404, false},
		{"a step up in a run", in, "GET", "/api/runs/..%2f..%2fetc/journal.jsonl", "", nil, 404, false},
		{"another file of a run", in, "GET", "/api/runs/x/..%2fjournal.jsonl", "", nil, 422, false},
		{"a run that is not", in, "GET", "/api/runs/nosuch/report.html", "", nil, 404, false},
		{"a list of files", in, "GET", "/static/", "", nil, 404, false},
		{"no such file", in, "GET", "/page.go", "", nil, 404, false},
		{"a put", in, "PUT", "/api/plan", order, nil, 405, false},
		{"a visit that is allowed", in, "GET", "/api/state", "", nil, 200, false},
		{"an order that is allowed", in, "POST", "/api/plan", order, nil, 422, true},
	} {
		before := x.prepared.Load()
		code, text := x.do(c.who, c.method, c.path, c.body, c.head...)
		if code != c.want {
			t.Errorf("%s: answered %d (%.120s), want %d", c.name, code, text, c.want)
		}
		if got := x.prepared.Load() > before; got != c.countsPrepared {
			t.Errorf("%s: something was prepared: %v", c.name, got)
		}
		if s := x.board.Now(); s.Top.Phase != Idle {
			t.Fatalf("%s: the state is %s", c.name, s.Top.Phase)
		}
	}
}

// A key opens one page, and no second one.
func TestAKeyIsGoodOnce(t *testing.T) {
	x := serveOn(t, false)
	i, err := x.Invite()
	if err != nil {
		t.Fatal(err)
	}
	u, err := url.Parse(i.Address)
	if err != nil {
		t.Fatal(err)
	}
	key, ok := strings.CutPrefix(u.Fragment, "key=")
	if !ok || len(key) < 22 || u.RawQuery != "" {
		t.Fatalf("address %q: want the key after the #, where no server sees it", i.Address)
	}
	first, second := x.browser(), x.browser()
	body := fmt.Sprintf(`{"key":%q}`, key)
	r, err := first.Post(x.url+"/api/pair", "application/json", strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Body.Close()
	if c := r.Header.Get("Set-Cookie"); r.StatusCode/100 != 2 || !strings.Contains(c, "HttpOnly") || !strings.Contains(c, "SameSite=Strict") {
		t.Errorf("answered %s with the cookie %q", r.Status, c)
	}
	if code, _ := x.do(first, "GET", "/api/state", ""); code != 200 {
		t.Errorf("whoever has paired gets %d", code)
	}
	if code, _ := x.do(second, "POST", "/api/pair", body); code != 403 {
		t.Errorf("the key a second time gets %d, want 403", code)
	}
	if code, _ := x.do(second, "GET", "/api/state", ""); code != 401 {
		t.Errorf("whoever replayed a key gets %d, want 401", code)
	}
	for range pairBurst + 2 {
		x.do(second, "POST", "/api/pair", `{"key":"guess"}`)
	}
	if code, _ := x.do(second, "POST", "/api/pair", `{"key":"guess"}`); code != 429 {
		t.Errorf("guessing on gets %d, want 429", code)
	}
}

// Whoever asks too much is refused; whoever wants to stop never is.
func TestAFloodIsRefusedAndStopGetsThrough(t *testing.T) {
	x := serveOn(t, true)
	c := x.paired()
	refused := 0
	for range 3 * burst {
		if code, _ := x.do(c, "GET", "/api/people", ""); code == http.StatusTooManyRequests {
			refused++
		}
	}
	if refused < burst {
		t.Errorf("%d of %d hurried requests were refused", refused, 3*burst)
	}
	if code, _ := x.do(c, "POST", stopPath, ""); code != http.StatusConflict { // there is nothing to stop
		t.Errorf("stop gets %d in a flood", code)
	}
}

// A flood of event streams takes the places of its own browser, and of no other.
func TestStreamsAreCounted(t *testing.T) {
	x := serveOn(t, true)
	c := x.paired()
	open := 0
	for range 3 * streamsPerOne {
		r, err := c.Get(x.url + eventsPath)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		if r.StatusCode == 200 {
			open++
		}
	}
	if open > streamsPerOne || open == 0 {
		t.Errorf("%d streams of one browser are open, want at most %d", open, streamsPerOne)
	}
	r, err := x.paired().Get(x.url + eventsPath)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	if r.StatusCode != 200 {
		t.Errorf("another browser gets %s", r.Status)
	}
}

// A body of 100 MB is not read, by whatever way it comes.
func TestAHugeBodyIsNotRead(t *testing.T) {
	x := serveOn(t, true)
	cookie := x.people.cookie()
	for _, chunked := range []bool{false, true} {
		conn, err := net.Dial("tcp", strings.TrimPrefix(x.url, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		conn.SetDeadline(time.Now().Add(time.Minute))
		length := "Content-Length: 104857600"
		if chunked {
			length = "Transfer-Encoding: chunked"
		}
		fmt.Fprintf(conn, "POST /api/plan HTTP/1.1\r\nHost: %s\r\nCookie: %s=%s\r\nContent-Type: application/json\r\n%s\r\n\r\n", strings.TrimPrefix(x.url, "http://"), cookie.Name, cookie.Value, length)
		sent := 0
		block := make([]byte, 64<<10)
		for sent < 100<<20 {
			if chunked {
				if _, err := fmt.Fprintf(conn, "%x\r\n", len(block)); err != nil {
					break
				}
			}
			n, err := conn.Write(block)
			sent += n
			if err != nil {
				break
			}
			if chunked {
				io.WriteString(conn, "\r\n")
			}
		}
		conn.Close()
		if sent >= 100<<20 {
			t.Errorf("chunked %v: all 100 MB were taken", chunked)
		}
	}
	if x.prepared.Load() != 0 {
		t.Error("something was prepared")
	}
}

// One operates; who looks on may do nothing but stop; handing over and taking over are seen by all.
func TestOneOperatesAndTheOthersLookOn(t *testing.T) {
	x := serveOn(t, true)
	a, b := x.paired(), x.paired()
	hold := r4(x)
	ra, rb := hold(a), hold(b)
	defer ra.Close()
	defer rb.Close()
	if code, _ := x.do(a, "POST", "/api/plan", `{"work":"match"}`); code != 422 {
		t.Fatalf("the first to act gets %d", code)
	}
	if code, text := x.do(b, "POST", "/api/plan", `{"work":"match"}`); code != 403 {
		t.Errorf("who looks on gets %d %s", code, text)
	}
	if code, _ := x.do(b, "POST", stopPath, ""); code != 409 {
		t.Errorf("who looks on gets %d for stop: want to be told that nothing runs", code)
	}
	if code, _ := x.do(b, "POST", "/api/hand-over", `{"to":""}`); code != 403 {
		t.Errorf("who looks on hands over: %d", code)
	}
	if code, _ := x.do(b, "POST", "/api/take-over", ""); code != 200 {
		t.Errorf("taking over: %d", code)
	}
	log := x.board.Now().Log
	if l := log[len(log)-1]; !l.Loud || !strings.Contains(l.Text, "taken over from") {
		t.Errorf("the log says %+v", l)
	}
	if code, _ := x.do(a, "POST", "/api/plan", `{"work":"match"}`); code != 403 {
		t.Errorf("who was taken over from gets %d", code)
	}
	_, text := x.do(a, "GET", "/api/me", "")
	var me Me
	if err := json.Unmarshal([]byte(text), &me); err != nil {
		t.Fatal(err)
	}
	if code, _ := x.do(b, "POST", "/api/hand-over", fmt.Sprintf(`{"to":%q}`, me.You.ID)); code != 200 {
		t.Errorf("handing over: %d", code)
	}
	if op := x.board.Now().Top.Operator; op == nil || op.ID != me.You.ID {
		t.Errorf("%+v operates, want %+v", op, me.You)
	}
}

// r4 opens streams, as a page that is open has one.
func r4(x *served) func(*http.Client) io.Closer {
	return func(c *http.Client) io.Closer {
		r, err := c.Get(x.url + eventsPath)
		if err != nil {
			x.t.Fatal(err)
		}
		io.ReadFull(r.Body, make([]byte, 20))
		return r.Body
	}
}

// Everything that is served to a browser comes from here: no page asks another machine for anything.
func TestThePageAsksNobodyElse(t *testing.T) {
	seen := 0
	files, err := static.ReadDir("static")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		text, err := static.ReadFile("static/" + f.Name())
		if err != nil {
			t.Fatal(err)
		}
		seen++
		clean := strings.ReplaceAll(string(text), "http://www.w3.org/2000/svg", "")
		for _, bad := range []string{"http://", "https://", "//cdn", "@import", "style=\"", "onclick=\"", "eval(", "innerHTML"} {
			if strings.Contains(clean, bad) {
				t.Errorf("%s holds %q", f.Name(), bad)
			}
		}
	}
	if seen < 10 {
		t.Errorf("%d files were looked at", seen)
	}
}

// Clients that are slow on purpose are sent away, and meanwhile others are served.
func TestSlowClientsAreSentAway(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for a time-out")
	}
	x := serveOn(t, true)
	var slow []net.Conn
	for range 60 {
		conn, err := net.Dial("tcp", strings.TrimPrefix(x.url, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		io.WriteString(conn, "GET /api/state HTTP/1.1\r\nHost: ")
		slow = append(slow, conn)
	}
	if code, _ := x.do(x.paired(), "GET", "/api/state", ""); code != 200 {
		t.Errorf("beside slow clients another is answered %d", code)
	}
	end := time.Now().Add(2 * readTime)
	for _, c := range slow {
		c.SetReadDeadline(end)
		if _, err := io.Copy(io.Discard, c); errors.Is(err, os.ErrDeadlineExceeded) {
			t.Fatalf("a slow client is borne for longer than %v", 2*readTime)
		}
	}
}
