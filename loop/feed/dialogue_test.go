package feed

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"trueup/loop/feed/instrument"
)

const examples = "../../examples/instruments"

// played is a transport at whose other end a recorded instrument sits: it sends
// what it sent, when it is asked what it was asked.
type played struct {
	t       *testing.T
	traffic []Traffic
	base    time.Time
	done    chan struct{}
}

func (p *played) run(ctx context.Context, f *Feed) error {
	if ins := f.cfg.Instrument; ins.Whole([]byte("/")) || hasTopic(p.traffic) {
		l := newLink(f)
		l.up()
		at := p.base
		for _, m := range p.traffic {
			time.Sleep(m.At.Sub(at))
			at = m.At
			l.datagram(m.Data, m.Topic)
		}
		close(p.done)
		<-ctx.Done()
		return ctx.Err()
	}
	ours, theirs := net.Pipe()
	go p.meter(theirs, f.cfg.Instrument)
	return stream(ctx, ours, newLink(f))
}

func hasTopic(ts []Traffic) bool {
	for _, t := range ts {
		if t.Topic != "" {
			return true
		}
	}
	return false
}

func (p *played) meter(c net.Conn, ins *instrument.Instrument) {
	defer c.Close()
	end := string(ins.End)
	if end == "" {
		end = "\r\n"
	}
	at := p.base
	for _, m := range p.traffic {
		time.Sleep(m.At.Sub(at))
		at = m.At
		if m.Sent {
			got := make([]byte, len(m.Data))
			if _, err := io.ReadFull(c, got); err != nil || !bytes.Equal(got, m.Data) {
				p.t.Errorf("the instrument was sent %q (%v), want %q", got, err, m.Data)
				break
			}
			continue
		}
		if _, err := io.WriteString(c, string(m.Data)+end); err != nil {
			p.t.Errorf("sending %q: %v", m.Data, err)
			break
		}
	}
	close(p.done)
	io.Copy(io.Discard, c)
}

// hear plays a recording and writes down what came of it.
func hear(t *testing.T, ins *instrument.Instrument, traffic []Traffic, base time.Time) (lines []string) {
	synctest.Test(t, func(t *testing.T) {
		p := &played{t: t, traffic: traffic, base: base, done: make(chan struct{})}
		f, err := openWith(t.Context(), Config{Name: ins.Name, Instrument: ins, OnEvent: func(e Event) {
			switch {
			case e.Aside != nil:
				lines = append(lines, "aside "+string(e.Aside.Reason))
			case e.Reading != nil:
				lines = append(lines, tell(*e.Reading))
			}
		}}, p)
		if err != nil {
			t.Fatal(err)
		}
		<-p.done
		synctest.Wait()
		f.Close()
	})
	return lines
}

// tell writes a reading as the .want files do.
func tell(r Reading) string {
	var b strings.Builder
	if r.Flags.Has(Underrange) {
		b.WriteString("dark")
	} else {
		xy := r.UV.XY()
		fmt.Fprintf(&b, "%v %.6f %.6f", r.Quantity, xy.X, xy.Y)
		if r.HasY {
			fmt.Fprintf(&b, " level %.7g", r.Y)
		}
	}
	if r.HasSeq {
		fmt.Fprintf(&b, " seq %d", r.Seq)
	}
	for _, s := range [][2]string{{"probe", r.Probe}, {"serial", r.Serial}} {
		if s[1] != "" {
			fmt.Fprintf(&b, " %s %s", s[0], s[1])
		}
	}
	if !r.Flags.Has(Underrange) {
		fmt.Fprintf(&b, " integration %v round %.6g", r.Integration, r.RoundXY)
		if r.Flags.Has(NoDuv) {
			b.WriteString(" noduv")
		}
		if r.Flags.Has(Timed) {
			b.WriteString(" timed")
		}
	}
	return b.String()
}

