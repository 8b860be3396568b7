package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"net"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/safety"
)

func lightAt(x, y, lux float64) feed.Reading {
	return feed.Reading{UV: colorcalc.XY{X: x, Y: y}.UV(), Y: lux, HasY: true, Quantity: feed.ChromaLevel}
}

type sink struct{ *bytes.Buffer }

func (sink) Close() error { return nil }

// Lights are kept under names, compared with a chosen one, and exported.
func TestBenchHoldsAndCompares(t *testing.T) {
	b := newBench(3)
	var out bytes.Buffer
	do := func(line string) (string, error) {
		return b.command(line, time.Date(2026, 1, 2, 3, 4, 5, 0, time.UTC), func(string) (io.WriteCloser, error) { return sink{&out}, nil })
	}
	must := func(line, want string) {
		t.Helper()
		if got, err := do(line); err != nil || got != want {
			t.Errorf("%s: %q, %v; want %q", line, got, err, want)
		}
	}
	for _, bad := range []string{"keep", "compare window", "export", "dance", "keep x at nowhere"} {
		if got, err := do(bad); err == nil {
			t.Errorf("%s: %q with nothing read", bad, got)
		}
	}
	for range 5 {
		b.add(lightAt(0.3127, 0.3290, 100)) // window of three
	}
	must("keep window", "window kept: mean of 3 readings")
	must("restart", "averages restarted")
	b.add(lightAt(0.3226, 0.3290, 200))
	must("keep key left", "key left kept: mean of 1 reading")
	if _, err := do("keep window"); err == nil {
		t.Error("a name was kept twice")
	}
	must("export x", "2 lights written to x")
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil || len(rows) != 3 || rows[2][0] != "key left" || rows[2][13] != "window" || rows[2][4] != "0.32260" {
		t.Errorf("%v, %v", rows, err)
	}
	if text := strings.Join(b.lines(nil, time.Now()), "\n"); !strings.Contains(text, "* window") || !strings.Contains(text, "(+1.00 stops)") {
		t.Errorf("a light twice as bright is one stop up:\n%s", text)
	}
	must("drop window", "window dropped")
	if b.ref != "" {
		t.Error("compared with something that was dropped")
	}
	b.add(feed.Reading{Flags: feed.Underrange})
	if text := strings.Join(b.lines(nil, time.Now()), "\n"); !strings.Contains(text, "too dark") {
		t.Errorf("a dark reading is shown as:\n%s", text)
	}
}

// The mean of lights of different level is that of the light, not of the
// numbers: two parts of one and one part of the other by luminance.
func TestBenchMeanIsAdditive(t *testing.T) {
	a, c := lightAt(0.64, 0.33, 200), lightAt(0.30, 0.60, 100)
	m, _ := mean([]feed.Reading{a, c})
	// Grassmann: X = 2*0.64/0.33*100 + 0.30/0.60*100, Y = 300, sum of X+Y+Z = 200/0.33 + 100/0.60.
	s := 200/0.33 + 100/0.60
	if xy := m.UV.XY(); math.Abs(xy.X-(200*0.64/0.33+100*0.30/0.60)/s) > 1e-9 || math.Abs(xy.Y-300/s) > 1e-9 || m.Y != 150 {
		t.Errorf("%v level %v", xy, m.Y)
	}
}

// twoProbes serves two heads that read the same lamp, one of them shifted.
func twoProbes(t *testing.T) (addr string, next func()) {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	lamp := 0
	lamps := [][3]float64{{0.64, 0.33, 80}, {0.30, 0.60, 150}, {0.16, 0.06, 20}}
	ctx, cancel := context.WithCancel(context.Background())
	var wg sync.WaitGroup
	t.Cleanup(func() { cancel(); ln.Close(); wg.Wait() })
	wg.Go(func() {
		for {
			c, err := ln.Accept()
			if err != nil {
				return
			}
			wg.Go(func() {
				defer c.Close()
				for {
					mu.Lock()
					l := lamps[lamp%3]
					mu.Unlock()
					// The second head sees 3 % more red and 2 % less blue.
					k := l[2] / l[1]
					x, y, z := 1.03*l[0]*k, l[2], 0.98*(1-l[0]-l[1])*k
					fmt.Fprintf(c, `{"probe":"h1","x":%.6f,"y":%.6f,"lux":%.4f,"round_xy":0.000001}`+"\n", l[0], l[1], l[2])
					fmt.Fprintf(c, `{"probe":"h2","x":%.6f,"y":%.6f,"lux":%.4f,"round_xy":0.000001}`+"\n", x/(x+y+z), y/(x+y+z), y)
					select {
					case <-time.After(10 * time.Millisecond):
					case <-ctx.Done():
						return
					}
				}
			})
		}
	})
	return ln.Addr().String(), func() { mu.Lock(); lamp++; mu.Unlock() }
}

