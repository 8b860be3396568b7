package instrument

import (
	"math"
	"strings"
	"time"
)

// groupNames are the named groups of the pattern, by number.
func (c *compiler) groupNames() []string {
	if c.ins.pattern == nil {
		return nil
	}
	return c.ins.pattern.SubexpNames()
}

func (c *compiler) field(key string, in *fieldFile, dim dimension, def string) *field {
	if in == nil {
		return nil
	}
	at := "$.fields." + key
	f := &field{scale: 1, when: in.When, may: in.Optional}
	if c.ins.as != "" && (c.ins.as != "regexp" || c.ins.pattern != nil) {
		var err error
		if f.place, err = compileFieldPath(c.ins.as, in.From, c.groupNames(), c.ins.header); err != nil {
			c.say(at+".from", "%v", err)
		}
	}
	name := in.Unit
	if name == "" {
		name = def
	}
	u, ok := units[name]
	switch {
	case dim == "":
		if in.Unit != "" {
			c.say(at+".unit", "a %s has no unit", key)
		}
	case !ok || u.dim != dim && !(u.dim == percent && dim == plain):
		if dim == plain {
			c.say(at+".unit", "%q: %s has no unit (or %%)", in.Unit, key)
		} else {
			c.say(at+".unit", "%q: want a %s in one of %s", in.Unit, dim, unitWords(dim))
		}
	default:
		f.unit = u
	}
	if in.Scale != nil {
		f.scale = *in.Scale
		if f.scale == 0 || math.IsNaN(f.scale) || math.IsInf(f.scale, 0) {
			c.say(at+".scale", "%v: want a number that is not 0", f.scale)
		}
	}
	if in.Offset != nil {
		f.offset = *in.Offset
		if math.IsNaN(f.offset) || math.IsInf(f.offset, 0) {
			c.say(at+".offset", "%v: want a number", f.offset)
		}
	}
	if dim == "" && (in.Scale != nil || in.Offset != nil) {
		c.say(at, "a %s takes no scale or offset", key)
	}
	return f
}

func (c *compiler) fields(in *fieldsFile) {
	c.ins.fields = fields{
		x: c.field("x", in.X, plain, ""), y: c.field("y", in.Y, plain, ""),
		uPrime: c.field("u_prime", in.UPrime, plain, ""), vPrime: c.field("v_prime", in.VPrime, plain, ""),
		bigX: c.field("X", in.BigX, lightLevel, "lx"), bigY: c.field("Y", in.BigY, lightLevel, "lx"), bigZ: c.field("Z", in.BigZ, lightLevel, "lx"),
		level: c.field("level", in.Level, lightLevel, "lx"),
		cct:   c.field("cct", in.CCT, temperature, "K"), duv: c.field("duv", in.Duv, plain, ""),
		integration: c.field("integration", in.Integration, duration, "s"),
		seq:         c.field("seq", in.Seq, plain, ""),
		probe:       c.field("probe", in.Probe, "", ""), serial: c.field("serial", in.Serial, "", ""),
		satur: c.field("saturated", in.Saturated, "", ""), underrange: c.field("underrange", in.Underrange, "", ""),
	}
	if in.Seq != nil && (in.Seq.Unit != "" || in.Seq.Scale != nil || in.Seq.Offset != nil) {
		c.say("$.fields.seq", "a sequence is a whole number as it stands: no unit, scale or offset")
	}
	c.ins.fields.time = c.timeField(in.Time)
	for _, f := range []struct {
		key string
		in  *fieldFile
	}{{"saturated", in.Saturated}, {"underrange", in.Underrange}} {
		if f.in != nil && len(f.in.When) == 0 {
			c.say("$.fields."+f.key, "which texts raise it? add when: [...]")
		}
	}
}

// timeField: unit is "unix s", "unix ms", "unix us", "since start s" (and ms,
// us, min), "RFC 3339", or a layout written with the reference time of the Go
// language, 2006-01-02 15:04:05.
func (c *compiler) timeField(in *fieldFile) *field {
	if in == nil {
		return nil
	}
	bare := *in
	bare.Unit = ""
	f := c.field("time", &bare, duration, "s")
	switch rest, ok := strings.CutPrefix(in.Unit, "unix "); {
	case ok:
		f.since, f.unit = "unix", units[rest]
	case in.Unit == "RFC 3339":
		f.layout = time.RFC3339Nano
	case strings.HasPrefix(in.Unit, "since start "):
		f.since, f.unit = "start", units[strings.TrimPrefix(in.Unit, "since start ")]
	case strings.Contains(in.Unit, "04") && strings.Contains(in.Unit, "05") && strings.Contains(in.Unit, "2006"):
		f.layout = in.Unit
	default:
		c.say("$.fields.time.unit", "%q: want unix s, unix ms, unix us, since start s, since start ms, RFC 3339, or a pattern like 2006-01-02 15:04:05", in.Unit)
	}
	if f.since != "" && f.unit.dim != duration {
		c.say("$.fields.time.unit", "%q: want unix s, unix ms, unix us, since start s or since start ms", in.Unit)
	}
	return f
}

