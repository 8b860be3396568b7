package instrument

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"
)

// complain reports a fault at a path of the description, such as
// $.fields.x.from.
type complain func(path, format string, args ...any)

// compiler turns what a person wrote into an Instrument, reporting every fault.
type compiler struct {
	say complain
	ins *Instrument
}

// Bounds of a description.
const (
	mostLine    = 1 << 20
	mostSteps   = 32
	mostIgnore  = 64
	mostPattern = 4096
	mostSend    = 1024
)

func compile(in *instrumentFile, say complain) *Instrument {
	c := &compiler{say, &Instrument{Name: in.Instrument, Note: in.Note}}
	c.serial(in.Serial)
	c.ins.Start = c.steps("$.start", in.Start)
	c.ins.Stop = c.steps("$.stop", in.Stop)
	c.polling(in.Poll)
	c.lines(&in.Lines)
	c.reading(&in.Read)
	c.fields(&in.fields)
	c.spectrum(in.Spectrum)
	c.errors(in.Errors)
	c.enough()
	c.ins.fresh = c.oneOf("$.new", in.New, "line", "line", "seq", "time", "change")
	if c.ins.fresh == "seq" && in.fields.Seq == nil {
		say("$.new", "seq marks a new reading, but fields.seq is missing")
	}
	if c.ins.fresh == "time" && in.fields.Time == nil {
		say("$.new", "time marks a new reading, but fields.time is missing")
	}
	c.ins.Latency = c.time("$.latency", in.Latency, 0, time.Minute)
	c.ins.Integration = c.time("$.integration", in.Integration, 0, time.Minute)
	if in.Round != nil {
		if !(*in.Round > 0 && *in.Round < 0.05) {
			say("$.round", "%v: want the step of x and y on the display, between 0 and 0.05, like 0.0001", *in.Round)
		}
		c.ins.round = *in.Round
	}
	return c.ins
}

func (c *compiler) oneOf(path, got, def string, allowed ...string) string {
	if got == "" {
		return def
	}
	if !slices.Contains(allowed, got) {
		c.say(path, "%q: want %s", got, strings.Join(allowed, ", "))
		return def
	}
	return got
}

// time reads "250 ms", "2 s", "0".
func (c *compiler) time(path, s string, def, most time.Duration) time.Duration {
	if s == "" {
		return def
	}
	n, err := parseNumber(s, false)
	if err == nil && (n.unit.dim == duration || n.value == 0 && n.unit.factor == 0) {
		v := n.value * n.unit.factor
		if v >= 0 && v <= most.Seconds() {
			return time.Duration(math.Round(v * 1e9))
		}
	}
	c.say(path, "%q: want a time from 0 to %v with its unit, like 250 ms or 2 s", s, most)
	return def
}

func (c *compiler) regexp(path, s string) *regexp.Regexp {
	if s == "" {
		return nil
	}
	if len(s) > mostPattern {
		c.say(path, "a pattern of %d characters: want at most %d", len(s), mostPattern)
		return nil
	}
	re, err := regexp.Compile(s)
	if err != nil {
		c.say(path, "%q is no pattern: %v", s, err)
		return nil
	}
	return re
}

func (c *compiler) serial(in *serialFile) {
	s := SerialSettings{Baud: 9600, DataBits: 8, Parity: 'N', StopBits: 1}
	if in != nil {
		s.DTR, s.RTS = in.DTR, in.RTS
		if in.Baud != 0 {
			s.Baud = in.Baud
		}
		if s.Baud < 50 || s.Baud > 12_000_000 {
			c.say("$.serial.baud", "%d: want a rate from 50 to 12000000, like 9600 or 115200", s.Baud)
		}
		if f := in.Framing; f != "" {
			if len(f) != 3 || f[0] < '5' || f[0] > '8' || !strings.Contains("NEO", f[1:2]) || f[2] != '1' && f[2] != '2' {
				c.say("$.serial.framing", "%q: want data bits, parity N E O and stop bits, like 8N1 or 7E1", f)
			} else {
				s.DataBits, s.Parity, s.StopBits = int(f[0]-'0'), f[1], int(f[2]-'0')
			}
		}
	}
	c.ins.Serial = s
}

func (c *compiler) steps(path string, in []stepFile) []Step {
	if len(in) > mostSteps {
		c.say(path, "%d steps: want at most %d", len(in), mostSteps)
		return nil
	}
	var out []Step
	for i, s := range in {
		at := fmt.Sprintf("%s[%d]", path, i)
		if s.Send == "" && s.Expect == "" && s.Pause == "" {
			c.say(at, "does nothing: want send, expect or pause")
		}
		if len(s.Send) > mostSend {
			c.say(at+".send", "%d bytes: want at most %d", len(s.Send), mostSend)
		}
		out = append(out, Step{Send: []byte(bytesOf(s.Send)), Expect: c.regexp(at+".expect", s.Expect),
			Within: c.time(at+".within", s.Within, 2*time.Second, time.Minute), Pause: c.time(at+".pause", s.Pause, 0, time.Minute)})
	}
	return out
}

