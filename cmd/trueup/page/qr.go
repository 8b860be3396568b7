package page

import (
	"fmt"
	"strings"

	"github.com/boombuler/barcode/qr"
)

// code is a QR code (ISO/IEC 18004).
type code struct {
	size int
	dark func(x, y int) bool // false outside
}

func codeOf(text string) (code, error) {
	b, err := qr.Encode(text, qr.M, qr.Unicode)
	if err != nil {
		return code{}, err
	}
	n := b.Bounds().Dx()
	return code{n, func(x, y int) bool {
		if x < 0 || y < 0 || x >= n || y >= n {
			return false
		}
		r, _, _, _ := b.At(x, y).RGBA()
		return r == 0
	}}, nil
}

// path draws the dark squares as an SVG path.
func (c code) path() string {
	var b strings.Builder
	for y := range c.size {
		for x := range c.size {
			if c.dark(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	return b.String()
}

// quietZone is the light border that a reader needs, in squares.
const quietZone = 4

// CodeText draws an invitation's address as a QR code in characters, two rows to a line: light squares are
// full blocks, as a dark terminal needs it.
func (i Invitation) CodeText() string {
	c, err := codeOf(i.Address)
	if err != nil {
		return ""
	}
	var b strings.Builder
	for y := -quietZone; y < c.size+quietZone; y += 2 {
		for x := -quietZone; x < c.size+quietZone; x++ {
			b.WriteString([]string{"█", "▀", "▄", " "}[bit(c.dark(x, y))*2+bit(c.dark(x, y+1))])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}
