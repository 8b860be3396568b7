package page

import (
	"context"
	"encoding/json"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// While a run is at work and a person is asked something, nobody who must not gets anywhere with any operation that there is, and nothing that the
// pages show is changed by it. The operations are those of the description of the interface, so that a new one is tried too.
func TestNoOperationLetsAHostileRequestTouchARun(t *testing.T) {
	x := serveOn(t, false)
	in := x.people.cookie()
	x.people.now = func() time.Time { return time.Now().Add(-2 * cookieLife) }
	old := x.people.cookie()
	began := time.Now()
	x.people.now = func() time.Time { return began } // who operates opens no page here, and would count as gone after a while
	foreign := newPeople([]byte(strings.Repeat("b", 32)), false, NewBoard("", "e", nil)).cookie()
	x.board.Top(func(t *Top) { t.Phase = Working })
	x.control.mu.Lock()
	x.control.running = true
	x.control.mu.Unlock()
	asking, over := context.WithCancel(t.Context())
	defer over()
	x.control.all.Go(func() { x.control.ask.put(asking, Question{Kind: dialKind, Lamp: "key"}) })
	for x.board.Now().Top.Question == nil {
		time.Sleep(time.Millisecond)
	}
	operator := x.paired()
	if code, text := x.do(operator, "POST", "/api/take-over", ""); code != 200 {
		t.Fatal(code, text)
	}
	_, described := x.do(operator, "GET", "/api/openapi.json", "")
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(described))
	if err != nil {
		t.Fatal(err)
	}
	state := func() string {
		text, err := json.Marshal(x.board.Now())
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	tried := 0
	for i, w := range []struct {
		name   string
		cookie *http.Cookie
		head   []string
		looks  bool // it may look, and stop
	}{
		{name: "no key"},
		{name: "a cookie that has run out", cookie: old},
		{name: "a cookie of another machine", cookie: foreign},
		{name: "by another name", cookie: in, head: []string{"Host", "evil.example"}},
		{name: "from another page", cookie: in, head: []string{"Origin", "http://evil.example"}},
		{name: "from another site", cookie: in, head: []string{"Sec-Fetch-Site", "cross-site"}},
		{name: "who looks on", cookie: in, looks: true},
	} {
		c := &http.Client{Timeout: time.Minute, Transport: &http.Transport{DialContext: (&net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 1, byte(i+1))}}).DialContext}}
		defer c.CloseIdleConnections()
		for path, ways := range doc.(map[string]any)["paths"].(map[string]any) {
			for method, op := range ways.(map[string]any) {
				if path == "/api/pair" || w.looks && (method == "get" || path == stopPath || path == "/api/take-over" || path == "/api/here" || path == "/api/check") {
					continue
				}
				before := state()
				head := w.head
				if w.cookie != nil {
					head = append([]string{"Cookie", w.cookie.Name + "=" + w.cookie.Value}, head...)
				}
				body := ""
				if op.(map[string]any)["requestBody"] != nil {
					body = bodies[path]
					if body == "" {
						t.Fatalf("%s: say what is sent to it", path)
					}
				}
				path := strings.NewReplacer("{run}", "match", "{file}", "journal.jsonl").Replace(path)
				code, text := x.do(c, strings.ToUpper(method), path, body, head...)
				if tried++; code != 401 && code != 403 && code != 421 {
					t.Errorf("%s: %s %s is answered %d %.100s", w.name, method, path, code, text)
				}
				if now := state(); now != before {
					t.Fatalf("%s: %s %s has changed the state from\n%.500s\nto\n%.500s", w.name, method, path, before, now)
				}
			}
		}
	}
	if tried < 100 || x.prepared.Load() != 0 {
		t.Errorf("%d requests were tried, %d runs prepared", tried, x.prepared.Load())
	}
}

// bodies are good ones, of operations that have one: what is refused is who asks.
var bodies = map[string]string{
	"/api/plan":      `{"work":"match"}`,
	"/api/start":     `{"plan":"AAAAAAAAAAAAAAAAAAAAAA","clear":true}`,
	"/api/answer":    `{"question":1,"text":""}`,
	"/api/hand-over": `{"to":""}`,
}
