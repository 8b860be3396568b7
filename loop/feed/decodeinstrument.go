package feed

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// instrumentDecoder reads messages through a description. Its state lives as
// long as one link.
type instrumentDecoder struct {
	ins    *Instrument
	header map[string]int // csv: column names once seen
	lines  [][]byte       // of the block that is being gathered
	open   bool           // inside a block
	zero   time.Time      // "since start": our time of the instrument's zero
	last   string         // the last reading's text, for new: change
	*precision
}

func (d *instrumentDecoder) decode(m message, now time.Time) ([]draft, []Aside) {
	if d.ins.as == "osc" {
		return d.decodeOSC(m, now)
	}
	line := m.data
	for _, re := range d.ins.ignore {
		if re.Match(line) {
			return nil, nil
		}
	}
	if d.ins.checksum != nil && len(bytes.TrimSpace(line)) > 0 {
		t, err := d.ins.checksum.strip(line)
		if err != nil {
			if d.ins.block != nil && !d.open {
				return nil, nil // chatter between blocks
			}
			return nil, []Aside{{BadChecksum, err.Error(), cut(line)}}
		}
		line = t
	}
	if d.ins.block != nil {
		whole, aside := d.gather(line)
		if aside != nil {
			return nil, []Aside{*aside}
		}
		if whole == nil {
			return nil, nil
		}
		line = whole
	}
	if len(bytes.TrimSpace(line)) == 0 {
		return nil, nil
	}
	m.data = line
	return d.one(m, now)
}

// gather adds a line to the block and returns the block when it is whole.
func (d *instrumentDecoder) gather(line []byte) ([]byte, *Aside) {
	b := d.ins.block
	if b.begin != nil && b.begin.Match(line) {
		var lost *Aside
		if d.open {
			lost = &Aside{Unreadable, fmt.Sprintf("a reading broke off after %d lines", len(d.lines)), cut(bytes.Join(d.lines, []byte("\n")))}
		}
		d.open, d.lines = true, append(d.lines[:0], bytes.Clone(line))
		if b.lines != 1 {
			return nil, lost
		}
	} else if !d.open {
		return nil, nil
	} else {
		d.lines = append(d.lines, bytes.Clone(line))
	}
	n := len(d.lines)
	done := false
	switch {
	case b.lines > 0:
		done = n >= b.lines
	case b.end != nil:
		done = b.end.Match(line)
	default:
		done = len(bytes.TrimSpace(line)) == 0
	}
	if done {
		whole := bytes.Join(d.lines, []byte("\n"))
		d.open, d.lines = false, d.lines[:0]
		return whole, nil
	}
	if n >= b.max {
		whole := bytes.Join(d.lines, []byte("\n"))
		d.open, d.lines = false, d.lines[:0]
		return nil, &Aside{Unreadable, fmt.Sprintf("no end after %d lines", n), cut(whole)}
	}
	return nil, nil
}

// one reads one whole message.
func (d *instrumentDecoder) one(m message, now time.Time) ([]draft, []Aside) {
	for _, e := range d.ins.errors {
		if !e.when.Match(m.data) {
			continue
		}
		words := e.say
		if words == "" {
			words = "the instrument says so"
		}
		switch e.is {
		case "skip":
			return nil, nil
		case "saturated":
			return nil, []Aside{{Overdriven, words, cut(m.data)}}
		case "underrange":
			return []draft{{flags: Underrange, raw: cut(m.data)}}, nil
		}
		return nil, []Aside{{Fault, words, cut(m.data)}}
	}
	v, err := d.view(m)
	if err == nil && v == nil {
		return nil, nil // a header
	}
	if err != nil {
		return nil, []Aside{{Unreadable, err.Error(), cut(m.data)}}
	}
	return d.build(v, m, now)
}

func (d *instrumentDecoder) view(m message) (view, error) {
	switch d.ins.as {
	case "json":
		return openJSON(m.data)
	case "csv":
		cells := splitCSV(string(m.data), d.ins.separator)
		if d.ins.header && d.isHeader(cells) {
			d.header = map[string]int{}
			for i, c := range cells {
				d.header[strings.ToLower(strings.TrimSpace(c))] = i + 1
			}
			return nil, nil
		}
		if d.ins.header && d.header == nil {
			return nil, errors.New("no line with the names of the columns has come yet")
		}
		return csvView{cells, d.header}, nil
	case "columns":
		return columnsView{string(m.data)}, nil
	case "regexp":
		sep := ""
		if s := d.ins.spectrum; s != nil {
			sep = s.separator
		}
		return openRegexp(d.ins.pattern, m.data, sep)
	}
	return nil, fmt.Errorf("can not read as %q", d.ins.as)
}