func (c *compiler) polling(in *pollFile) {
	if in == nil {
		return
	}
	if len(in.Send) > mostSend {
		c.say("$.poll.send", "%d bytes: want at most %d", len(in.Send), mostSend)
	}
	c.ins.Poll = &Poll{Send: []byte(bytesOf(in.Send)), Triggers: in.Triggers,
		Every: c.time("$.poll.every", in.Every, 0, time.Hour), Within: c.time("$.poll.within", in.Within, 5*time.Second, 10*time.Minute)}
	if c.ins.Poll.Within < time.Millisecond {
		c.say("$.poll.within", "%q leaves no time for an answer", in.Within)
	}
}

func (c *compiler) lines(in *linesFile) {
	if len(in.End) > 16 {
		c.say("$.lines.end", "%d bytes: want at most 16", len(in.End))
		in.End = ""
	}
	c.ins.End, c.ins.Echo, c.ins.MaxLine = bytesOf(in.End), in.Echo, in.Max
	if in.Max < 0 || in.Max > mostLine {
		c.say("$.lines.max", "%d: want 1 to %d bytes", in.Max, mostLine)
		c.ins.MaxLine = 0
	}
	if len(in.Ignore) > mostIgnore {
		c.say("$.lines.ignore", "%d patterns: want at most %d", len(in.Ignore), mostIgnore)
		in.Ignore = nil
	}
	for i, s := range in.Ignore {
		at := fmt.Sprintf("$.lines.ignore[%d]", i)
		if s == "" {
			c.say(at, "an empty pattern would pass over everything")
			continue
		}
		if re := c.regexp(at, s); re != nil {
			c.ins.ignore = append(c.ins.ignore, re)
		}
	}
	if k := in.Checksum; k != nil {
		kind, ok := checksumKinds[k.Kind]
		if !ok {
			c.say("$.lines.checksum.kind", "%q: want crc16-ccitt, crc16-modbus, sum8, sum8-negated or xor8", k.Kind)
		}
		s := &checksum{sum: kind.sum, digits: kind.digits, mark: k.Mark, skip: k.Skip}
		if s.mark == "" {
			s.mark = "*"
		}
		if k.Skip < 0 || k.Skip > 64 {
			c.say("$.lines.checksum.skip", "%d: want 0 to 64 bytes", k.Skip)
			s.skip = 0
		}
		s.marked = c.oneOf("$.lines.checksum.over", k.Mode, "text", "text", "text and mark") == "text and mark"
		if ok {
			c.ins.checksum = s
		}
	}
	if b := in.Block; b != nil {
		k := &block{begin: c.regexp("$.lines.block.begin", b.Begin), end: c.regexp("$.lines.block.end", b.End), lines: b.Lines, max: b.Max}
		if k.max == 0 {
			k.max = 2000
		}
		if k.lines < 0 || k.max < 1 || k.max > 10_000 || k.lines > k.max {
			c.say("$.lines.block", "lines %d and max %d: want 1 to 10000, lines not above max", k.lines, k.max)
		}
		if k.lines > 0 && b.End != "" {
			c.say("$.lines.block.end", "give either end or lines, not both")
		}
		c.ins.block = k
	}
}

func (c *compiler) reading(in *readFile) {
	c.ins.as = in.As
	if !slices.Contains([]string{"json", "csv", "columns", "regexp", "osc"}, in.As) {
		c.say("$.read.as", "%q: want json, csv, columns, regexp or osc", in.As)
		c.ins.as = ""
	}
	c.ins.comma = c.oneOf("$.read.decimal", in.Decimal, "point", "point", "comma") == "comma"
	c.ins.header = in.Header
	c.ins.separator = bytesOf(in.Separator)
	c.ins.address = in.Address
	if in.Header && in.As != "csv" {
		c.say("$.read.header", "goes with csv only")
	}
	if in.As == "csv" {
		if c.ins.separator == "" {
			c.ins.separator = ","
		}
		if c.ins.comma && c.ins.separator == "," {
			c.say("$.read.separator", "a comma can not be separator and decimal sign; say separator: \";\"")
		}
	} else if in.Separator != "" {
		c.say("$.read.separator", "goes with csv only")
	}
	if len(in.Separator) > 8 {
		c.say("$.read.separator", "%d bytes: want at most 8", len(in.Separator))
	}
	if in.As == "regexp" {
		if in.Pattern == "" {
			c.say("$.read.pattern", "the pattern is missing: want one with named groups, like (?P<x>\\S+)")
		}
		c.ins.pattern = c.regexp("$.read.pattern", in.Pattern)
	} else if in.Pattern != "" {
		c.say("$.read.pattern", "goes with regexp only")
	}
	if in.Address != "" {
		if in.As != "osc" {
			c.say("$.read.address", "goes with osc only")
		} else if !strings.HasPrefix(in.Address, "/") || len(in.Address) > 255 {
			c.say("$.read.address", "%q: an OSC address begins with /", in.Address)
		}
	}
}

func (c *compiler) errors(in []errorFile) {
	if len(in) > mostIgnore {
		c.say("$.errors", "%d: want at most %d", len(in), mostIgnore)
		return
	}
	for i, e := range in {
		at := fmt.Sprintf("$.errors[%d]", i)
		is := c.oneOf(at+".is", e.Is, "fault", "saturated", "underrange", "fault", "skip")
		if re := c.regexp(at+".when", e.When); re != nil {
			c.ins.errors = append(c.ins.errors, errorText{re, is, e.Say})
		}
	}
}
