package solve

import "trueup/colorcalc"

// Every figure of the policy, on one page: unit, source, and how sensitive the
// result is; model/figures.go says how to read it. The defaults of options stand in
// DefaultOptions.

// Defaults of a target.
const (
	defaultTol  = 0.0010 // u'v': one step of about 0.0011 (CIE TN 001), rounded down
	defaultTolY = 0.02   // of the level
	mostTol     = 0.1    // u'v': a tolerance that can not be meant

	leastConfidence = 0.5
)

// Landing.
const (
	ratio95 = colorcalc.Radius95 // radius over standard deviation of a circle that holds 95 %
)

// The choice between a step and one more reading.
const (
	worthMoving   = 1.02 // times better that a move must score than one more reading; tuned [flat, at 0.05 less and more]
	worthNear     = 1.3  // times better that the smallest step must score than the planned mixture; tuned [emitters 3.60 3.57, bad profile 4.47 4.81]
	worthInside   = 0.02 // of the chance to be inside counts beside the chance to land; tuned [flat]
	unfit         = 0.9  // of the worth of staying, where no reading here was accepted; tuned [flat, at 0.05 less and more]
	tinyStep      = 0.03 // of the tolerance, below which a step is not worth making; tuned [flat]
	hopeless      = 0.05 // chance to land on the next reading, below which staying waits for luck; tuned [flat]
	hopelessFrom  = 3    // readings at the drive, from which on that is said; tuned
	timeWeighs    = 0.5  // of a move's time counts against it: what scatters is read again rather than led about; tuned [flat from 0.3 to 0.9]
	reachHalvings = 12   // of the tolerance, when looking for the radius that still lands
	reachAlongU   = 0.8  // the direction of that radius: 0.8 along the longer axis of the covariance, 0.6 along the
	reachAlongV   = 0.6  // shorter one. Along the longer axis alone the radius is some 15 % shorter
)

// Readings.
const (
	mostAccepted  = 0.5  // of the weight that must take a reading for it to be accepted [flat]
	yieldFrom     = 4    // accepted readings at one drive that have the last word over the estimate
	yieldOff      = 5.0  // standard deviations of their mean by which they must differ from it; tuned [flat]
	darkNoise     = 6.0  // standard deviations of the meter by which an emitter's light must be missing [flat]
	agreeSquared  = 25.0 // squared standard deviations within which two readings agree [flat]
	mostAgreeing  = 5    // of those count
	mostSigmaUV   = 0.1  // u'v', noise of a meter that can not be meant
	mostSigmaLn   = 2.0  // ln Y, the same
	mostRounding  = 0.01 // last digit of x and y, the same
	usualReadings = 8    // of a match, that there is room for from the first
	usualSentence = 240  // bytes, the same
	leastSigma    = 2e-5 // u'v': no meter is better than this, whatever it says
	leastLn       = 1e-3 // ln Y, the same
)

// The edge of emitter modes.
const (
	regretDraws = 32     // of what might be true
	regretShare = 0.92   // of the draws must gain no more than a tolerance by moving on; tuned [edge 3.40 3.67, at 0.05 less and more]
	edgeVisits  = 2      // moves to the best codes of a draw that gains more
	edgeIdle    = 4      // readings at the nearest point after which it is declared
	edgeGain    = 0.2    // of the tolerance, that a move to the nearest point must bring [flat]
	goBack      = 0.0005 // u'v', nearer beside noise that a drive must have been read to go back to it; tuned [flat]
	goBackNoise = 2.0    // standard deviations of that reading
)

// The edge of engines.
const (
	seekGrid    = 16   // intervals of the coarse lattice along each parameter
	seekChance  = 0.03 // of a gain of a tolerance, below which no drive is worth a look; tuned [edge 3.62 3.53]
	landChance  = 0.1  // of landing by less, the same
	seekLooks   = 7    // moves after which the best of all is taken; tuned
	besideCodes = 2    // codes about the nearest point of a coarse lattice that are looked at
	coarseCodes = 4095 // code of full scale below which a lattice is coarse
	checkedOff  = 2.0  // standard deviations of the process within which a plan of the law is believed [flat]
	setback     = 2.0  // tolerances further off than a drive read before; tuned [flat]
	setbacks    = 4    // after which the lamp is called jumpy; tuned
	lastReads   = 6    // at the nearest drive, as long as it may be inside
	nearlyLands = 0.85 // probability to be inside, from which on twice as many are spent
)

// Evidence for "out of reach": tuned (table of reach) for few readings and no false word.
const (
	edgeLeast  = 2    // accepted readings at the nearest point, at the least,
	edgeFar    = 6.0  // or one, so many standard deviations of a reading outside the tolerance
	edgeInside = 0.05 // chance to be inside the tolerance, above which it is not said
	edgeReads  = 6    // readings at the nearest point that may be spent on telling inside from outside
	edgeAgain  = 3    // the same, where an earlier visit has done so
	edgeBetter = 0.05 // by how much likelier inside another setting must be to be tried first
	edgeTries  = 2    // of those
	edgeLands  = 0.8  // of the tolerance: a setting predicted there may land
	formerNear = 2.0  // tolerances, within which a lamp that had landed is not called out of reach
)

