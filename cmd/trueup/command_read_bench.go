package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/profiles/printable"
)

// bench is the state of the bench display: what each probe reads, the mean and
// spread of the last readings, what was kept under a name, and what all is
// compared with. It prints nothing by itself.
type bench struct {
	window int
	probes []*benchProbe
	kept   []kept
	ref    string // name of the light that is compared with
}

type benchProbe struct {
	name   string
	last   feed.Reading
	recent []feed.Reading
	count  int
}

// kept is a light that was kept: the mean of a probe's recent readings.
type kept struct {
	Name   string
	At     time.Time
	Probe  string
	Mean   feed.Reading
	N      int
	Spread float64 // u'v', standard deviation per axis
}

func newBench(window int) *bench { return &bench{window: window} }

// add takes a reading.
func (b *bench) add(r feed.Reading) {
	p := b.probe(r.Probe)
	if p == nil {
		p = &benchProbe{name: r.Probe}
		b.probes = append(b.probes, p)
	}
	p.last = r
	p.count++
	if r.Flags.Has(feed.Underrange) {
		return
	}
	if len(p.recent) == b.window {
		p.recent = append(p.recent[:0], p.recent[1:]...)
	}
	p.recent = append(p.recent, r)
}

func (b *bench) probe(name string) *benchProbe {
	for _, p := range b.probes {
		if p.name == name {
			return p
		}
	}
	return nil
}

// mean averages readings in XYZ where all have a level, else in u'v', and gives
// the standard deviation per axis of u'v'.
func mean(rs []feed.Reading) (feed.Reading, float64) {
	m := rs[len(rs)-1]
	var sum colorcalc.XYZ
	var uv colorcalc.UV
	level := true
	n := float64(len(rs))
	for _, r := range rs {
		level = level && r.HasY
		sum = sum.Add(r.XYZ())
		uv.U, uv.V = uv.U+r.UV.U/n, uv.V+r.UV.V/n
	}
	m.HasY = level
	if level {
		m.UV, m.Y = sum.UV(), sum.Y/n
	} else {
		m.UV, m.Y = uv, 0
	}
	if len(rs) < 2 {
		return m, 0
	}
	s := 0.0
	for _, r := range rs {
		s += (r.UV.U-uv.U)*(r.UV.U-uv.U) + (r.UV.V-uv.V)*(r.UV.V-uv.V)
	}
	return m, math.Sqrt(s / 2 / (n - 1))
}

// command does what a person typed, and says what came of it.
func (b *bench) command(line string, now time.Time, create func(name string) (io.WriteCloser, error)) (string, error) {
	words := strings.Fields(line)
	if len(words) == 0 {
		return "", nil
	}
	rest := strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(line), words[0]))
	switch words[0] {
	case "keep", "k":
		return b.keep(rest, now)
	case "compare", "c":
		if rest == "" {
			b.ref = ""
			return "compared with nothing", nil
		}
		if b.find(rest) == nil {
			return "", fmt.Errorf("nothing is kept as %q; kept are: %s", rest, b.names())
		}
		b.ref = rest
		return "compared with " + rest, nil
	case "drop", "d":
		for i, h := range b.kept {
			if h.Name == rest {
				b.kept = append(b.kept[:i], b.kept[i+1:]...)
				if b.ref == rest {
					b.ref = ""
				}
				return rest + " dropped", nil
			}
		}
		return "", fmt.Errorf("nothing is kept as %q; kept are: %s", rest, b.names())
	case "restart", "r":
		for _, p := range b.probes {
			p.recent = nil
		}
		return "averages restarted", nil
	case "export", "e":
		if rest == "" {
			return "", errors.New("export: to which file?")
		}
		w, err := create(rest)
		if err != nil {
			return "", err
		}
		if err := errors.Join(b.export(w), w.Close()); err != nil {
			return "", err
		}
		return fmt.Sprintf("%s written to %s", printable.Count(len(b.kept), "light"), rest), nil
	}
	return "", fmt.Errorf("%q is not known: want keep NAME, compare NAME, drop NAME, restart, export FILE or quit", words[0])
}

