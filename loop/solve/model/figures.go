package model

// Every figure of the models, on one page. After each: its unit, where it comes
// from, and in brackets how sensitive the result is to it. "Tuned" means chosen by
// the tables of loop/looptest (go test -run TestBench, with the name of the class or
// table where one decided).
//
// The brackets give the mean number of readings with the figure 30 % smaller and
// 30 % larger, for the groups of the bench where that differs by more than chance:
// emitters (3.53 as it stands; 0.05), engines (3.74; 0.04), edge (targets out of
// reach, 3.53; 0.08), bad profile (wrong law or primaries, law unknown, 8 bit: 4.75;
// 0.2). Measured at seed 9 on 465 matches. "flat" is no such group: nearly all are.
// What is not said did not change: no match landed falsely but where it says so, and as many
// ended honestly, give or take two of sixty at the edge. A figure without brackets
// was not measured.

// Scatter of units and of types about the profile, as standard deviations.
const (
	sdWave    = 2.75   // nm, narrow emitters; LED binning as makers print it, widened by what a profile leaves open [bad profile 4.55 4.62]
	sdNarrow  = 0.001  // u'v' beside the wavelength line; tuned [flat]
	sdBroad   = 0.0022 // u'v' of white and lime; about three steps of white (ANSI C78.377 bins) [flat]
	sdFlux    = 0.125  // ln of light; LED flux bins of some fifteen per cent [emitters 3.50 3.60, bad profile 4.66 4.50]
	sdKappa   = 0.035  // ln of the common exponent; tuned [emitters 3.54 3.59]
	sdDim     = 0.06   // of the part by which the dimmer's exponent is more than the stated one; tuned
	sdOpenDim = 1.2    // the same where no curve is stated and a level is asked for: square lies at .8, cubic at 1.7 of them
	learntDim = 0.5    // of that variance: with less, readings at two levels have told it
	sdScale   = 3.0    // ln of meter per model; "not known": a factor of twenty either way
	sdOffset  = 0.0006 // u'v', local offset of a mixture; tuned [flat]
	sdWarm    = 0.3    // of the warmth 0..1; tuned [flat]
	sdAmb     = 0.007  // of full light, background as a whole; tuned [flat]
	sdAmbAxis = 0.0007 // of full light, background per axis; tuned [flat]

	sdEngineOffset = 0.0012 // u'v', local offset of an engine; tuned [flat]
	unknownLn      = 0.7    // ln of light of an emitter whose flux is not stated: a factor of two

	wideWave   = 8.0   // nm, the profile is badly wrong; tuned (trial "primaries off 0.03") [bad profile 4.49 4.55]
	wideNarrow = 0.015 // u'v', the same [flat]
	wideBroad  = 0.015 // u'v', the same
	wideFlux   = 0.35  // ln of light, the same [bad profile 4.49 4.73]
	wideKappa  = 0.12  // ln of the exponent, the same [bad profile 4.51 4.71]
)

// The mean of the prior: a catalogue moved to a warm lamp.
const (
	meanAmb     = 0.004 // of full light, background; tuned [emitters 3.61 3.54]
	meanAmbU    = 0.21  // u', v' of the background: about 4500 K
	meanAmbV    = 0.49
	meanWarm    = 0.6  // warmth 0..1 of a lamp as found; tuned [bad profile 4.45 4.48]
	warmShift   = 1.0  // nm from cold data sheet to warm lamp; LED data sheets: 0.03 to 0.1 nm a kelvin [emitters 3.62 3.55]
	warmTau     = 90.0 // s, nominal time constant of a heat sink that matters within a match
	droopRed    = 0.20 // ln of light lost from cold to warm, AlInGaP (red, amber); LED data sheets [emitters 3.52 3.61, a false landing of 105]
	droopOther  = 0.05 // the same, InGaN and phosphors
	droopAtFull = 0.5  // of the droop, by which a data sheet is colder than the lamp

	lastPhosphor  = 585.0 // nm: between here and firstPhosphor there are hardly any narrow emitters
	firstPhosphor = 540.0 // nm
	firstCyan     = 480.0 // nm
	lastCyan      = 510.0 // nm
	lastAmber     = 605.0 // nm, from lastPhosphor
	preferBroad   = 0.6   // worth of light from lime to the wish for white light, beside 1 of white and 0 of the primaries; rule of thumb
	preferNear    = 0.2   // the same, of amber and cyan
	nearLocus     = 0.055 // u'v' from the locus of narrow emitters within which one is taken for narrow
)

