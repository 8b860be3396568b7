package solve

import (
	"slices"

	"trueup/loop/solve/estimate"
)

// readings are kept for second thoughts.
type readings struct {
	count  int // all that were observed, usable or not
	taken  []taken
	unseen []unseen
}

// unseen is a drive at which no light was seen.
type unseen struct {
	drive  Drive
	around []byte // as in [Reading]
}

// taken is a usable reading.
type taken struct {
	r       Reading
	sent    []float64 // its drive as fractions
	d       []float64 // the same, as the light shows it
	verdict Verdict
	moved   bool    // first at its drive
	far     float64 // squared Mahalanobis distance from where it was expected
}

// at counts the readings at a drive since the last move.
func (l *readings) at(codes Drive) (n int) {
	for k := len(l.taken) - 1; k >= 0 && slices.Equal(l.taken[k].r.Drive, codes); k-- {
		n++
	}
	return n
}

// read tells whether a reading was taken at a drive.
func (l *readings) read(codes Drive) bool {
	return slices.ContainsFunc(l.taken, func(t taken) bool { return slices.Equal(t.r.Drive, codes) })
}

// accepted counts the usable readings that fitted.
func (l *readings) accepted() (n int) {
	for i := range l.taken {
		if l.taken[i].verdict == Accepted {
			n++
		}
	}
	return n
}

// agreeing counts the readings at the present drive d that agree with this one.
func (l *readings) agreeing(o *estimate.Obs, d []float64) (n int) {
	for k := len(l.taken) - 1; k >= 0 && slices.Equal(l.taken[k].d, d); k-- {
		if l.taken[k].near(o) {
			n++
		}
	}
	return min(n, mostAgreeing)
}

// near tells whether a reading agrees with another one in colour.
func (t *taken) near(o *estimate.Obs) bool {
	du, dv := t.r.UV.U-o.Z[0], t.r.UV.V-o.Z[1]
	return du*du+dv*dv < agreeSquared*(o.R.UU+o.R.VV)
}

// stale reports whether a reading at another drive has the digits of the last that was taken.
func (l *readings) stale(r *Reading) bool {
	n := len(l.taken)
	if n == 0 {
		return false
	}
	s := &l.taken[n-1].r
	return !slices.Equal(s.Drive, r.Drive) && s.UV == r.UV && s.Y == r.Y
}
