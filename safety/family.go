package safety

import "math"

// ExponentSpread is how far a lamp's true response may lie from its declared curve
// while the limits still hold for the light it gives: the declared light to a power
// between 1-ExponentSpread and 1+ExponentSpread. A square law that is in truth a
// gamma of 2.2, or of 1.8, is inside. The price is paid in time: a fade between dark and
// full takes 7.4 % longer than the limit alone asks for, one between dark and a quarter
// 15 %, one in the middle hardly any.
const ExponentSpread = 0.10

// Of a response that nobody declared we take that it lies between a straight line
// and a cube, both within ExponentSpread, or is anything else (an S, a dead part at
// an end) that is nowhere more than steepest times as steep as a straight line. A full
// fade then takes 2.1 times as long.
const (
	least    = 1 - ExponentSpread
	most     = 1 + ExponentSpread
	cube     = 3 * most
	steepest = 2.0
)

// A pace is the light that a fade may have made at the worst: for every response f
// of a family, |f(b) - f(a)| <= |pace(b) - pace(a)|. What is limited in the pace is so
// limited in the light of every member of the family.
//
// It is the integral over light y of the steepest slope that any member has there.
// For the powers y^g, g in least..most, the slope is g y^(g-1), greatest at
// g = -1/ln y or at the nearer end of the range. For responses nobody declared, y is
// the share of the code, and the slope the greatest of steepest, least y^(least-1)
// and cube y^(cube-1).
type pace struct {
	of   func(y float64) float64
	back func(p float64) float64
}

var (
	declaredPace   = pace{paceDeclared, backDeclared}
	undeclaredPace = pace{paceUndeclared, backUndeclared}
)

// Pace is the light that a fade between the dark and a light, 0..1, may have made at the worst: limits hold for whatever lies between
// the response that a profile declares, or none where it does not, and what the lamp may do in truth. A fade from a to b takes
// |Pace(b)-Pace(a)| over the limit at the least.
func Pace(light float64, declared bool) float64 {
	if declared {
		return paceDeclared(light)
	}
	return paceUndeclared(light)
}

// Where the worst exponent leaves the lower end of the range, and where it
// reaches the upper one.
var (
	lowLight    = math.Exp(-1 / least)
	highLight   = math.Exp(-1 / most)
	highPace    = (1 + math.Log(most/least)) / math.E
	lowShare    = math.Pow(least/steepest, 1/(1-least))
	highShare   = math.Pow(steepest/cube, 1/(cube-1))
	lowPaceUn   = math.Pow(lowShare, least)
	highPaceUn  = lowPaceUn + steepest*(highShare-lowShare)
	highShareUn = math.Pow(highShare, cube)
)

func paceDeclared(y float64) float64 {
	switch {
	case y <= 0:
		return 0
	case y <= lowLight:
		return math.Pow(y, least)
	case y < highLight:
		return (1 + math.Log(-1/(least*math.Log(y)))) / math.E
	}
	return highPace + math.Pow(y, most) - 1/math.E
}

func backDeclared(p float64) float64 {
	switch {
	case p <= 0:
		return 0
	case p <= 1/math.E:
		return math.Pow(p, 1/least)
	case p < highPace:
		return math.Exp(-math.Exp(1-math.E*p) / least)
	}
	return math.Pow(p-highPace+1/math.E, 1/most)
}

func paceUndeclared(x float64) float64 {
	switch {
	case x <= 0:
		return 0
	case x <= lowShare:
		return math.Pow(x, least)
	case x < highShare:
		return lowPaceUn + steepest*(x-lowShare)
	}
	return highPaceUn + math.Pow(x, cube) - highShareUn
}

func backUndeclared(p float64) float64 {
	switch {
	case p <= 0:
		return 0
	case p <= lowPaceUn:
		return math.Pow(p, 1/least)
	case p < highPaceUn:
		return lowShare + (p-lowPaceUn)/steepest
	}
	return math.Pow(p-highPaceUn+highShareUn, 1/cube)
}

// brightest is the most light that a member of the family gives where the axis
// says y.
func (a *axis) brightest(y float64) float64 {
	if a.rule.Curve != nil {
		return math.Pow(y, least)
	}
	return max(min(1, steepest*y), math.Pow(y, least))
}

// laws is how many members of the family the flash guard follows: what was declared,
// and the corners, each as if all lamps erred alike. See [axis.bend].
const laws = 5

// bend gives the light of each law where the axis says y. Dimmer and emitters of a
// head may err alike or against each other; the emitters among themselves are taken
// to err alike.
func (a *axis) bend(y float64) [laws]float64 {
	up, down := math.Pow(y, least), 0.0
	if a.rule.Curve == nil {
		return [laws]float64{y, up, math.Pow(y, cube), min(1, steepest*y), max(0, 1-steepest*(1-y))}
	}
	down = math.Pow(y, most)
	if a.rule.Kind == Dimmer {
		return [laws]float64{y, up, down, up, down}
	}
	return [laws]float64{y, up, down, down, up}
}
