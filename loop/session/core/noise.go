package core

import (
	"math"

	"trueup/colorcalc"
)

// The scatter assumed of a meter that nobody has measured yet, per axis of
// u'v', and how many readings that assumption is worth. Measured figures for
// the usual instruments lie between 0.0002 and 0.0008.
const (
	assumedSigmaUV  = 0.0005
	assumedReadings = 4
	assumedSigmaLnY = 0.007
)

// meterNoise learns how one reading scatters about the mean of a steady light.
// Believing too little noise makes false landings, too much doubles the
// readings; so it is measured at the start of every run.
type meterNoise struct {
	sumSq  float64 // squared deviations from their own means, both axes
	sumSqY float64 // the same of ln Y
	dof    float64 // degrees of freedom per axis behind sumSq
	dofY   float64
	// How much of what was assumed is forgotten, 0 to 1, as older repeats are.
	forgot, forgotY float64
	// What is assumed of this one where that is more than of any meter; 0: it is not.
	assumedUV, assumedLnY float64
	digits                float64 // what the coarsest last digit read so far gives to one reading, per axis: repeats may all show the same
}

// shows takes in the last digit of x and y that a meter shows; 0: it does not tell.
func (m *meterNoise) shows(round float64) {
	m.digits = max(m.digits, colorcalc.RoundingSigma(round))
}

// learn takes repeats of one steady light. lnY entries that are NaN (no level)
// are left out, and one far from the others: a hand over the meter takes light away and
// leaves its colour, so that nothing else sets the reading aside.
func (m *meterNoise) learn(uv []colorcalc.UV, lnY []float64) {
	if len(uv) > 1 {
		mean := meanUV(uv)
		for _, c := range uv {
			m.sumSq += (c.U-mean.U)*(c.U-mean.U) + (c.V-mean.V)*(c.V-mean.V)
		}
		m.dof += float64(len(uv) - 1)
	}
	kept := nearLevel(lnY)
	if len(kept) > 1 {
		of := mean(kept)
		for _, y := range kept {
			m.sumSqY += (y - of) * (y - of)
		}
		m.dofY += float64(len(kept) - 1)
	}
}

// nearLevel is the levels, ln, that lie near the others by their own scatter, or by what is assumed of it where that is more, without
// those that are NaN. Of fewer than four nobody can tell which is the odd one.
func nearLevel(lnY []float64) (near []float64) {
	for _, y := range lnY {
		if !math.IsNaN(y) && !math.IsInf(y, 0) {
			near = append(near, y)
		}
	}
	if len(near) < 4 {
		return near
	}
	return pick(near, nearMiddle(near, farOff*assumedSigmaLnY))
}

// mostKnown is how many degrees of freedom earlier repeats count for at most: a
// meter's scatter may change, and a lamp brings only one or two.
const mostKnown = 8

// mostForgot leaves a little of what was assumed, some 0.0001: repeats that agree to the last digit, of a coarse or a
// smoothing meter, must not make it believed to be without scatter.
const mostForgot = 0.95

// mostGrowth times what is believed is the most scatter that the repeats of one stay count for: two outliers among
// three readings look like a meter ten times as bad. One that is so bad shows it in other stays of three readings and more.
const mostGrowth = 3

// again takes later repeats of one steady light.
func (m *meterNoise) again(uv []colorcalc.UV, lnY []float64) {
	var few meterNoise
	few.learn(uv, lnY)
	most, mostY := mostGrowth*m.sigmaUV(), mostGrowth*m.sigmaLnY()
	few.sumSq = min(few.sumSq, 2*few.dof*most*most)
	few.sumSqY = min(few.sumSqY, few.dofY*mostY*mostY)
	if k := mostKnown / m.dof; m.dof > mostKnown {
		m.sumSq, m.dof, m.forgot = k*m.sumSq, mostKnown, min(mostForgot, 1-k*(1-m.forgot))
	}
	if k := mostKnown / m.dofY; m.dofY > mostKnown {
		m.sumSqY, m.dofY, m.forgotY = k*m.sumSqY, mostKnown, min(mostForgot, 1-k*(1-m.forgotY))
	}
	m.sumSq, m.dof, m.sumSqY, m.dofY = m.sumSq+few.sumSq, m.dof+few.dof, m.sumSqY+few.sumSqY, m.dofY+few.dofY
}

// sigmaUV is the standard deviation of one reading per axis: the measured one,
// drawn towards the assumed one while few readings stand behind it.
func (m *meterNoise) sigmaUV() float64 {
	a, of := 1-m.forgot, max(assumedSigmaUV, m.assumedUV)
	return max(m.digits, math.Sqrt((a*(assumedReadings*of*of)+m.sumSq/2)/(a*assumedReadings+m.dof)))
}

// differs tells whether repeats of one steady light were seen to differ by much more than the last digit does: then
// some that show the same figures are no repeats.
func (m *meterNoise) differs() bool {
	return m.dof >= 2*mostGrowth && math.Sqrt(m.sumSq/(2*m.dof)) > mostGrowth*max(m.digits, leastShown)
}

// sigmaLnY is the same for the natural logarithm of the level.
func (m *meterNoise) sigmaLnY() float64 {
	a, of := 1-m.forgotY, max(assumedSigmaLnY, m.assumedLnY)
	return math.Sqrt((a*(assumedReadings*of*of) + m.sumSqY) / (a*assumedReadings + m.dofY))
}

// mean is that of some figures; 0 of none.
func mean(v []float64) (m float64) {
	for _, x := range v {
		m += x / float64(len(v))
	}
	return m
}

func meanUV(uv []colorcalc.UV) colorcalc.UV {
	var m colorcalc.UV
	for _, c := range uv {
		m.U += c.U / float64(len(uv))
		m.V += c.V / float64(len(uv))
	}
	return m
}

