package feed

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// Open Sound Control 1.0 as far as a meter speaks it: messages and bundles over
// UDP, decoded from untrusted bytes. Everything is big-endian and padded to
// four bytes (specification 1.0, sections "OSC Packets" to "OSC Bundles").

// oscMessage is one message: its address and its arguments as text, in order.
type oscMessage struct {
	address string
	args    []oscArg
}

// oscArg keeps a number with full precision, and what kind it was.
type oscArg struct {
	tag  byte
	text string
}

// Bounds against crafted packets.
const (
	oscDepth    = 4
	oscMessages = 256
	oscArgs     = 4096
)

var errOSC = errors.New("not an OSC 1.0 packet")

// parseOSC decodes a datagram into its messages, bundles opened. An unknown
// type tag ends the decoding of its message with an error, since the size of
// what follows is unknown.
func parseOSC(b []byte) ([]oscMessage, error) {
	var out []oscMessage
	err := parseOSCPacket(b, oscDepth, &out)
	return out, err
}

func parseOSCPacket(b []byte, depth int, out *[]oscMessage) error {
	if len(b) == 0 || len(b)%4 != 0 {
		return fmt.Errorf("%w: %d bytes, not a multiple of 4", errOSC, len(b))
	}
	if strings.HasPrefix(string(b[:min(8, len(b))]), "#bundle\x00") {
		if depth == 0 {
			return fmt.Errorf("%w: bundles nested too deep", errOSC)
		}
		if len(b) < 16 {
			return fmt.Errorf("%w: bundle without a time tag", errOSC)
		}
		for b = b[16:]; len(b) > 0; {
			if len(b) < 4 {
				return fmt.Errorf("%w: bundle element cut short", errOSC)
			}
			n := binary.BigEndian.Uint32(b)
			if n == 0 || n%4 != 0 || uint64(n) > uint64(len(b)-4) {
				return fmt.Errorf("%w: bundle element of %d bytes in %d", errOSC, n, len(b)-4)
			}
			if err := parseOSCPacket(b[4:4+n], depth-1, out); err != nil {
				return err
			}
			b = b[4+n:]
		}
		return nil
	}
	if len(*out) >= oscMessages {
		return fmt.Errorf("%w: more than %d messages", errOSC, oscMessages)
	}
	m, err := parseOSCMessage(b)
	if err != nil {
		return err
	}
	*out = append(*out, m)
	return nil
}

func parseOSCMessage(b []byte) (oscMessage, error) {
	var m oscMessage
	var err error
	if m.address, b, err = oscString(b); err != nil {
		return m, err
	}
	if !strings.HasPrefix(m.address, "/") {
		return m, fmt.Errorf("%w: address %q does not begin with /", errOSC, m.address)
	}
	tags, b, err := oscString(b)
	if err != nil || !strings.HasPrefix(tags, ",") {
		return m, fmt.Errorf("%w: %s has no type tags", errOSC, m.address)
	}
	if len(tags) > oscArgs {
		return m, fmt.Errorf("%w: %d arguments", errOSC, len(tags)-1)
	}
	for _, tag := range []byte(tags[1:]) {
		var a oscArg
		if a, b, err = oscArgument(tag, b); err != nil {
			return m, err
		}
		if a.tag != '[' && a.tag != ']' {
			m.args = append(m.args, a)
		}
	}
	if len(b) != 0 {
		return m, fmt.Errorf("%w: %d bytes behind the last argument", errOSC, len(b))
	}
	return m, nil
}

// oscString takes a string: text, NUL, padding with NULs to a multiple of 4.
func oscString(b []byte) (string, []byte, error) {
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
				return "", nil, fmt.Errorf("%w: padding that is not 0", errOSC)
			}
		}
		return string(b[:i]), b[n:], nil
	}
	return "", nil, fmt.Errorf("%w: string without an end", errOSC)
}

func oscArgument(tag byte, b []byte) (oscArg, []byte, error) {
	need := map[byte]int{'i': 4, 'f': 4, 'c': 4, 'r': 4, 'm': 4, 'h': 8, 'd': 8, 't': 8}[tag]
	if len(b) < need {
		return oscArg{}, nil, fmt.Errorf("%w: argument %q cut short", errOSC, tag)
	}
	a := oscArg{tag: tag}
	switch tag {
	case 'i':
		a.text = strconv.FormatInt(int64(int32(binary.BigEndian.Uint32(b))), 10)
	case 'h':
		a.text = strconv.FormatInt(int64(binary.BigEndian.Uint64(b)), 10)
	case 'f':
		a.text = strconv.FormatFloat(float64(math.Float32frombits(binary.BigEndian.Uint32(b))), 'g', -1, 32)
	case 'd':
		a.text = strconv.FormatFloat(math.Float64frombits(binary.BigEndian.Uint64(b)), 'g', -1, 64)
	case 't':
		t := ntpTime(binary.BigEndian.Uint64(b))
		if !t.IsZero() {
			a.text = t.UTC().Format(time.RFC3339Nano)
		}
	case 'c':
		a.text = string(rune(binary.BigEndian.Uint32(b) & 0x7f))
	case 'r', 'm':
		a.text = strconv.FormatUint(uint64(binary.BigEndian.Uint32(b)), 16)
	case 's', 'S':
		s, rest, err := oscString(b)
		if err != nil {
			return a, nil, err
		}
		a.text = s
		return a, rest, nil
	case 'b':
		if len(b) < 4 {
			return a, nil, fmt.Errorf("%w: blob cut short", errOSC)
		}
		n := uint64(binary.BigEndian.Uint32(b))
		padded := (n + 3) / 4 * 4
		if padded > uint64(len(b)-4) {
			return a, nil, fmt.Errorf("%w: blob of %d bytes in %d", errOSC, n, len(b)-4)
		}
		return a, b[4+padded:], nil
	case 'T':
		a.text = "true"
	case 'F':
		a.text = "false"
	case 'N', 'I', '[', ']':
	default:
		return a, nil, fmt.Errorf("%w: type tag %q is not known", errOSC, tag)
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