// isHeader: a line is the header when it holds every column name that the
// description uses.
func (d *instrumentDecoder) isHeader(cells []string) bool {
	has := func(name string) bool {
		for _, c := range cells {
			if strings.EqualFold(strings.TrimSpace(c), name) {
				return true
			}
		}
		return false
	}
	named := false
	for _, f := range d.ins.fields.all() {
		if f == nil || f.place == nil || f.place.name == "" {
			continue
		}
		named = true
		if !has(f.place.name) {
			return false
		}
	}
	return named || d.header == nil
}

func (f *fields) all() []*field {
	return []*field{f.x, f.y, f.uPrime, f.vPrime, f.bigX, f.bigY, f.bigZ, f.level, f.cct, f.duv,
		f.time, f.integration, f.seq, f.probe, f.serial, f.satur, f.underrange}
}

// text fetches the text of a field.
func text(v view, m message, f *field) (string, bool) {
	if f == nil || f.place == nil {
		return "", false
	}
	if n := f.place.topic; n > 0 {
		parts := strings.Split(strings.Trim(m.topic, "/"), "/")
		if n > len(parts) {
			return "", false
		}
		return parts[n-1], true
	}
	return v.get(f.place)
}

// value is a field's number in the house's unit, and the step in which it was
// written, in the same unit.
type value struct{ v, step float64 }

func (d *instrumentDecoder) value(v view, m message, f *field, name string) (value, bool, error) {
	s, ok := text(v, m, f)
	if !ok || strings.TrimSpace(s) == "" {
		return value{}, false, nil
	}
	n, err := parseNumber(s, d.ins.comma)
	if err != nil {
		return value{}, false, fmt.Errorf("%s: %w", name, err)
	}
	u := f.unit
	if n.unit.factor != 0 {
		if n.unit.dim != u.dim {
			return value{}, false, fmt.Errorf("%s: %q is no %s", name, s, u.dim)
		}
		u = n.unit
	}
	if u.factor == 0 {
		u.factor = 1
	}
	x := n.value*f.scale + f.offset
	step := math.Pow(10, -float64(n.decimals)) * math.Abs(f.scale)
	if u.mired {
		if !(x > 0) {
			return value{}, false, fmt.Errorf("%s: %q is no colour temperature", name, s)
		}
		k := u.factor / x
		return value{k, k / x * step}, true, nil
	}
	return value{x * u.factor, step * u.factor}, true, nil
}

// build makes a draft of a message taken apart.
func (d *instrumentDecoder) build(v view, m message, now time.Time) ([]draft, []Aside) {
	raw := cut(m.data)
	no := func(why Reason, err error) ([]draft, []Aside) { return nil, []Aside{{why, err.Error(), raw}} }
	f := &d.ins.fields
	out := draft{raw: raw, integration: d.ins.Integration, asked: m.asked}
	if raised(v, m, f.satur) {
		out.flags |= Saturated
		return []draft{out}, nil
	}
	if raised(v, m, f.underrange) {
		out.flags |= Underrange
	}
	if s, ok := text(v, m, f.probe); ok {
		out.probe = s
	}
	if s, ok := text(v, m, f.serial); ok {
		out.serial = s
	}
	if len(out.probe) > 64 || len(out.serial) > 64 {
		return no(Unreadable, errors.New("a probe or serial name of more than 64 bytes"))
	}
	if s, ok := text(v, m, f.seq); ok {
		n, err := strconv.ParseUint(strings.TrimSpace(s), 10, 64)
		if err != nil {
			return no(Unreadable, fmt.Errorf("seq: %q is not a whole number", s))
		}
		out.seq, out.hasSeq = n, true
	}
	if i, ok, err := d.value(v, m, f.integration, "integration"); err != nil {
		return no(Unreadable, err)
	} else if ok {
		if !(i.v >= 0 && i.v <= 600) {
			return no(Unreadable, fmt.Errorf("integration: %v s is not between 0 and 600 s", i.v))
		}
		out.integration = time.Duration(i.v * 1e9)
	}
	if err := d.stamp(v, m, now, &out); err != nil {
		return no(Unreadable, err)
	}
	why, err := d.colour(v, m, &out)
	if err != nil && !out.flags.Has(Underrange) {
		return no(why, err)
	}
	if d.ins.fresh == "change" {
		if now := string(m.data); now == d.last {
			return no(Repeated, errors.New("the same text again"))
		} else {
			d.last = now
		}
	}
	return []draft{out}, nil
}

func raised(v view, m message, f *field) bool {
	s, ok := text(v, m, f)
	if !ok {
		return false
	}
	for _, w := range f.when {
		if strings.EqualFold(strings.TrimSpace(s), w) {
			return true
		}
	}
	return false
}