// keep keeps the mean of the recent readings; "NAME" of the first probe, or
// "NAME at PROBE".
func (b *bench) keep(rest string, now time.Time) (string, error) {
	name, probe, at := strings.Cut(rest, " at ")
	name, probe = strings.TrimSpace(name), strings.TrimSpace(probe)
	if name == "" {
		name = "light " + strconv.Itoa(len(b.kept)+1)
	}
	if b.find(name) != nil {
		return "", fmt.Errorf("%q is kept already; drop it first, or take another name", name)
	}
	var p *benchProbe
	if at {
		if p = b.probe(probe); p == nil {
			return "", fmt.Errorf("no probe %q has spoken", probe)
		}
	} else if len(b.probes) > 0 {
		p = b.probes[0]
	}
	if p == nil || len(p.recent) == 0 {
		return "", errors.New("there is no reading to keep yet")
	}
	m, spread := mean(p.recent)
	b.kept = append(b.kept, kept{name, now, p.name, m, len(p.recent), spread})
	if b.ref == "" {
		b.ref = name
	}
	return fmt.Sprintf("%s kept: mean of %s", name, printable.Count(len(p.recent), "reading")), nil
}

func (b *bench) find(name string) *kept {
	for i := range b.kept {
		if b.kept[i].Name == name {
			return &b.kept[i]
		}
	}
	return nil
}

func (b *bench) names() string {
	if len(b.kept) == 0 {
		return "none"
	}
	var out []string
	for _, h := range b.kept {
		out = append(out, h.Name)
	}
	return strings.Join(out, ", ")
}

// export writes what is kept as CSV, with the difference to the reference.
func (b *bench) export(w io.Writer) error {
	c := csv.NewWriter(w)
	c.Write([]string{"name", "time", "probe", "readings", "x", "y", "u_prime", "v_prime", "cct_kelvin", "duv", "level", "spread_uv", "delta_uv", "to", "words"})
	f := func(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) }
	ref := b.find(b.ref)
	for _, h := range b.kept {
		xy := h.Mean.UV.XY()
		row := []string{h.Name, h.At.Format(time.RFC3339), h.Probe, strconv.Itoa(h.N), f(xy.X, 5), f(xy.Y, 5), f(h.Mean.UV.U, 5), f(h.Mean.UV.V, 5), "", "", "", f(h.Spread, 6), "", "", ""}
		if t, d, err := colorcalc.CCT(xy); err == nil {
			row[8], row[9] = f(float64(t), 0), f(float64(d), 5)
		}
		if h.Mean.HasY {
			row[10] = strconv.FormatFloat(h.Mean.Y, 'g', 6, 64)
		}
		if ref != nil && ref.Name != h.Name {
			row[12], row[13], row[14] = f(ref.Mean.UV.Dist(h.Mean.UV), 5), ref.Name, colorcalc.Describe(ref.Mean.UV.XY(), xy)
		}
		c.Write(row)
	}
	c.Flush()
	return c.Error()
}

// lines draws the display.
func (b *bench) lines(feeds []feed.Status, now time.Time) []string {
	var out []string
	for _, s := range feeds {
		words := fmt.Sprintf("%s: %v, %s", s.Name, s.State, printable.Count(int(s.Accepted), "reading"))
		if s.Why != "" {
			words += " (" + printable.Text(s.Why) + ")"
		}
		aside := uint64(0)
		for _, n := range s.SetAside {
			aside += n
		}
		if aside > 0 {
			words += fmt.Sprintf(", %d set aside", aside)
		}
		out = append(out, words)
	}
	ref := b.find(b.ref)
	for _, p := range b.probes {
		out = append(out, probeLines(p, ref)...)
	}
	if len(b.kept) > 0 {
		out = append(out, "")
		for _, h := range b.kept {
			out = append(out, b.keptLine(h, ref))
		}
	}
	return out
}

// probeLines are what one probe reads now, on average, and beside the reference.
func probeLines(p *benchProbe, ref *kept) []string {
	name := printable.Text(p.name)
	if name == "" {
		name = "light"
	}
	out := []string{""}
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if len(p.recent) == 0 {
		add("%-12s too dark for a colour", name)
		return out
	}
	r := p.last
	if r.Flags.Has(feed.Underrange) {
		add("%-12s too dark for a colour; before that:", name)
		r = p.recent[len(p.recent)-1]
	}
	out = append(out, quantities(name, r)...)
	if m, spread := mean(p.recent); len(p.recent) > 1 {
		xy := m.UV.XY()
		add("%-12s x %.4f  y %.4f  of %d, spread %.5f u'v'", "  mean", xy.X, xy.Y, len(p.recent), spread)
		r = m
	}
	if ref != nil {
		add("%-12s %s", "  to "+ref.Name, difference(ref.Mean, r))
	}
	if q := lightQuality(p.last); q != "" {
		add("%-12s %s", "  quality", q)
	}
	return out
}

