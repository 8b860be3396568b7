package gdtf

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"trueup/colorcalc"
)

// Width is a channel's resolution in bytes, 1..3; GDTF allows more, no fixture
// of ours does.
const maxWidth = 3

// maxOf is the largest value of a channel of width bytes.
func maxOf(width int) uint32 { return 1<<(8*width) - 1 }

// parseDMXValue reads a GDTF DMXValue ("128/1", "255/1s", "32768/2") for a
// channel of width bytes. To more bytes the value is mirrored, or with the
// suffix s shifted; to fewer the high bytes are kept (DIN SPEC 15800 4.2,
// DMXValue). ok is false for "None" and for an empty text.
func parseDMXValue(text string, width int) (v uint32, ok bool, err error) {
	text = strings.TrimSpace(text)
	if text == "" || text == "None" {
		return 0, false, nil
	}
	num, bytes, given := strings.Cut(text, "/")
	shift := strings.HasSuffix(bytes, "s")
	bytes = strings.TrimSuffix(bytes, "s")
	n := 1
	if given {
		if n, err = strconv.Atoi(bytes); err != nil || n < 1 || n > 4 {
			return 0, false, fmt.Errorf("%q: want value/bytes, such as 128/1", text)
		}
	}
	u, err := strconv.ParseUint(num, 10, 32)
	if err != nil || u > 1<<(8*n)-1 {
		return 0, false, fmt.Errorf("%q: the value is not within 0..%d", text, uint64(1)<<(8*n)-1)
	}
	return resize(u, n, width, shift), true, nil
}

// resize brings a value of from bytes to width bytes.
func resize(u uint64, from, width int, shift bool) uint32 {
	if width <= from {
		return uint32(u >> (8 * (from - width)))
	}
	if shift {
		return uint32(u << (8 * (width - from)))
	}
	// Mirroring repeats the bytes, most significant first.
	out := uint64(0)
	for i := range width {
		b := u >> (8 * (from - 1 - i%from)) & 0xFF
		out = out<<8 | b
	}
	return uint32(out)
}

// parseOffset reads slot offsets, most significant first ("5,6"); none for a
// virtual channel ("None" or empty).
func parseOffset(text string) ([]int, error) {
	text = strings.TrimSpace(text)
	if text == "" || text == "None" {
		return nil, nil
	}
	var slots []int
	for _, f := range strings.Split(text, ",") {
		n, err := strconv.Atoi(strings.TrimSpace(f))
		if err != nil || n < 1 || n > 512 {
			return nil, fmt.Errorf("offset %q: want slot numbers 1..512, such as 5,6", text)
		}
		slots = append(slots, n)
	}
	if len(slots) > maxWidth {
		return nil, fmt.Errorf("offset %q: a channel of %d bytes is more than this program drives (%d)", text, len(slots), maxWidth)
	}
	return slots, nil
}

// parseColor reads a ColorCIE "x,y,Y". Some files have a decimal comma in Y,
// and so four fields: "0.3002,0.5998,71,55" is Y = 71.55.
func parseColor(text string) (xy colorcalc.XY, y float64, err error) {
	f := strings.Split(text, ",")
	if len(f) == 4 {
		f = []string{f[0], f[1], f[2] + "." + f[3]}
	}
	if len(f) != 3 {
		return xy, 0, fmt.Errorf("colour %.60q: want x,y,Y", text)
	}
	var v [3]float64
	for i := range v {
		v[i], err = parseNumber(f[i])
		if err != nil {
			return xy, 0, fmt.Errorf("colour %.60q: %w", text, err)
		}
	}
	xy = colorcalc.XY{X: v[0], Y: v[1]}
	if !xy.Valid() || v[2] < 0 {
		return colorcalc.XY{}, 0, fmt.Errorf("colour %.60q is not the colour of a light", text)
	}
	return xy, v[2], nil
}

// parseNumber reads a finite decimal number.
func parseNumber(text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%.40q is not a number", text)
	}
	return v, nil
}