func (c *compiler) spectrum(in *spectrumFile) {
	if in == nil {
		return
	}
	s := &spectrumPlace{scale: 1, separator: bytesOf(in.Separator)}
	s.absolute = c.oneOf("$.spectrum.unit", in.Unit, "relative", "relative", "W/m2/nm", "W/sr/m2/nm") != "relative"
	if in.Scale != 0 {
		s.scale = in.Scale
	}
	if !(s.scale > 0) || math.IsInf(s.scale, 0) {
		c.say("$.spectrum.scale", "%v: want a number above 0", in.Scale)
	}
	switch {
	case in.Rows != "" && in.From != "":
		c.say("$.spectrum", "give either from (a list) or rows (one value a line), not both")
	case in.Rows != "":
		s.rows = c.regexp("$.spectrum.rows", in.Rows)
		if s.rows != nil {
			s.nm, s.value = s.rows.SubexpIndex("nm"), s.rows.SubexpIndex("value")
			if s.nm < 0 || s.value < 0 {
				c.say("$.spectrum.rows", "needs two groups, (?P<nm>...) and (?P<value>...)")
				s.rows = nil
			}
		}
		if c.ins.block == nil {
			c.say("$.spectrum.rows", "needs lines.block, which says where a spectrum begins and ends")
		}
	case in.From != "":
		if c.ins.as != "" && (c.ins.as != "regexp" || c.ins.pattern != nil) {
			var err error
			if s.place, err = compileFieldPath(c.ins.as, in.From, c.groupNames(), c.ins.header); err != nil {
				c.say("$.spectrum.from", "%v", err)
			}
		}
		s.start, s.step = c.nanometres("$.spectrum.start", in.Start, 1000), c.nanometres("$.spectrum.step", in.Step, 50)
		end := c.nanometres("$.spectrum.end", in.End, 3000)
		n := (end - s.start) / s.step
		s.count = int(math.Round(n)) + 1
		if math.Abs(n-math.Round(n)) > 1e-6 || s.count < minSpectrum || s.count > maxList {
			c.say("$.spectrum", "from %v to %v nm in steps of %v nm: want %d to %d whole steps", s.start, end, s.step, minSpectrum-1, maxList-1)
		}
	default:
		c.say("$.spectrum", "says not where it stands: want from (a list) or rows (one value a line)")
	}
	c.ins.spectrum = s
}

func (c *compiler) nanometres(path, s string, most float64) float64 {
	t, ok := strings.CutSuffix(strings.TrimSpace(s), "nm")
	if n, err := parseNumber(t, false); ok && err == nil && n.unit.factor == 0 && n.value > 0 && n.value <= most {
		return n.value
	}
	c.say(path, "%q: want a wavelength in nanometres, like 380 nm", s)
	return 1
}

// enough checks that the fields name a colour, and fit together.
func (c *compiler) enough() {
	f := &c.ins.fields
	pair := func(a, b *field, x, y string) bool {
		if (a == nil) != (b == nil) {
			c.say("$.fields", "%s and %s belong together; one is missing", x, y)
		}
		return a != nil && b != nil
	}
	n := 0
	if pair(f.x, f.y, "x", "y") {
		n++
	}
	if pair(f.uPrime, f.vPrime, "u_prime", "v_prime") {
		n++
	}
	tri := 0
	for _, g := range []*field{f.bigX, f.bigY, f.bigZ} {
		if g != nil {
			tri++
		}
	}
	if tri == 3 {
		n++
	} else if f.bigX != nil || f.bigZ != nil {
		c.say("$.fields", "X, Y and Z belong together; give all three (a level alone is called level)")
	} else if f.bigY != nil {
		c.say("$.fields.Y", "a level beside x and y is called level")
	}
	if f.cct != nil {
		n++
	} else if f.duv != nil {
		c.say("$.fields.duv", "says little without cct")
	}
	if n == 0 && c.ins.spectrum == nil {
		c.say("$.fields", "no colour: want x and y, or u_prime and v_prime, or X, Y and Z, or cct and duv, or a spectrum")
	}
}
