package session

import (
	"context"
	"errors"
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// Verify reads the reference and every fixture of an earlier run again, at the
// settings of that run, and moves nothing else. The verdict rests on the fresh
// readings alone.
func (s *Session) Verify(ctx context.Context, previous *Summary) error {
	if err := s.prepare(ctx); err != nil {
		return err
	}
	n := 0
	for _, f := range previous.Fixtures {
		u, ok := findUnit(s.units, f.Name)
		o := f.Final()
		if !ok || !s.ours(u) || o == nil || len(o.After.Codes) != len(u.Rest) {
			continue
		}
		n++
		err := s.recheck(ctx, u, o)
		if errors.Is(err, errNoLight) {
			u.outcome = s.outcomeOf(u, solve.Decision{Outcome: solve.Held, Reason: err.Error()})
			err = s.journal.Append(Entry{Kind: KindVerify, Fixture: u.Info.Name, Outcome: u.outcome})
		}
		if err != nil {
			return s.stopped(ctx, u, err)
		}
	}
	if n == 0 {
		return fmt.Errorf("nothing to verify: the earlier run matched none of the fixtures of this rig")
	}
	return s.journal.Append(Entry{Kind: KindEnd, Note: "verification done"})
}

// maxRecheckReadings bounds what certainty about one unit may cost.
const maxRecheckReadings = 12

// confidence is what a verdict needs (design: 95 %).
const confidence = 0.95

// recheck reads a unit until it is clear whether it still stands where the
// earlier run left it: within the tolerance of the reference, or, where it was
// out of reach then, of the point it reached.
func (s *Session) recheck(ctx context.Context, u *Unit, earlier *Outcome) error {
	want := s.ref.UV
	if earlier.Result != solve.Landed.String() {
		want = earlier.FinalUV
	}
	a, err := s.stand(ctx, u, earlier.After.Codes, "verify")
	if err != nil {
		return err
	}
	rec := &recorder{s: s, u: u}
	var uv []colorcalc.UV
	var mean colorcalc.UV
	var sd, inside float64
	for len(uv) < maxRecheckReadings {
		net, err := s.readAt(ctx, u, a, rec)
		if err != nil {
			return err
		}
		uv = append(uv, net.UV)
		kept, _ := withoutOutliers(uv, make([]float64, len(uv)))
		mean = meanUV(kept)
		sd = math.Hypot(net.SigmaUV/math.Sqrt(float64(len(kept))), s.ref.SigmaUV)
		inside = withinCircle(mean.Dist(want), sd, s.plan.Tolerance)
		if inside >= confidence || inside <= 1-confidence {
			break
		}
	}
	d := solve.Decision{Action: solve.Done, Nearest: mean, PredictedSD: sd, P: inside, Distance: mean.Dist(s.ref.UV)}
	switch {
	case inside >= confidence && earlier.Result == solve.Landed.String():
		d.Outcome, d.Reason = solve.Landed, fmt.Sprintf("stands within %.4f with %.0f %% confidence, by %d fresh readings", s.plan.Tolerance, 100*inside, len(uv))
	case inside >= confidence:
		d.Outcome, d.Reason = solve.OutOfReach, fmt.Sprintf("stands where it did, %.4f off", d.Distance)
	case inside <= 1-confidence:
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("it has drifted to %.4f off since it was matched; run match to trim it", d.Distance)
	default:
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("too near the edge of the tolerance to be sure after %d readings (%.0f %%); run match to trim it", len(uv), 100*inside)
	}
	u.final = a.Sent
	u.outcome = s.outcomeOf(u, d)
	return s.journal.Append(Entry{Kind: KindVerify, Fixture: u.Info.Name, Outcome: u.outcome})
}

// withinCircle is the probability that a point with a normal error of sd per
// axis, estimated at a distance from the centre, lies within a radius: the
// two-dimensional normal integral over a disc, taken in strips.
func withinCircle(distance, sd, radius float64) float64 {
	if !(sd > 0) {
		if distance <= radius {
			return 1
		}
		return 0
	}
	const strips = 400
	sum := 0.0
	for i := range strips {
		x := radius * (2*(float64(i)+0.5)/strips - 1)
		half := math.Sqrt(radius*radius-x*x) / sd
		z := (x - distance) / sd
		sum += math.Exp(-z*z/2) * math.Erf(half/math.Sqrt2)
	}
	return sum * (2 * radius / strips) / (sd * math.Sqrt(2*math.Pi))
}
