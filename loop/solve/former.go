package solve

import (
	"slices"

	"trueup/colorcalc"
	"trueup/loop/solve/plan"
)

// BeginAt has a match take its first reading at a drive, one code per channel, where the head is known to have stood near the target, although what was
// read of it there is not believed any more: the plan from the profile alone may lead far from there. A drive outside the head's limits is not used.
func (m *Match) BeginAt(codes Drive) { m.first = slices.Clone(codes) }

// backToFormer is the way back to the setting that an earlier visit had landed at, where this one ends
// elsewhere and has not read it nearer there. It is read again then, and the match goes on from
// what it knows by that; it goes back once.
func (m *Match) backToFormer(end Decision) (Decision, bool) {
	if !m.opt.Former || m.retried || end.Action != Done || end.Outcome == Held || len(m.log.taken) == 0 {
		return end, false
	}
	f := &m.log.taken[0]
	if slices.Equal(f.r.Drive, m.stand.codes) || !m.allowed(f.r.Drive) || m.nearerThan(f.r.Drive) {
		return end, false
	}
	m.retried = true
	return m.moveTo(plan.Plan{Codes: f.r.Drive, D: f.d}, "it had landed at another setting, and was not read nearer at this one: back there to read again"), true
}

// nearerThan tells whether the head was read nearer to the target where it stands than at another drive. What
// the model says of either is left out, since it is on trial; what all readings have in
// common, such as the error of the background, weighs on both alike.
func (m *Match) nearerThan(other Drive) bool {
	there, n := m.meanAt(other)
	here, k := m.meanAt(m.stand.codes)
	return k > 0 && (n == 0 || here.Dist(m.target.UV) < there.Dist(m.target.UV))
}

// meanAt is the mean of the n accepted readings at a drive.
func (m *Match) meanAt(codes Drive) (mean colorcalc.UV, n int) {
	for i := range m.log.taken {
		if t := &m.log.taken[i]; t.verdict == Accepted && slices.Equal(t.r.Drive, codes) {
			mean.U += t.r.UV.U
			mean.V += t.r.UV.V
			n++
		}
	}
	if n > 0 {
		mean.U, mean.V = mean.U/float64(n), mean.V/float64(n)
	}
	return mean, n
}
