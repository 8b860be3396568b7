package instrument

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// namedField is a field by its key in the description; its field is nil where
// the description has none.
type namedField struct {
	key string
	*field
}

func (f *fields) all() []namedField {
	return append(f.values(), namedField{"saturated", f.satur}, namedField{"underrange", f.underrange})
}

// values are the fields that say something of every reading.
func (f *fields) values() []namedField {
	return append(f.light(), namedField{"time", f.time}, namedField{"integration", f.integration}, namedField{"seq", f.seq},
		namedField{"probe", f.probe}, namedField{"serial", f.serial})
}

// light are the fields that a reading too dark may lack.
func (f *fields) light() []namedField {
	return []namedField{{"x", f.x}, {"y", f.y}, {"u_prime", f.uPrime}, {"v_prime", f.vPrime}, {"X", f.bigX}, {"Y", f.bigY}, {"Z", f.bigZ},
		{"level", f.level}, {"cct", f.cct}, {"duv", f.duv}}
}

// missing names a field that the description has and the message has not. Such
// a message was cut short: without its level or its tint it would pass for a
// reading that tells less, and be believed.
func (f *fields) missing(v decoded, m Message, dark bool) error {
	need := f.values()
	if dark {
		need = need[len(f.light()):]
	}
	for _, n := range need {
		if n.field == nil || n.may {
			continue
		}
		if s, ok := text(v, m, n.field); !ok || strings.TrimSpace(s) == "" {
			return fmt.Errorf("%s is missing (if the instrument may leave it out, say so: optional: true)", n.key)
		}
	}
	for _, n := range f.all()[len(f.values()):] { // an empty flag is no flag, but a cell that is not there was cut off
		if c, csv := v.(decodedCSV); csv && n.field != nil && n.place != nil && !n.may && n.place.topic == 0 && c.index(n.place) > len(c.cells) {
			return fmt.Errorf("%s is missing (if the instrument may leave it out, say so: optional: true)", n.key)
		}
	}
	return nil
}

// text fetches the text of a field.
func text(v decoded, m Message, f *field) (string, bool) {
	if f == nil || f.place == nil {
		return "", false
	}
	if n := f.place.topic; n > 0 {
		parts := strings.Split(strings.Trim(m.Topic, "/"), "/")
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

func (d *instrumentDecoder) value(v decoded, m Message, f *field, name string) (value, bool, error) {
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
func (d *instrumentDecoder) build(v decoded, m Message, now time.Time) ([]Draft, []Aside) {
	raw := Cut(m.Data)
	no := func(why Reason, err error) ([]Draft, []Aside) { return nil, []Aside{{why, err.Error(), raw}} }
	f := &d.ins.fields
	out := Draft{Raw: raw, Integration: d.ins.Integration, Asked: m.Asked}
	if raised(v, m, f.satur) {
		out.Flags |= Saturated
		return []Draft{out}, nil
	}
	if raised(v, m, f.underrange) {
		out.Flags |= Underrange
	}
	if err := f.missing(v, m, out.Flags.Has(Underrange)); err != nil {
		return no(Unreadable, err)
	}
	if s, ok := text(v, m, f.probe); ok {
		out.Probe = s
	}
	if s, ok := text(v, m, f.serial); ok {
		out.Serial = s
	}
	if len(out.Probe) > 64 || len(out.Serial) > 64 {
		return no(Unreadable, errors.New("a probe or serial name of more than 64 bytes"))
	}
	if s, ok := text(v, m, f.seq); ok {
		n, err := strconv.ParseUint(strings.TrimSpace(s), 10, 64)
		if err != nil {
			return no(Unreadable, fmt.Errorf("seq: %q is not a whole number", s))
		}
		out.Seq, out.HasSeq = n, true
	}
	if i, ok, err := d.value(v, m, f.integration, "integration"); err != nil {
		return no(Unreadable, err)
	} else if ok {
		if !(i.v >= 0 && i.v <= 600) {
			return no(Unreadable, fmt.Errorf("integration: %v s is not between 0 and 600 s", i.v))
		}
		out.Integration = time.Duration(i.v * 1e9)
	}
	if err := d.stamp(v, m, now, &out); err != nil {
		return no(Unreadable, err)
	}
	why, err := d.colour(v, m, &out)
	if why == NoWhite && out.HasY && out.Y <= 0 { // no light is of no colour
		out.Flags |= Underrange
	}
	white := err == nil || out.Flags.Has(Underrange)
	if !white && why != NoWhite {
		return no(why, err)
	}
	if d.ins.fresh == "change" {
		if now := string(m.Data); now == d.last {
			return no(Repeated, errors.New("the same text again"))
		} else {
			d.last = now
		}
	}
	if !white {
		out.Flags |= NotWhite // set aside, and a draft all the same: that it is none may be what is to be known
		return []Draft{out}, []Aside{{why, err.Error(), raw}}
	}
	return []Draft{out}, nil
}

func raised(v decoded, m Message, f *field) bool {
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
func (d *instrumentDecoder) stamp(v decoded, m Message, now time.Time, out *Draft) error {
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
		out.Stamp, out.HasStamp = t, true
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
		out.Stamp = time.Unix(int64(whole), int64(math.Round(frac*1e9)))
	} else {
		if whole > 1e9 {
			return fmt.Errorf("time: %q is more than thirty years since its start", s)
		}
		after := time.Duration(seconds * 1e9)
		// The earliest zero seen belongs to the message that came fastest.
		if zero := now.Add(-after); d.zero.IsZero() || zero.Before(d.zero) || zero.Sub(d.zero) > MaxDelay {
			d.zero = zero
		}
		out.Stamp = d.zero.Add(after).Add(-d.ins.Latency)
	}
	out.HasStamp = true
	return nil
}