// stepReader answers Enter, and changes the lamp before each.
type stepReader struct {
	next  func()
	first bool
}

func (r *stepReader) Read(p []byte) (int, error) {
	if r.first {
		r.next()
	}
	r.first = true
	p[0] = '\n'
	return 1, nil
}

// Two heads that differ agree after three lamps, and everything that reads the
// rig from then on uses what was found.
func TestFeedAlign(t *testing.T) {
	addr, next := twoProbes(t)
	dir := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", dir)
	rigFile := filepath.Join(dir, "rig.yaml")
	text := fmt.Sprintf("rig: Two heads\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\nfeeds: [{name: meter, kind: tcp, address: %q, latency: 1 ms, integration: 1 ms, probes: {h1: left, h2: right}}]\n"+
		"target: {color: D65, level: 40 %%}\nfixtures:\n  - {name: a, profile: %q, mode: knobs, by_hand: true, probe: left}\n", addr, filepath.Join(moduleRoot(t), "examples/profiles/rushwimble-knob-panel.yaml"))
	if err := os.WriteFile(rigFile, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	code := run([]string{"feed", "align", rigFile, "--to", "left", "--lights", "3", "--readings", "4"}, &stepReader{next: next}, &out, &errs)
	if code != 0 || !strings.Contains(out.String(), "right: 3x3 matrix from 3 lights to agree with \"left\"") {
		t.Fatalf("exit %d\n%s%s", code, out.String(), errs.String())
	}
	out.Reset()
	if code := run([]string{"read", rigFile, "--json", "--count", "6"}, strings.NewReader(""), &out, &errs); code != 0 {
		t.Fatalf("exit %d\n%s", code, errs.String())
	}
	seen := map[string]string{}
	for _, l := range strings.Split(strings.TrimSpace(out.String()), "\n") {
		_, rest, _ := strings.Cut(l, `"probe":"`)
		probe, rest, _ := strings.Cut(rest, `"`)
		_, rest, _ = strings.Cut(rest, `"x":`)
		x, _, _ := strings.Cut(rest, ",")
		seen[probe] = x[:min(len(x), 6)]
	}
	if seen["left"] == "" || seen["left"] != seen["right"] {
		t.Errorf("after aligning, the heads read x %v", seen)
	}
}

// handReader presses Enter, and takes the light away just after.
type handReader struct{ next func() }

func (r handReader) Read(p []byte) (int, error) {
	time.AfterFunc(5*time.Millisecond, r.next)
	p[0] = '\n'
	return 1, nil
}

// A step of light tells the latency of a meter that has no clock, from above.
func TestFeedCheckMeasuresLatency(t *testing.T) {
	addr, next := twoProbes(t)
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	var out, errs bytes.Buffer
	code := run([]string{"feed", "check", "--address", addr, "--probe", "h1", "--readings", "6", "--step"}, handReader{next}, &out, &errs)
	if code != 0 {
		t.Fatalf("exit %d\n%s%s", code, out.String(), errs.String())
	}
	_, rest, ok := strings.Cut(out.String(), "latency    at most ")
	word, _, _ := strings.Cut(rest, ";")
	d, err := time.ParseDuration(strings.ReplaceAll(word, " ", ""))
	// The truth is below a millisecond; the step came 5 ms after Enter and lines
	// come every 10 ms. A busy machine may be late, never early.
	if !ok || err != nil || d < 4*time.Millisecond || d > 2*time.Second {
		t.Errorf("latency %q, %v\n%s", word, err, out.String())
	}
	if strings.Contains(out.String(), "latency is not known") {
		t.Errorf("the latency was measured and is called unknown:\n%s", out.String())
	}
}

// A report says how probes were corrected, so that nobody takes a corrected
// reading for a raw one.
func TestReportNamesCorrectedProbes(t *testing.T) {
	made := time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC)
	words := session.CorrectionWords(map[string]feed.Correction{"right": {DX: 0.0012, DY: -0.0003, GainY: 0.98, Lamps: 1, To: "left", Made: made}})
	var b bytes.Buffer
	if err := report.WritePage(&b, &session.Summary{Info: session.RunInfo{Rig: "r", Corrected: words}}, report.Extras{Cautions: safety.Cautions}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "probe right: x &#43;0.0012, y -0.0003, level times 0.9800") {
		t.Errorf("words %q are not in the page", words)
	}
}