// Readings of a match with a noisy meter.
const (
	mostBudget     = 80 // where that is enough
	hopelessBudget = 12 // where it is not: what is known of other lamps may still land one
	taughtBudgets  = 4  // of the largest: a lamp that takes more than what other lamps and settings teach lets some land with
	typedBudget    = 20 // of a person who reads the meter, where that is enough: a lamp that steps about takes no more
	mostTypedLamp  = 40 // of them for one lamp, on all visits, where it is not
	typedAgain     = 6  // on a later visit in any case
)

// budgets are how many readings a match takes in any case, where it may take usual, and at the most.
func (c *Core) budgets(usual int) (least, most int) {
	if c.cfg.Plan.HandMeter {
		return min(usual, typedBudget), mostTypedLamp
	}
	return usual, mostBudget
}

// budget is how many readings a match at a probe may take, usual with a usual meter: twice what one
// point takes. More than mostBudget would leave the lamps after it to a meter that is worse yet, or keep
// everybody waiting: that it takes so many is then said early.
func (c *Core) budget(probe string, usual int) int {
	n := colorcalc.ReadingsFor(c.noiseAt(probe).sigmaUV(), c.cfg.Plan.Tolerance)
	usual, most := c.budgets(usual)
	if n > most {
		return min(usual, hopelessBudget)
	}
	return max(usual, min(2*n, most))
}

// budgetBeside is budget at a probe whose background blows the scatter up.
func (c *Core) budgetBeside(u *unit, usual int) int {
	n := c.budget(u.Info.Probe, usual)
	usual, most := c.budgets(usual)
	if c.cfg.Plan.HandMeter {
		left := max(typedAgain, mostTypedLamp-u.tally.kept)
		n, most = min(n, left), min(most, left)
	}
	switch {
	case n < usual:
		return n
	case c.beyond(u, taughtBudgets):
		return hopelessBudget
	}
	return max(n, min(2*c.needs(u), most))
}

// needs is how many readings a point of a unit takes beside the background of its probe, whose doubt, with the reference's, takes its
// part of the tolerance. A unit that was not read yet is taken to be as bright as the one read last there; 0 where
// none was.
func (c *Core) needs(u *unit) int {
	d := c.background[u.Info.Probe]
	if d == nil || !(d.light.Y > 0) {
		return 0
	}
	light := d.light.Y
	if u.own.Y > 0 {
		light = u.own.Y
	}
	return max(1, int(math.Ceil(c.pointBeside(d, light, c.cfg.Plan.Tolerance*math.Hypot(darkAgain, referenceAgain)))))
}

// pointBeside is how many readings a point of a light takes beside a background, nil for none that is known, when common, for each axis, is the doubt that all of them
// share. What is left to the readings is tolerance² / colorcalc.Square95 - common² of variance. Infinite where that is nothing.
func (c *Core) pointBeside(d *dark, light, common float64) float64 {
	sigma, tol := c.noiseOfRef().sigmaUV(), c.cfg.Plan.Tolerance
	if d != nil {
		sigma = c.noiseAt(d.probe).sigmaUV()
	}
	if d != nil && light > 0 {
		sigma *= 1 + d.Mean().Y/light
	}
	left := tol*tol/colorcalc.Square95 - common*common
	if !(left > 0) {
		return math.Inf(1)
	}
	return sigma * sigma / left
}

// mostShared is the largest doubt, for each axis, that all readings of a light beside a background may share for the most readings of a visit to carry the
// tolerance; 0 where none is.
func (c *Core) mostShared(d *dark, light float64) float64 {
	_, most := c.budgets(mostBudget)
	tol := c.cfg.Plan.Tolerance
	alone := c.pointBeside(d, light, 0) // readings: the part of tol² / colorcalc.Square95 that most of them leave is 1 - alone / most
	return tol * math.Sqrt(max(0, 1-alone/float64(most))/colorcalc.Square95)
}

// beyond tells whether a unit takes more readings than so many of the largest budgets. Of one that was not read yet nobody knows: the lamp read
// before it may have been a weaker one.
func (c *Core) beyond(u *unit, budgets int) bool {
	return u.own.Y > 0 && c.needs(u) > budgets*mostBudget
}

// repeats are readings of one unit where it stands.
type repeats struct {
	uv  []colorcalc.UV
	lnY []float64
}

// mostRepeats teach at once: the noise may grow within one long stay.
const mostRepeats = 8

// repeated keeps a reading of a unit that stands; a background that blows the noise up spoils it.
func (c *Core) repeated(u *unit, uv colorcalc.UV, y, sigma float64) {
	if sigma > 1.2*c.noiseAt(u.Info.Probe).sigmaUV() {
		return
	}
	u.repeats.uv, u.repeats.lnY = append(u.repeats.uv, uv), append(u.repeats.lnY, math.Log(y))
	if len(u.repeats.uv) == mostRepeats {
		c.learnRepeats(u)
	}
}

// learnRepeats teaches the meter's noise by what was read of a unit before it moved: the noise may
// have grown since the reference was read.
func (c *Core) learnRepeats(u *unit) {
	r := u.repeats
	u.repeats = repeats{}
	sigma := c.noiseAt(u.Info.Probe).sigmaUV()
	near := nearMedian(r.uv, sigma)
	if len(r.uv) == 2 && r.uv[0].Dist(r.uv[1]) > farOff*math.Sqrt2*sigma {
		return // which of the two is wrong can not be told
	}
	if len(near) > 1 {
		c.noiseAt(u.Info.Probe).again(pick(r.uv, near), pick(r.lnY, near))
	}
}
