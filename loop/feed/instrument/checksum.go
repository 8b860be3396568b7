package instrument

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
)

// checksum checks the suffix of a line: text, mark, hexadecimal digits.
type checksum struct {
	sum    func([]byte) uint64
	digits int
	mark   string
	skip   int
	marked bool // the mark itself counts
}

// checksumKinds: xor8 and sum8 are the plain exclusive-or and sum of the
// bytes; sum8-negated is its two's complement, so that the sum with it is 0;
// crc16-modbus is polynomial 0x8005 reflected, start 0xFFFF; crc16-ccitt is
// polynomial 0x1021, start 0xFFFF. Check values over "123456789": 31, DD, 23,
// 4B37, 29B1.
var checksumKinds = map[string]struct {
	sum    func([]byte) uint64
	digits int
}{
	"xor8": {func(b []byte) uint64 {
		var s byte
		for _, c := range b {
			s ^= c
		}
		return uint64(s)
	}, 2},
	"sum8": {sum8, 2},
	"sum8-negated": {func(b []byte) uint64 {
		return uint64(-byte(sum8(b)))
	}, 2},
	"crc16-modbus": {func(b []byte) uint64 {
		crc := uint16(0xFFFF)
		for _, c := range b {
			crc ^= uint16(c)
			for range 8 {
				if crc&1 != 0 {
					crc = crc>>1 ^ 0xA001
				} else {
					crc >>= 1
				}
			}
		}
		return uint64(crc)
	}, 4},
	"crc16-ccitt": {func(b []byte) uint64 {
		crc := uint16(0xFFFF)
		for _, c := range b {
			crc ^= uint16(c) << 8
			for range 8 {
				if crc&0x8000 != 0 {
					crc = crc<<1 ^ 0x1021
				} else {
					crc <<= 1
				}
			}
		}
		return uint64(crc)
	}, 4},
}

func sum8(b []byte) uint64 {
	var s byte
	for _, c := range b {
		s += c
	}
	return uint64(s)
}

// strip checks a line and returns its text without mark and checksum.
func (c *checksum) strip(line []byte) ([]byte, error) {
	t := bytes.TrimRight(line, " \t\r\n")
	i := bytes.LastIndex(t, []byte(c.mark))
	if i < 0 || i+len(c.mark)+c.digits != len(t) || i < c.skip {
		return nil, fmt.Errorf("no checksum of %d digits behind a %q at the end", c.digits, c.mark)
	}
	told, err := strconv.ParseUint(strings.ToLower(string(t[i+len(c.mark):])), 16, 64)
	if err != nil {
		return nil, fmt.Errorf("checksum %q is not hexadecimal", t[i+len(c.mark):])
	}
	over := t[c.skip:i]
	if c.marked {
		over = t[c.skip : i+len(c.mark)]
	}
	if sum := c.sum(over); sum != told {
		return nil, fmt.Errorf("line says %0*X, its text gives %0*X", c.digits, told, c.digits, sum)
	}
	return t[:i], nil
}