// sameLine compares what was heard with what the recording says: every word
// of want must be there; chromaticities within half a unit of the last digit
// written, roundings within a fifth.
func sameLine(got, want string) bool {
	g, w := strings.Fields(got), strings.Fields(want)
	if len(w) == 0 || len(g) == 0 {
		return false
	}
	if w[0] == "uvY" { // written as u' v': compare after conversion
		w[0] = "xyY"
		u, _ := strconv.ParseFloat(w[1], 64)
		v, _ := strconv.ParseFloat(w[2], 64)
		d := 6*u - 16*v + 12
		w[1], w[2] = fmt.Sprintf("%.6f", 9*u/d), fmt.Sprintf("%.6f", 4*v/d)
	}
	n := len(strings.Fields(map[bool]string{true: "CCT Duv Y", false: "x"}[strings.HasPrefix(want, "CCT Duv Y")]))
	i, j := 0, 0
	for i < len(w) {
		// Words of got that want does not mention are skipped, keys with their value.
		for j < len(g) && j > n+1 && g[j] != w[i] && (g[j] == "integration" || g[j] == "round") {
			j += 2
		}
		if j >= len(g) {
			return false
		}
		if g[j] != w[i] {
			a, err1 := strconv.ParseFloat(g[j], 64)
			b, err2 := strconv.ParseFloat(w[i], 64)
			tol := 0.0
			switch {
			case err1 != nil || err2 != nil:
				return false
			case i > 0 && w[i-1] == "round":
				tol = b / 5
			case i > 0 && w[i-1] == "level":
				tol = b * 1e-6
			default:
				_, frac, _ := strings.Cut(w[i], ".")
				tol = 0.51 * math.Pow(10, -float64(len(frac)))
			}
			if math.Abs(a-b) > tol {
				return false
			}
		}
		i, j = i+1, j+1
	}
	for j < len(g) && (g[j] == "integration" || g[j] == "round") {
		j += 2
	}
	return j == len(g)
}

// Every instrument of the examples is read through its description alone: the
// recorded dialogue gives the readings that its text shows, and everything else
// in it is set aside by name.
func TestRecordedDialogues(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(examples, "*.yaml"))
	if err != nil || len(files) < 10 {
		t.Fatalf("%d instruments, %v", len(files), err)
	}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".yaml")
		t.Run(name, func(t *testing.T) {
			ins, err := LoadInstrument(file)
			if err != nil {
				t.Fatal(err)
			}
			base := time.Unix(0, 0)
			r, err := os.Open(filepath.Join("testdata/dialogues", name+".jsonl"))
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			traffic, err := ReadRecording(r.Name(), r, base)
			if err != nil {
				t.Fatal(err)
			}
			text, err := os.ReadFile(filepath.Join("testdata/dialogues", name+".want"))
			if err != nil {
				t.Fatal(err)
			}
			want := strings.Split(strings.TrimSpace(string(text)), "\n")
			got := hear(t, ins, traffic, base)
			for i := range max(len(got), len(want)) {
				g, w := "nothing", "nothing"
				if i < len(got) {
					g = got[i]
				}
				if i < len(want) {
					w = want[i]
				}
				if !sameLine(g, w) {
					t.Errorf("%d: heard %s\n   want %s", i+1, g, w)
				}
			}
		})
	}
}

// The comparison used above rejects what differs.
func TestSameLineRejects(t *testing.T) {
	const got = "xyY 0.312700 0.329000 level 100 seq 1 integration 500ms round 0.0001 timed"
	for _, want := range []string{
		"xyY 0.3127 0.3290 level 100 seq 1 round 0.0001 timed",
		"xyY 0.3127 0.3290 level 100 seq 1 integration 500ms timed",
	} {
		if !sameLine(got, want) {
			t.Errorf("%q should match", want)
		}
	}
	for _, want := range []string{
		"", "aside sent twice", "xyY 0.3128 0.3290 level 100 seq 1 timed", "xyY 0.3127 0.3290 level 101 seq 1 timed",
		"xyY 0.3127 0.3290 level 100 seq 2 timed", "xyY 0.3127 0.3290 level 100 seq 1", "xyY 0.3127 0.3290 level 100 timed",
		"xyY 0.3127 0.3290 level 100 seq 1 round 0.0002 timed", "xyY 0.3127 0.3290 level 100 seq 1 integration 400ms timed", "XYZ 0.3127 0.3290 level 100 seq 1 timed",
	} {
		if sameLine(got, want) {
			t.Errorf("%q should not match", want)
		}
	}
}
