package osc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Message is one message: its address and its arguments as text, in order.
type Message struct {
	Address string
	Args    []Arg
}

// Arg keeps a number with full precision, and what kind it was.
type Arg struct {
	Tag  byte
	Text string
}

// String shows a message on one line.
func (m Message) String() string {
	var b strings.Builder
	b.WriteString(m.Address)
	for _, a := range m.Args {
		fmt.Fprintf(&b, " %c:%s", a.Tag, a.Text)
	}
	return b.String()
}

// Bounds against crafted packets.
const (
	mostDepth    = 4
	mostMessages = 256
	mostArgs     = 4096
)

var errPacket = errors.New("not an OSC 1.0 packet")

// Parse decodes a datagram into its messages, bundles opened. An unknown
// type tag ends the decoding of its message with an error, since the size of
// what follows is unknown.
func Parse(b []byte) ([]Message, error) {
	var out []Message
	err := parsePacket(b, mostDepth, &out)
	return out, err
}

func parsePacket(b []byte, depth int, out *[]Message) error {
	if len(b) == 0 || len(b)%4 != 0 {
		return fmt.Errorf("%w: %d bytes, not a multiple of 4", errPacket, len(b))
	}
	if strings.HasPrefix(string(b[:min(8, len(b))]), "#bundle\x00") {
		if depth == 0 {
			return fmt.Errorf("%w: bundles nested too deep", errPacket)
		}
		if len(b) < 16 {
			return fmt.Errorf("%w: bundle without a time tag", errPacket)
		}
		for b = b[16:]; len(b) > 0; {
			if len(b) < 4 {
				return fmt.Errorf("%w: bundle element cut short", errPacket)
			}
			n := binary.BigEndian.Uint32(b)
			if n == 0 || n%4 != 0 || uint64(n) > uint64(len(b)-4) {
				return fmt.Errorf("%w: bundle element of %d bytes in %d", errPacket, n, len(b)-4)
			}
			if err := parsePacket(b[4:4+n], depth-1, out); err != nil {
				return err
			}
			b = b[4+n:]
		}
		return nil
	}
	if len(*out) >= mostMessages {
		return fmt.Errorf("%w: more than %d messages", errPacket, mostMessages)
	}
	m, err := parseMessage(b)
	if err != nil {
		return err
	}
	*out = append(*out, m)
	return nil
}

func parseMessage(b []byte) (Message, error) {
	var m Message
	var err error
	if m.Address, b, err = paddedString(b); err != nil {
		return m, err
	}
	if !strings.HasPrefix(m.Address, "/") {
		return m, fmt.Errorf("%w: address %q does not begin with /", errPacket, m.Address)
	}
	tags, b, err := paddedString(b)
	if err != nil || !strings.HasPrefix(tags, ",") {
		return m, fmt.Errorf("%w: %s has no type tags", errPacket, m.Address)
	}
	if len(tags) > mostArgs {
		return m, fmt.Errorf("%w: %d arguments", errPacket, len(tags)-1)
	}
	for _, tag := range []byte(tags[1:]) {
		var a Arg
		if a, b, err = argument(tag, b); err != nil {
			return m, err
		}
		if a.Tag != '[' && a.Tag != ']' {
			m.Args = append(m.Args, a)
		}
	}
	if len(b) != 0 {
		return m, fmt.Errorf("%w: %d bytes behind the last argument", errPacket, len(b))
	}
	return m, nil
}

// paddedString takes a string: text, NUL, padding with NULs to a multiple of 4.
func paddedString(b []byte) (string, []byte, error) {
	for i, c := range b {
		if c != 0 {
			continue
		}
		n := i/4*4 + 4
		if n > len(b) {
			break
		}
		for _, p := range b[i:n] {
			if p != 0 {
				return "", nil, fmt.Errorf("%w: padding that is not 0", errPacket)
			}
		}
		return string(b[:i]), b[n:], nil
	}
	return "", nil, fmt.Errorf("%w: string without an end", errPacket)
}

func argument(tag byte, b []byte) (Arg, []byte, error) {
	need := map[byte]int{'i': 4, 'f': 4, 'c': 4, 'r': 4, 'm': 4, 'h': 8, 'd': 8, 't': 8}[tag]
	if len(b) < need {
		return Arg{}, nil, fmt.Errorf("%w: argument %q cut short", errPacket, tag)
	}
	a := Arg{Tag: tag}
	switch tag {
	case 'i':
		a.Text = strconv.FormatInt(int64(int32(binary.BigEndian.Uint32(b))), 10)
	case 'h':
		a.Text = strconv.FormatInt(int64(binary.BigEndian.Uint64(b)), 10)
	case 'f':
		a.Text = strconv.FormatFloat(float64(math.Float32frombits(binary.BigEndian.Uint32(b))), 'g', -1, 32)
	case 'd':
		a.Text = strconv.FormatFloat(math.Float64frombits(binary.BigEndian.Uint64(b)), 'g', -1, 64)
	case 't':
		t := ntpTime(binary.BigEndian.Uint64(b))
		if !t.IsZero() {
			a.Text = t.UTC().Format(time.RFC3339Nano)
		}
	case 'c':
		a.Text = string(rune(binary.BigEndian.Uint32(b) & 0x7f))
	case 'r', 'm':
		a.Text = strconv.FormatUint(uint64(binary.BigEndian.Uint32(b)), 16)
	case 's', 'S':
		s, rest, err := paddedString(b)
		if err != nil {
			return a, nil, err
		}
		a.Text = s
		return a, rest, nil
	case 'b':
		if len(b) < 4 {
			return a, nil, fmt.Errorf("%w: blob cut short", errPacket)
		}
		n := uint64(binary.BigEndian.Uint32(b))
		padded := (n + 3) / 4 * 4
		if padded > uint64(len(b)-4) {
			return a, nil, fmt.Errorf("%w: blob of %d bytes in %d", errPacket, n, len(b)-4)
		}
		return a, b[4+padded:], nil
	case 'T':
		a.Text = "true"
	case 'F':
		a.Text = "false"
	case 'N', 'I', '[', ']':
	default:
		return a, nil, fmt.Errorf("%w: type tag %q is not known", errPacket, tag)
	}
	return a, b[need:], nil
}

// ntpTime converts an OSC time tag (seconds since 1900 in the upper, fraction
// in the lower half). The tag 1 means "at once": the zero time.
func ntpTime(tag uint64) time.Time {
	if tag <= 1 {
		return time.Time{}
	}
	const from1900to1970 = 2208988800
	s := int64(tag>>32) - from1900to1970
	ns := (tag & 0xffffffff) * 1e9 >> 32
	return time.Unix(s, int64(ns))
}
