package estimate

// Every figure of the estimate, on one page: unit, source, and how sensitive the
// result is; model/figures.go says how to read it.

// Branches of a reading, as shares of all readings.
const (
	outlierShare   = 0.015 // of readings; tuned [flat]
	outlierDensity = 100.0 // per unit u'v' area: an outlier lies anywhere among colours [flat]
	outlierLn      = 0.8   // per unit ln Y
	outlierLnFirst = 0.13  // the same while the scale between model and meter is unknown
	agreement      = 9.0   // ln of how much less likely an outlier is to repeat itself; tuned [flat]
	breakShare     = 1e-4  // of readings at which a component breaks; tuned [flat]
	breakUV        = 0.02  // u'v', standard deviation of the offset that a broken component gets; tuned [flat]
	breakFar       = 0.1   // the same when the meter insists; tuned
	breakLn        = 0.5   // ln of the level, the same; tuned
	breakBelow     = 3.0   // ln of evidence over that of an outlier, below which a break is thought of; tuned [flat]
	pruneBelow     = 1e-4  // of the whole weight, below which a branch is dropped
	maxComponents  = 8     // kept after a reading
)

// Time.
const (
	longestGap  = 3600.0 // s without a reading, beyond which a lamp does not walk further
	restUnknown = 30.0   // s that a lamp was left alone, where nobody says
)

// The iteration of the filter (Bell and Cathey 1993).
const (
	minIter       = 2     // so that the evidence is that of a solution
	maxIter       = 12    // the last resort: the state is then where it is
	iterEnough    = 0.1   // standard deviations of the reading by which the prediction still moves [flat]
	iterWorse     = 2.0   // standard deviations of the reading by which a step may miss further; beyond, it is halved
	leastVariance = 1e-14 // of any state: below it the arithmetic, not the lamp, speaks
)

// The Gaussian process over the drives of an engine, standard deviations.
const (
	kernelOffset = 0.008 // u'v' at D65; tuned (class "another unit's corner") [flat]
	kernelGain   = 0.08  // u'v' per u'v' from D65; tuned [flat]
	kernelBend   = 0.004 // u'v', the smallest of the sizes that compete; tuned [edge 3.33 3.55]
	bendSizes    = 3     // each with twice the bend of the one before, and e times less likely
	lengthScale  = 0.025 // u'v' over which the bend forgets; tuned [edge 3.65 3.33]
	unsure       = 0.01  // u'v' of a reading that did not fit and was not repeated; tuned [flat]
	leastProcess = 1e-10 // u'v' squared: no drive is known better
	leastFactor  = 1e-9  // of a Cholesky pivot, as its logarithm is taken
	usualLooks   = 64    // drives that need no allocation
)

// The hierarchical prior of the units of a profile.
const (
	typeShare  = 0.35  // of the prior covariance is common to the units of a type, the rest is between units; tuned (third table)
	forget     = 0.97  // the weights of the scatters pass on to the next unit with this, the rest is spread evenly; tuned
	oddUnit    = 0.5   // of the weight that must speak for the profile's own law, for a unit to teach
	leastBatch = 1e-12 // least variance of the mean of a type
)

// scatters are the multiples of the usual unit covariance that compete: as the
// profile's bins, a same-bin batch, one production lot. Tuned.
var scatters = [...]float64{1, 0.3, 0.09}
