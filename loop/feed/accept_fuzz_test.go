package feed

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/loop/feed/instrument"
)

func readAnything(t *testing.T, ins *instrument.Instrument, line []byte) {
	d := instrument.NewDecoder(ins, &instrument.Precision{})
	j := newAcceptance(DefaultConfig())
	now := time.Unix(1e9, 0)
	for _, m := range append(strings.Split(string(line), "\n"), string(line)) {
		drafts, _ := d.Decode(instrument.Message{Data: []byte(m), Topic: "a/b"}, now)
		for _, x := range drafts {
			r, aside := j.take(x, now)
			if aside != nil || r.Flags.Has(Underrange) || r.Flags.Has(NotWhite) {
				continue
			}
			if !instrument.OnDiagram(r.UV) || !finite(r.Y) || r.RoundXY < 0 || !finite(r.RoundXY) || r.Integration < 0 || r.Time.After(now) {
				t.Fatalf("%q became %+v", m, r)
			}
		}
	}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func exampleFiles(t testing.TB) []string {
	files, err := filepath.Glob(filepath.Join(examples, "*.yaml"))
	if err != nil || len(files) < 10 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	return append(files, "../../examples/reference-instrument.yaml")
}

// FuzzLine: no line, read by any of the example instruments or as our own
// JSON, becomes a reading that is not one.
func FuzzLine(f *testing.F) {
	var all []*instrument.Instrument
	for _, file := range exampleFiles(f) {
		ins, err := LoadInstrument(file)
		if err != nil {
			f.Fatal(err)
		}
		all = append(all, ins)
		r, err := os.Open("testdata/dialogues/" + strings.TrimSuffix(filepath.Base(file), ".yaml") + ".jsonl")
		if err != nil {
			continue // the reference has no dialogue
		}
		ts, err := ReadRecording(file, r, time.Time{})
		r.Close()
		if err != nil {
			f.Fatal(err)
		}
		for _, m := range ts {
			f.Add(m.Data) // what real ones sent
		}
	}
	f.Add([]byte(`{"x":0.3,"y":1e-320,"lux":1e308,"time_unix_ms":-1e13,"integration_ms":6e4}`)) // edges of float
	f.Add([]byte("CCT= 99999 K D= +99.9 E= 1e300"))                                             // far beyond the locus
	f.Fuzz(func(t *testing.T, line []byte) {
		readAnything(t, nil, line)
		for _, ins := range all {
			readAnything(t, ins, line)
		}
	})
}

// FuzzRecording: a recording that is read can be written and read again.
func FuzzRecording(f *testing.F) {
	f.Add("{\"ms\":0,\"from\":\"a\"}\n{\"ms\":2.5,\"to_hex\":\"00ff\"}\n{\"ms\":3,\"note\":\"x\"}\n") // each kind of line
	f.Fuzz(func(t *testing.T, s string) {
		base := time.Unix(0, 0)
		ts, err := ReadRecording("f", strings.NewReader(s), base)
		if err != nil {
			return
		}
		var b strings.Builder
		r := NewRecorder(&b, base)
		for _, x := range ts {
			r.Tap(x)
		}
		again, err := ReadRecording("f", strings.NewReader(b.String()), base)
		if err != nil || len(again) != len(ts) {
			t.Fatalf("%v: %d of %d lines", err, len(again), len(ts))
		}
		for i := range ts {
			if string(ts[i].Data) != string(again[i].Data) || ts[i].Sent != again[i].Sent {
				t.Fatalf("line %d: %q became %q", i, ts[i].Data, again[i].Data)
			}
		}
	})
}