// Weights of the components of a fresh unit.
const (
	wideWeight    = 0.07  // the profile is badly wrong; tuned [flat]
	rivalWeight   = 0.01  // each other response law; tuned: repairs a wrong law, costs nothing when the law is right [flat]
	rivalWide     = 0.002 // each other law with a badly wrong profile; tuned
	variantWeight = 0.02  // each other variant of an engine's law; tuned [flat]
	alikeGamma    = 0.3   // of the exponent, within which one gamma law is no rival of another: its state reaches that far
	alikeLaw      = 0.1   // the same, of linear and square beside a gamma law
	tightScale    = 0.3   // of the usual covariance, for a tight batch; tuned, flat from 0.3 to 1 [flat]
)

// Process noise of a mixture: what time and moves do, standard deviations.
const (
	droopNoise  = 0.004  // ln of light per second, along the droop; tuned [flat]
	fluxNoise   = 0.0003 // ln of light per root second, each emitter alone; tuned [flat]
	scaleNoise  = 0.002  // ln of the level per reading; tuned [flat]
	warmNoise   = 0.15   // of the warmth that a drive settles at; tuned
	moveShare   = 0.02   // u'v' offset per u'v' of light that changes hands; tuned: this is the damping [emitters 3.56 3.63, bad profile 4.68 4.50]
	moveLog     = 0.012  // u'v' offset per ln of light that an emitter moves on its curve; tuned [bad profile 4.54 4.66]
	moveFull    = 0.03   // u'v' of changed light beyond which the noise grows less: a law is bent by so much and no more; tuned [bad profile 4.49 4.59]
	moveWide    = 6.0    // times as much, for a badly wrong profile; tuned [bad profile 4.71 4.52]
	moveDark    = 1e-4   // u'v' squared, of a move from or to the dark
	moveLnY     = 0.01   // ln of the level, of any move; tuned [bad profile 4.48 4.61]
	moveLnYStep = 0.05   // ln of the level per ln that it moves, up to moveLnYMost; tuned [flat]
	moveLnYMost = 1.0
	leastPart   = 1e-3 // of full light, below which logarithms of light are not followed
)

// Process noise of an engine.
const (
	offsetNoise    = 2e-5   // u'v' offset per root second; tuned [flat]
	engineMove     = 0.04   // u'v' offset per u'v' of the way; tuned [engines 3.71 3.79, edge 3.40 3.43]
	xyMove         = 0.07   // the same, engines of four and more emitters: they change their mixture on the way; tuned [engines 3.73 3.79]
	endMove        = 12.0   // times as much again at an end of a colour temperature mode, where tables give way; tuned ("another unit's corner") [edge 3.43 3.42]
	endWidth       = 0.05   // of the range, over which that fades; tuned [flat]
	engineMoveWide = 3.75   // times as much, for a badly wrong profile; tuned [flat]
	engineLnY      = 0.02   // ln of the level, of any move; tuned [flat]
	engineLnYWay   = 4.0    // ln of the level per u'v' of the way, up to engineLnYMost; tuned [flat]
	engineLnYMost  = 0.2    // u'v'
	restLean       = 0.0007 // u'v' that a warmed engine may lean when left alone; tuned (series "two minutes later")
	dimLean        = 0.001  // u'v' per ln of light that a dimmer moves; tuned
)

// Correction states of a colour temperature mode, in the order of cctLaw: mired,
// mired per mired, mired per full tint, Duv, Duv per Duv, Duv per 100 mired. The
// scatter of units and types is some two per cent of the scale, tuned; the bounds
// are where a table would be another table.
var (
	cctScatter = [...]float64{8.8, 0.078, 4.1, 0.0028, 0.078, 0.0018}
	cctWide    = [...]float64{30, 0.25, 12, 0.008, 0.35, 0.005} // the profile is badly wrong
	cctBounds  = [...][2]float64{{-120, 120}, {-0.4, 0.5}, {-60, 60}, {-0.04, 0.04},
		{-0.4, 0.5}, // a gain through zero would turn the tint round
		{-0.02, 0.02}}
)