// stamp reads the end of integration by the instrument's clock.
func (d *instrumentDecoder) stamp(v view, m message, now time.Time, out *draft) error {
	f := d.ins.fields.time
	s, ok := text(v, m, f)
	if !ok || strings.TrimSpace(s) == "" {
		return nil
	}
	s = strings.TrimSpace(s)
	if f.layout != "" {
		t, err := time.ParseInLocation(f.layout, s, time.Local)
		if err != nil {
			return fmt.Errorf("time: %q is not written like %s", s, f.layout)
		}
		out.stamp, out.hasStamp = t, true
		return nil
	}
	n, err := parseNumber(s, d.ins.comma)
	if err != nil {
		return fmt.Errorf("time: %w", err)
	}
	seconds := n.value*f.scale + f.offset
	if seconds *= f.unit.factor; !(math.Abs(seconds) < 1e11) {
		return fmt.Errorf("time: %q is no time", s)
	}
	whole, frac := math.Modf(seconds)
	if f.since == "unix" {
		out.stamp = time.Unix(int64(whole), int64(math.Round(frac*1e9)))
	} else {
		if whole > 1e9 {
			return fmt.Errorf("time: %q is more than thirty years since its start", s)
		}
		after := time.Duration(seconds * 1e9)
		// The earliest zero seen belongs to the message that came fastest.
		if zero := now.Add(-after); d.zero.IsZero() || zero.Before(d.zero) || zero.Sub(d.zero) > maxDelay {
			d.zero = zero
		}
		out.stamp = d.zero.Add(after).Add(-d.ins.Latency)
	}
	out.hasStamp = true
	return nil
}

// colour reads the richest quantity that is there.
func (d *instrumentDecoder) colour(v view, m message, out *draft) (Reason, error) {
	f := &d.ins.fields
	if s := d.ins.spectrum; s != nil {
		sp, err := s.read(v, m.data, d.ins.comma)
		if err != nil {
			return Unreadable, err
		}
		out.spectrum = sp
	}
	get := func(fs []*field, names ...string) ([]value, bool, error) {
		vs := make([]value, len(fs))
		for i, g := range fs {
			if g == nil {
				return nil, false, nil
			}
			x, ok, err := d.value(v, m, g, names[i])
			if err != nil || !ok {
				return nil, false, err
			}
			vs[i] = x
		}
		return vs, true, nil
	}
	level, hasLevel, err := d.level(v, m)
	if err != nil {
		return Unreadable, err
	}
	if c, ok, err := get([]*field{f.bigX, f.bigY, f.bigZ}, "X", "Y", "Z"); err != nil {
		return Unreadable, err
	} else if ok {
		xyz := colorcalc.XYZ{X: c[0].v, Y: c[1].v, Z: c[2].v}
		out.quantity, out.uv, out.y, out.hasY = Tristimulus, xyz.UV(), xyz.Y, true
		d.rounded(out, max(c[0].step, c[1].step)/(math.Abs(xyz.X)+math.Abs(xyz.Y)+math.Abs(xyz.Z)))
		if out.uv == (colorcalc.UV{}) {
			out.flags |= Underrange
		}
		return "", nil
	}
	out.y, out.hasY = level, hasLevel
	with := func(without, having Quantity) Quantity {
		if hasLevel {
			return having
		}
		return without
	}
	if c, ok, err := get([]*field{f.x, f.y}, "x", "y"); err != nil {
		return Unreadable, err
	} else if ok {
		out.quantity = with(Chromaticity, ChromaLevel)
		out.uv = colorcalc.XY{X: c[0].v, Y: c[1].v}.UV()
		d.rounded(out, max(c[0].step, c[1].step))
		return "", nil
	}
	if c, ok, err := get([]*field{f.uPrime, f.vPrime}, "u_prime", "v_prime"); err != nil {
		return Unreadable, err
	} else if ok {
		out.quantity = with(Chromaticity, ChromaLevel)
		out.uv = colorcalc.UV{U: c[0].v, V: c[1].v}
		step := max(c[0].step, c[1].step)
		d.rounded(out, xyStep(out.uv, step))
		return "", nil
	}
	if t, ok, err := get([]*field{f.cct}, "cct"); err != nil {
		return Unreadable, err
	} else if ok {
		duv, told, err := d.value(v, m, f.duv, "duv")
		if err != nil {
			return Unreadable, err
		}
		out.quantity = with(ColourTemp, ColourTempLevel)
		if !told {
			out.flags |= NoDuv
		}
		uv, step, err := fromCCT(t[0], duv, told)
		if err != nil {
			return OffDiagram, err
		}
		out.uv = uv
		d.rounded(out, step)
		return "", nil
	}
	if out.spectrum != nil {
		xyz := out.spectrum.XYZ(spectrum.Deg2)
		out.quantity, out.uv = SpectralPower, xyz.UV()
		if out.uv == (colorcalc.UV{}) {
			out.flags |= Underrange
		}
		if d.ins.spectrum.absolute && !hasLevel {
			out.y, out.hasY = xyz.Y, true
		}
		return "", nil
	}
	return Unreadable, errors.New("no colour in it")
}

