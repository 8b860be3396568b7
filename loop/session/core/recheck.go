package core

import (
	"fmt"
	"math"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/solve"
	"trueup/loop/solve/num"
)

// maxRecheckReadings bounds what certainty about one unit may cost.
const maxRecheckReadings = 12

// confidence is what a verdict needs (design: 95 %).
const confidence = 0.95

// recheck reads a unit until it is clear whether it still stands where the
// earlier run left it: within the tolerance of the reference, or, where it was
// out of reach then, of the point it reached. The verdict rests on the fresh
// readings alone.
type recheck struct {
	u       *unit
	earlier Standing
	stands  *loop.Arrival
	began   bool
	over    bool
	failed  int
	uv      []colorcalc.UV
	mean    colorcalc.UV
	sd      float64
	inside  float64 // probability
}

func (r *recheck) unit() *unit { return r.u }

func (r *recheck) step(c *Core, in input) want {
	switch {
	case r.over:
		return want{next: true}
	case in.refused != "":
		r.end(c, solve.Decision{Outcome: solve.Held, Reason: in.refused})
		return want{next: true}
	case in.arrived != nil:
		r.stands = in.arrived
		c.stood(r.u, Step{Action: "sent", Codes: in.arrived.Sent})
	case in.reading != nil:
		net, w := c.net(in.reading)
		if w != nil {
			r.failed++
			c.setAside(r.u, in.reading, w.why)
			if r.failed == weakReadings {
				r.end(c, solve.Decision{Outcome: solve.Held, Reason: w.noLight()})
				return want{next: true}
			}
			break
		}
		r.failed = 0
		c.keepReading(r.u, in.reading, net)
		if r.judge(c, net); r.clear() {
			r.end(c, r.verdict(c))
			return want{next: true}
		}
	case !r.began:
		r.began = true
		c.visit(r.u)
		c.decided(r.u, Step{Action: "verify", Codes: r.earlier.Codes})
		return want{set: &move{unit: r.u, drive: r.earlier.Codes}}
	}
	return want{read: c.askOf(r.u, 0)}
}

// judge takes a reading into the mean and the probability that it lies within
// the tolerance.
func (r *recheck) judge(c *Core, net solve.Reading) {
	want := c.ref.UV
	if r.earlier.Result != solve.Landed {
		want = r.earlier.UV
	}
	r.uv = append(r.uv, net.UV)
	kept := pick(r.uv, byScatter(r.uv))
	r.mean = meanUV(kept)
	r.sd = math.Hypot(net.SigmaUV/math.Sqrt(float64(len(kept))), c.ref.SigmaUV)
	r.inside = num.InCircle(r.mean.Dist(want), 0, num.Cov2{UU: r.sd * r.sd, VV: r.sd * r.sd}, c.cfg.Plan.Tolerance)
}

// clear tells whether there is a verdict. One reading alone gives none, however
// clear it looks.
func (r *recheck) clear() bool {
	n := len(r.uv)
	return n >= maxRecheckReadings || n > 1 && (r.inside >= confidence || r.inside <= 1-confidence)
}

func (r *recheck) verdict(c *Core) solve.Decision {
	landed := r.earlier.Result == solve.Landed
	d := solve.Decision{Action: solve.Done, Nearest: r.mean, PredictedSD: r.sd, P: r.inside, Distance: r.mean.Dist(c.ref.UV)}
	switch {
	case r.inside >= confidence && landed:
		d.Outcome, d.Reason = solve.Landed, fmt.Sprintf("stands within %.4f with %.0f %% confidence, by %d fresh readings", c.cfg.Plan.Tolerance, 100*r.inside, len(r.uv))
	case r.inside >= confidence:
		d.Outcome, d.Reason = solve.OutOfReach, fmt.Sprintf("stands where it did, %.4f off", d.Distance)
	case r.inside <= 1-confidence && landed:
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("it has drifted to %.4f off since it was matched; run match to trim it", d.Distance)
	case r.inside <= 1-confidence:
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("it had not landed, and now stands elsewhere, %.4f off; run match", d.Distance)
	default:
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("too near the edge of the tolerance to be sure after %d readings (%.0f %%); run match to trim it", len(r.uv), 100*r.inside)
	}
	return d
}

func (r *recheck) end(c *Core, d solve.Decision) {
	r.over = true
	r.u.outcome = c.outcomeOf(r.u, d)
	c.enter(Entry{Kind: KindVerify, Fixture: r.u.Info.Name, Outcome: r.u.outcome})
}

func (r *recheck) skipped(c *Core, why string) {
	r.end(c, solve.Decision{Outcome: solve.Held, Reason: why})
}
