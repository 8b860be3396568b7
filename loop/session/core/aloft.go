package core

import (
	"fmt"
	"math"

	"trueup/colorcalc"
)

// mostAloft readings of one point by two levels are the most that can be asked for: past
// that the light has moved meanwhile.
const mostAloft = 32

// ReadingsByTwoLevels is how many readings tell the colour of one lamp within a tolerance
// with 95 %, when the lamps beside it stay lit and it is read at its level and at a lower
// one: 2.448 σ/d √((1+(1-d)²)·2/n) = tolerance, d = share (1-level). Sigma is the scatter
// of one reading for each axis, u'v'; share is the lamp's part of the light at the probe,
// level the lower of its levels as a part of the upper. The difference of the two readings
// holds the part d of the light, so their noise weighs 1/d in it; 2.448 is colorcalc.Radius95.
func ReadingsByTwoLevels(sigma, tolerance, share, level float64) int {
	d := share * (1 - level)
	if !(d > 0) || !(tolerance > 0) {
		return math.MaxInt32
	}
	k := colorcalc.Radius95 * sigma / (d * tolerance)
	return int(math.Ceil(min(2*k*k*(1+(1-d)*(1-d)), math.MaxInt32)))
}

// harmlessShare is how much light of others, as a part of all light at a probe, does not
// harm a lamp's reading: harm at togetherAt of the tolerance.
func harmlessShare(tolerance float64) float64 { return togetherAt * tolerance / leastBounce }

// AloftWords says why n lamps that stay lit at one probe can not be told apart, and what
// would help: the least level that each may be taken to (keep, a part of its light) is
// too high for two levels, or nothing reads them so.
func AloftWords(n int, tolerance, keep float64) string {
	share := 1 / float64(max(n, 2))
	text := fmt.Sprintf("with people aloft no fixture is put out to measure another, so the probe reads the mixture of %d fixtures; that does no harm only where the others give less than %.1f %% of the light there",
		n, 100*harmlessShare(tolerance))
	if need := ReadingsByTwoLevels(assumedSigmaUV, tolerance, share, keep); need > mostAloft {
		// With n at its most the tolerance goes with the root of the readings.
		wide := tolerance * math.Sqrt(float64(need)/mostAloft)
		text += fmt.Sprintf("; taking each down to %.0f %% in turn would need about %d readings a setting, more than %d: it would do from a tolerance of about %.4f on",
			100*keep, need, mostAloft, wide)
	}
	return text
}

// checkAloft refuses, where no lamp may be put out, lamps of which no probe can tell the
// light. A lamp that a person sets is not sent anything: the person keeps the others off.
func (c *Config) checkAloft() error {
	if !c.Plan.KeepLit || c.Work == Keep || c.Work == Points || c.Work == Rehearse || c.Work == Probe || c.Work == ByHand {
		return nil
	}
	at := map[string][]*Unit{}
	for i := range c.Units {
		if u := &c.Units[i]; !u.Info.ByHand {
			at[u.Info.Probe] = append(at[u.Info.Probe], u)
		}
	}
	for i := range c.Units { // in the order of the rig, so that the words are the same each time
		lamps := at[c.Units[i].Info.Probe]
		sent := 0
		for _, u := range lamps {
			if u.Head >= 0 {
				sent++
			}
		}
		if len(lamps) > 1 && sent > 0 {
			return fmt.Errorf("%s and %s are both lit at %s, and %s; give each a probe of its own, or match them when nobody is aloft",
				lamps[0].Info.Name, lamps[1].Info.Name, atProbe(lamps[0].Info.Probe), AloftWords(len(lamps), c.Plan.Tolerance, aloftKeeps))
		}
	}
	return nil
}

// aloftKeeps is the least part of its light that a lamp keeps with people aloft, unless the
// limits say otherwise: the governor's own default.
const aloftKeeps = 0.5