func (d *instrumentDecoder) level(v view, m message) (float64, bool, error) {
	x, ok, err := d.value(v, m, d.ins.fields.level, "level")
	return x.v, ok, err
}

// rounded stores the rounding of a reading. Text that drops zeros at its end
// (0.31 for 0.3100) hides decimals, so the finest step seen counts, within the
// same quantity.
func (d *instrumentDecoder) rounded(out *draft, step float64) {
	if d.ins.round > 0 {
		out.roundXY = d.ins.round
		return
	}
	if !finite(step) || step <= 0 {
		return
	}
	if d.ins.as == "json" {
		if d.finest == 0 || step < d.finest {
			d.finest = step
		}
		step = d.finest
	}
	if step >= 1e-6 {
		out.roundXY = step
	}
}

// xyStep turns a step in u', v' into one in x, y: the largest singular
// direction of d(xy)/d(u'v'), bounded from above by its Frobenius norm.
func xyStep(c colorcalc.UV, step float64) float64 {
	const h = 1e-6
	a := colorcalc.UV{U: c.U + h, V: c.V}.XY()
	b := colorcalc.UV{U: c.U, V: c.V + h}.XY()
	o := c.XY()
	return step * math.Sqrt((sq(a.X-o.X)+sq(a.Y-o.Y)+sq(b.X-o.X)+sq(b.Y-o.Y))/2) / h
}

func sq(x float64) float64 { return x * x }

// fromCCT places CCT and Duv on the diagram, and finds how far one step of the
// display moves it.
func fromCCT(t, duv value, told bool) (colorcalc.UV, float64, error) {
	place := func(k, d float64) (colorcalc.XY, error) {
		return colorcalc.White(colorcalc.Kelvin(k), colorcalc.Duv(d))
	}
	if !told {
		duv = value{}
	}
	c, err := place(t.v, duv.v)
	if err != nil {
		return colorcalc.UV{}, 0, err
	}
	step := 0.0
	if n, err := place(t.v+t.step, duv.v); err == nil {
		step = math.Hypot(n.X-c.X, n.Y-c.Y)
	}
	if n, err := place(t.v, duv.v+duv.step); err == nil && told {
		step = max(step, math.Hypot(n.X-c.X, n.Y-c.Y))
	}
	return c.UV(), step, nil
}

// read finds the spectrum in a message.
func (s *spectrumPlace) read(v view, data []byte, comma bool) (*spectrum.Spectrum, error) {
	if s.rows != nil {
		return s.fromRows(s.rows, data, comma)
	}
	texts, ok := v.list(s.place)
	if !ok || len(texts) != s.count {
		return nil, fmt.Errorf("spectrum: %d values, want %d", len(texts), s.count)
	}
	sp := &spectrum.Spectrum{StartNM: s.start, StepNM: s.step, Values: make([]float64, len(texts))}
	for i, t := range texts {
		n, err := parseNumber(t, comma)
		if err != nil {
			return nil, fmt.Errorf("spectrum value %d: %w", i+1, err)
		}
		sp.Values[i] = n.value * s.scale
	}
	return sp, whole(sp)
}

func (s *spectrumPlace) fromRows(re *regexp.Regexp, data []byte, comma bool) (*spectrum.Spectrum, error) {
	var nm, vals []float64
	for line := range bytes.Lines(data) {
		g := re.FindSubmatch(bytes.TrimRight(line, "\r\n"))
		if g == nil {
			continue
		}
		w, err := parseNumber(string(g[s.nm]), comma)
		if err != nil {
			return nil, fmt.Errorf("wavelength: %w", err)
		}
		x, err := parseNumber(string(g[s.value]), comma)
		if err != nil {
			return nil, fmt.Errorf("spectrum at %v nm: %w", w.value, err)
		}
		if len(nm) > 0 && w.value <= nm[len(nm)-1] {
			return nil, fmt.Errorf("wavelength %v nm after %v nm: want a rising order", w.value, nm[len(nm)-1])
		}
		nm, vals = append(nm, w.value), append(vals, x.value*s.scale)
		if len(nm) > maxList {
			return nil, fmt.Errorf("spectrum: more than %d rows", maxList)
		}
	}
	return even(nm, vals)
}