// The clamps of a colour temperature mode: where the engine really ends.
const (
	clampMired     = 0.03   // of the stated end, standard deviation; tuned [flat]
	clampMiredWide = 0.1    // the same, for a badly wrong profile
	clampDuv       = 0.1    // of the full tint [flat]
	clampDuvWide   = 0.3    // the same, for a badly wrong profile
	cornerMired    = 0.006  // of the middle mired, over which a clamp rounds its corner; tuned [flat]
	cornerDuv      = 0.0004 // Duv, the same
	leastTint      = 0.002  // Duv of the full tint at the least, so that a fraction of it means something
	leastMired     = 20.0   // 50000 K
	mostMired      = 900.0  // 1100 K
	leastClampDuv  = 1e-4   // a clamp of tint lies on its own side of the locus
	mostClampDuv   = 0.06   // beyond any engine
)

// Correction states of an xy mode, in the order of warped: offset (u'v'), affine
// map. Tuned; the bounds are where a map would turn the colours round.
var (
	warpScatter = [warpStates]float64{0.008, 0.008, 0.06, 0.06, 0.06, 0.06}
	warpWide    = [warpStates]float64{0.02, 0.02, 0.2, 0.2, 0.2, 0.2}
	warpOffset  = [2]float64{-0.1, 0.1}
	warpMap     = [2]float64{-0.5, 0.6}
)

// leastXY is the smallest x and y that is ever asked of an xy mode: x and y of no
// colour make many lamps go dark. leastScaleXY keeps what a scale says a colour.
const (
	leastXY      = 0.03
	leastScaleXY = 1e-3
)

// Correction states of a hue and saturation mode, in the order of hueSatLaw.
// Scatter of LED bins, tuned; the bounds are where a primary would be another.
var (
	hueSatScatter = [hueSatStates]float64{0.16, 0.16, 0.006, 0.003, 0.004, 0.003, 0.005, 0.010, 0.004, 0.03}
	hueSatWide    = [hueSatStates]float64{0.5, 0.5, 0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0.05, 0.4}
	hueSatBounds  = [hueSatStates][2]float64{{-2, 2}, {-2, 2}, {-0.05, 0.05}, {-0.05, 0.05}, {-0.05, 0.05}, {-0.05, 0.05},
		{-0.05, 0.05}, {-0.05, 0.05}, {-0.3, 0.3}, {-1.2, 1.2}}
)

// Bounds of a mixture's state: beyond them the law means nothing.
var (
	boundU        = [2]float64{0.001, 0.63} // u' of an emitter: within the spectral locus
	boundV        = [2]float64{0.012, 0.60} // v': 1/v' explodes below
	boundLn       = [2]float64{-12, 4}      // ln of an emitter's light in model units
	boundExponent = [2]float64{-0.7, 0.7}   // ln of an exponent: a factor of two
	boundDim      = [2]float64{-0.7, 2.5}   // of the part by which a dimmer's exponent is more than the stated one
	boundAmb      = [2]float64{-0.01, 1}    // of full light: a hard end at 0 costs readings
	boundWarm     = [2]float64{-0.3, 1.6}   // warmth 0..1, and a little beyond
)

// What a spec may say.
const (
	mostU       = 0.7 // u', v' beyond any light
	mostV       = 0.65
	leastKelvin = 500.0
	mostKelvin  = 200000.0
	mostTint    = 0.2 // Duv

	mostXY         = 1.0   // CIE 1931
	mostDegrees    = 720.0 // either way, as a profile may say
	mostSaturation = 1.0
)

// What counts as a change worth a word.
const (
	litPart   = 0.02  // of its full light, from which on an emitter's light is spoken of
	wordedFor = 0.005 // ln of light
)

// Guards of the arithmetic.
const (
	stepPart      = 50.0 // of a state's scatter: the step of the differences that make an engine's Jacobian
	leastLight    = 1e-9 // model units: below it a mixture has no colour
	leastDim      = 1e-6 // of full light behind a dimmer
	leastWeight   = 1e-4 // v' of a primary
	leastFraction = 1e-9 // of full saturation
)