// Diagnosis. Each suspicion has to be worth stopping a run for.
const (
	silentAsks   = 8     // requests without any reading
	unanswered   = 2     // moves without an answer
	silentPath   = 0.008 // u'v' that those moves should have made together
	silentLater  = 4.0   // times the square of that, on a visit after another: a few small steps in much noise look like silence
	silentOne    = 6.0   // times that path squared, for one move looked at twice
	silentLong   = 10.0  // the same, for one move and four readings
	silentSeen   = 25.0  // times the noise squared that the path must be
	silentDone   = 3.0   // times the noise squared that what was done may be at the most
	quietDone    = 6.0   // the same, of the last move
	silentPart   = 0.01  // of the path squared that what was done may be at the most
	alongAnswers = 2.6   // standard deviations of a move in the foretold direction that are an answer, 1 in 200 by chance
	alongPart    = 0.1   // of the foretold way, that it must be at the least
	levelAnswers = 4.0   // standard deviations of the level that are an answer
	leadSurely   = 0.9   // weight of the leading component from which a law is named
	bentLaw      = 0.15  // ln of the exponent from which the law counts as another
	bentNoise    = 2.0   // standard deviations of it beside that
	swapOdds     = 9.0   // ln of evidence for two swapped emitters over all else
	swapAlone    = 5.0   // of which so much is left without any one of the readings
	swapFrom     = 2     // readings from which swaps are thought of
	swapTo       = 8     // up to which: a lamp whose profile is wrong in everything looks like one later on
	addressApart = 5.0   // ln of evidence over the next best story, at which it is said by how much an address is off
	darkLess     = 0.1   // ln of light that a head must lack in the dark, where a reading showed its own: a background takes a fifth more
	addressTo    = 16    // readings up to which a wrong address is thought of
	swapAlike    = 6     // readings from which on an exchange is named where they do not tell of which two
	rivalFrom    = 9.0   // squared Mahalanobis distance of some reading, from which on other stories are asked
	scaleFrom    = 5.0   // the same, of a colour temperature mode: where two scales are close, no reading of either fits badly
	rivalTo      = 16    // readings up to which they are
	rivalOdds    = 7.0   // ln of evidence for another story over the profile's, at which it is believed
	tryOdds      = 5.0   // the same, for a story of a scale: it costs nothing where it is wrong; tuned (table of causes)
	saidOdds     = 7.6   // the same, at which such a story is named: ln 2000. By chance alone evidence for another story comes that far once in 2000 lamps at the most, whenever it is looked at (Ville's inequality)
	firstAlone   = 2.0   // of which so much is left without the first reading, of a dead emitter
	underWayOdds = 12.0  // the same, of a tint on a first visit under way; tuned (table of causes) on sound lamps
	rivalMost    = 12.0  // squared Mahalanobis distance of the reading that such a story explains worst
	rivalSurely  = 12.0  // ln of evidence from which on that may be more,
	rivalNearer  = 4.0   // if it is so many times less than that of the present story
	refuteMove   = 0.25  // of an emitter's range, by which a move puts to the test that it is dead
	refuteFar    = 16.0  // squared Mahalanobis distance from where that has the light, that refutes it
	unrestOdds   = 5.0   // ln of odds against a factor of a head's scatter, before a reading [readings, at 2 less]
	unrestFrom   = 4     // readings from which on it is asked for,
	unrestTo     = 16    // and up to which
	suspectOdds  = 2.0   // ln of evidence at which another story is worth a look where the two part
	lookOdds     = 3.5   // the same, at which a look on the way is worth it: 1 in 33 by chance
	partLeast    = 2.0   // squared Mahalanobis distance by which they must part there at the least
	partStep     = 0.1   // of the scale, between the settings looked at for it
	haveSay      = 0.05  // of the weight, from which on a component of a story is asked what it expected
	rivalApart   = 2.0   // and over every other
	mostUnseen   = 3     // drives at which no light is seen, that another story is asked for
	unseenLn     = -3.5  // ln of light beside the brightest reading, below which none is to be seen
	fainterLn    = -1.6  // ln of the same, below which a point is not tried only because it might be nearer
	unseenOdds   = 20.0  // ln of evidence against a story that expects more
	deadDriven   = 0.05  // of its range, to which an emitter must have been driven to be called dead
	deadFlux     = 1e-6  // of an emitter's light that a dead one gives
	misfit       = 25.0  // squared Mahalanobis distance of a reading that does not fit [flat]
	misfits      = 4     // of those in moves before the mode is doubted
	mostMisfits  = 10    // of those, at which the match ends: of sound lamps next to none comes so far
	driftFrom    = 4.0   // readings at a drive from which drift is told from scatter
	driftNoise   = 6.0   // standard deviations of a mean that a drift must show
	driftMeter   = 2.0   // standard deviations of the meter beside that
	scatterMore  = 1.5   // times the meter's own scatter, from which readings scatter too much
)