// keptLine is one light that is kept, beside the reference.
func (b *bench) keptLine(h kept, ref *kept) string {
	mark := " "
	if h.Name == b.ref {
		mark = "*"
	}
	xy := h.Mean.UV.XY()
	words := fmt.Sprintf("%s %-14s x %.4f  y %.4f", mark, h.Name, xy.X, xy.Y)
	if t, d, err := colorcalc.CCT(xy); err == nil {
		words += fmt.Sprintf("  %5.0f K %s", float64(t), d.Text())
	}
	if h.Mean.HasY {
		words += fmt.Sprintf("  %.4g", h.Mean.Y)
	}
	if ref != nil && h.Name != ref.Name {
		words += "  " + difference(ref.Mean, h.Mean)
	}
	return words
}

// quantities shows a reading in all quantities that it can tell.
func quantities(name string, r feed.Reading) []string {
	xy := r.UV.XY()
	one := fmt.Sprintf("%-12s x %.4f  y %.4f    u' %.4f  v' %.4f", name, xy.X, xy.Y, r.UV.U, r.UV.V)
	two := fmt.Sprintf("%-12s ", "")
	t, d, err := colorcalc.CCT(xy)
	switch {
	case err == nil:
		two += fmt.Sprintf("%.0f K  %.1f mired  Duv %s", float64(t), float64(t.Mired()), d.Text())
		if tint := colorcalc.TintWords(d); tint != "" {
			two += " (" + tint + ")"
		}
	case errors.Is(err, colorcalc.ErrFarFromLocus):
		two += "a colour: no colour temperature"
	default:
		two += "no colour temperature"
	}
	if !r.HasY {
		return []string{one, two, fmt.Sprintf("%-12s no level told", "")}
	}
	c := r.XYZ()
	return []string{one, two, fmt.Sprintf("%-12s level %.5g    X %.4g  Y %.4g  Z %.4g", "", r.Y, c.X, c.Y, c.Z)}
}

// difference says how b differs from a.
func difference(a, b feed.Reading) string {
	words := fmt.Sprintf("%.4f u'v'  %s", a.UV.Dist(b.UV), colorcalc.Describe(a.UV.XY(), b.UV.XY()))
	if a.HasY && b.HasY && a.Y > 0 && b.Y > 0 {
		words += fmt.Sprintf("  level %+.1f %% (%+.2f stops)", 100*(b.Y/a.Y-1), math.Log2(b.Y/a.Y))
	}
	return words
}

// benchJSON is a reading for scripts.
type benchJSON struct {
	Time          time.Time `json:"time"`
	Probe         string    `json:"probe,omitempty"`
	Seq           *uint64   `json:"seq,omitempty"`
	X             float64   `json:"x"`
	Y             float64   `json:"y"`
	UPrime        float64   `json:"u_prime"`
	VPrime        float64   `json:"v_prime"`
	CCT           *float64  `json:"cct_kelvin,omitempty"`
	Duv           *float64  `json:"duv,omitempty"`
	Level         *float64  `json:"level,omitempty"`
	IntegrationMs float64   `json:"integration_ms"`
	Dark          bool      `json:"too_dark,omitempty"`
	Corrected     bool      `json:"corrected,omitempty"`
	Delta         *float64  `json:"delta_uv,omitempty"`
	Words         string    `json:"words,omitempty"`
	Quality       string    `json:"quality,omitempty"`
}

// jsonReading makes a reading ready for scripts; ref may be nil.
func jsonReading(r feed.Reading, ref *colorcalc.XY) benchJSON {
	round := func(v float64) float64 { return math.Round(v*1e6) / 1e6 }
	j := benchJSON{Time: r.Time.UTC(), Probe: r.Probe, IntegrationMs: float64(r.Integration.Microseconds()) / 1000, Corrected: r.Flags.Has(feed.Corrected)}
	if r.HasSeq {
		j.Seq = &r.Seq
	}
	if r.Flags.Has(feed.Underrange) {
		j.Dark = true
		return j
	}
	xy := r.UV.XY()
	j.X, j.Y, j.UPrime, j.VPrime = round(xy.X), round(xy.Y), round(r.UV.U), round(r.UV.V)
	if t, d, err := colorcalc.CCT(xy); err == nil {
		k, duv := math.Round(float64(t)*10)/10, round(float64(d))
		j.CCT, j.Duv = &k, &duv
	}
	if r.HasY {
		j.Level = &r.Y
	}
	if ref != nil {
		delta := round(ref.UV().Dist(r.UV))
		j.Delta, j.Words = &delta, colorcalc.Describe(*ref, xy)
	}
	j.Quality = lightQuality(r)
	return j
}
