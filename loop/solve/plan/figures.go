package plan

// Every figure of the planning, on one page: unit, source, and how sensitive the
// result is; model/figures.go says how to read it.

// Lowest drives of a lit emitter, as fractions of full scale. Below minDrive many
// lamps cut off or flicker, so an emitter is dark or at least there. Where the
// target can not be reached so, lastDrive is tried, and at the very last deepDrive,
// where many lamps are dark: the reading tells, and then it is not tried again.
const (
	minDrive  = 0.02  // tuned with the bench's lamps, dark below 0.012 [flat]
	lastDrive = 0.016 // tuned
	deepDrive = 0.012 // tuned
	darkFar   = 3.0   // times further off if lit than if dark, beyond which an emitter counts as dark
)

// What counts as reaching the target, as parts of the tolerance.
const (
	reachedWithin = 0.6  // a planned drive; more than that and the lattice of codes, not the law, may be the reason [flat]
	nearEnough    = 0.3  // a local step; tuned [flat]
	refineAbove   = 0.05 // Newton's result in an engine, above which the whole box is searched
	localEnough   = 4.0  // the local step goes on to nearEnough over this
)

// levels are the fractions of the light asked for that are tried in turn for a new
// choice of emitters, holdLevels those for the emitters that are held.
var (
	levels     = [...]float64{1, 0.94, 0.85, 0.7, 0.5, 0.3, 0.15, 0.07, 1.03}
	holdLevels = [...]float64{1, 0.97, 0.94, 0.88, 0.8, 0.7, 1.03, 1.06}
)

// Levels.
const (
	levelJump  = 0.08   // ln, step of an asked level beyond which the emitters are chosen anew; tuned [flat]
	mostLevel  = 0.999  // of the most light at a chromaticity, for an asked level
	mostOutput = 0.97   // of the same, for the wish MostOutput: room for the corrections
	mostMix    = 0.9999 // of the same, for the linear program: it must stay feasible
	dimAbove   = 0.98   // of the most light, above which the dimmer is moved for an asked level
	dimBelow   = 0.08   // the same, below which
	dimPart    = 0.6    // of the most light, where the level then lies
	branchDeep = 4      // emitters between dark and cut-off that are branched on
)

// A mix by spectra that is held is given up for another.
const (
	renewFrom    = 1.1 // times the difference of the best that is known now
	renewLeast   = 0.2 // CIEDE2000 above it: less is not seen
	mostRenewals = 2   // in a match: each is a long move, and takes a reading
)

// The nearest mixture.
const (
	maxBetween   = 2    // emitters between dark and cut-off that are tried both ways
	searchFirst  = 0.25 // first step of the pattern search, of an emitter's light
	searchLast   = 2e-4 // last step
	searchDark   = 0.02 // of full light, from which an emitter's step is that of its light
	searchGain   = 1e-7 // u'v', least gain of a step
	nearestLit   = 0.2  // of the light of the nearest pair of emitters, that the nearest mixture gives at the least
	pairGain     = 1e-9 // u'v', least gain of another pair
	goldenEnough = 1e-4 // of a ratio of two emitters
)

// The lattice of codes.
const (
	scalePenalty = 1e-4  // u'v' that a change of level by penaltyStep is worth [flat]
	penaltyStep  = 0.03  // ln
	fineLattice  = 4095  // code of full scale from which on rounding is finer than any meter
	maxSplit     = 7     // emitters whose floor and ceiling are both tried
	levelFree    = 0.021 // by which a level that is asked for may be missed on a coarse lattice, where few colours lie at one level
)

// latticeScales are the levels tried on a coarse lattice.
var latticeScales = [...]float64{1, 0.99, 1.01, 0.98, 1.02, 0.965, 1.035, 0.95}

// Newton's method and the pattern search in the parameters of an engine, as
// fractions of their scales.
const (
	newtonStep     = 1e-4  // of the differences that make the Jacobian: some codes of 16 bit
	newtonTurns    = 12    // the last resort: the best so far
	newtonHalvings = 6     // of a step that leads further off
	newtonEnough   = 1e-7  // u'v'
	newtonSingular = 1e-12 // determinant
	coarseGrid     = 8     // intervals of the grid of starts
	patternFirst   = 0.1
	patternLast    = 1e-6
	patternTurns   = 20   // at one step
	patternGain    = 1e-9 // least gain of a step
)

// Guards of the arithmetic.
const (
	leastDimmer   = 1e-3  // of full light behind a dimmer that is planned with
	leastLight    = 1e-9  // model units
	leastOutput   = 1e-6  // model units, below which a chromaticity counts as out of reach
	outshines     = 100.0 // times what is left of the background: a light that is brighter does not have its colour from that
	leastLit      = 1e-9  // of full light
	sameLight     = 1e-12 // of full light
	localSingular = 1e-12 // of the product of the two diagonal terms
)

// The linear program (Dantzig 1963).
const (
	bigM      = 1e5  // cost of an artificial variable
	lpEps     = 1e-9 // reduced costs and pivots below this count as zero
	lpGap     = 1e-7 // what may be left of an artificial variable
	lpMaxIter = 200
	lpBland   = 50 // steps after which the first improving variable enters (Bland's rule): it ends
)
