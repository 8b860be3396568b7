package instrument

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// dimension groups the units that can stand for each other.
type dimension string

const (
	plain       dimension = "number"
	lightLevel  dimension = "level"
	temperature dimension = "colour temperature"
	duration    dimension = "time"
	percent     dimension = "fraction"
)

// unit converts a number as written into the house's unit of its dimension:
// lux (or cd/m2), kelvin, seconds, 1. Mired is the one that is not linear.
type unit struct {
	dim    dimension
	factor float64
	mired  bool
}

// units that may stand in a description, or behind a number in the text of a
// meter. 1 fc = 1 lm/ft2 = 10.76391 lx (1 ft = 0.3048 m exactly). cd/m2 stays
// as it is: the loop compares levels, it does not mix the two kinds.
var units = map[string]unit{
	"":   {plain, 1, false},
	"lx": {lightLevel, 1, false}, "lux": {lightLevel, 1, false}, "klx": {lightLevel, 1000, false}, "mlx": {lightLevel, 1e-3, false},
	"fc":    {lightLevel, 1 / (0.3048 * 0.3048), false},
	"cd/m2": {lightLevel, 1, false}, "cd/m^2": {lightLevel, 1, false}, "cd/m²": {lightLevel, 1, false}, "kcd/m2": {lightLevel, 1000, false},
	"relative": {lightLevel, 1, false},
	"K":        {temperature, 1, false}, "kK": {temperature, 1000, false},
	"mired": {temperature, 1e6, true}, "MK-1": {temperature, 1e6, true},
	"s": {duration, 1, false}, "ms": {duration, 1e-3, false}, "us": {duration, 1e-6, false}, "µs": {duration, 1e-6, false}, "ns": {duration, 1e-9, false}, "min": {duration, 60, false},
	"%": {percent, 0.01, false},
}

// unitWords lists the units of a dimension, for messages.
func unitWords(d dimension) string {
	var w []string
	for name, u := range units {
		if u.dim == d && name != "" {
			w = append(w, name)
		}
	}
	slices.Sort(w)
	return strings.Join(w, ", ")
}

// number is a number as a meter wrote it.
type number struct {
	value    float64
	decimals int  // digits behind the point, for the rounding; negative: tens, hundreds
	unit     unit // as written behind it; factor 0: none was written
}

// parseNumber reads "0.3127", "-0,0021", "1.2e3", "4310 K", "12.3 klx". A unit
// behind the number must be a known one. comma makes the comma the decimal
// sign; the other sign may then not occur: a thousands separator is too easily
// misread to be guessed.
func parseNumber(s string, comma bool) (number, error) {
	s = strings.TrimSpace(s)
	text := s
	i := 0
	for i < len(text) && strings.IndexByte("+-0123456789.,eE", text[i]) >= 0 {
		if (text[i] == 'e' || text[i] == 'E') && (i+1 >= len(text) || strings.IndexByte("+-0123456789", text[i+1]) < 0) {
			break
		}
		i++
	}
	digits, suffix := text[:i], strings.TrimSpace(text[i:])
	if digits == "" {
		switch strings.ToLower(text) {
		case "nan", "inf", "-inf", "+inf", "-nan":
			return number{}, fmt.Errorf("%q is not a finite number", s)
		}
		return number{}, fmt.Errorf("%q is not a number", s)
	}
	var n number
	if suffix != "" {
		u, ok := units[suffix]
		if !ok {
			return number{}, fmt.Errorf("%q: unit %q is not known", s, suffix)
		}
		n.unit = u
	}
	if comma {
		if strings.Contains(digits, ".") {
			return number{}, fmt.Errorf("%q has a point although the decimal sign is a comma", s)
		}
		digits = strings.Replace(digits, ",", ".", 1)
	}
	if strings.Contains(digits, ",") {
		return number{}, fmt.Errorf("%q has a comma; say decimal: comma if that is the decimal sign", s)
	}
	v, err := strconv.ParseFloat(digits, 64)
	if err != nil || math.IsInf(v, 0) {
		return number{}, fmt.Errorf("%q is not a finite number", s)
	}
	n.value = v
	mantissa, exponent, _ := strings.Cut(strings.ToLower(digits), "e")
	if _, frac, ok := strings.Cut(mantissa, "."); ok {
		n.decimals = len(frac)
	}
	if exponent != "" {
		if e, err := strconv.Atoi(exponent); err == nil && e > -300 && e < 300 {
			n.decimals -= e
		}
	}
	return n, nil
}
