package looptest

import (
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/loop/stage"
)

// What a step costs in the virtual hall, beside the meter's own times: a wire
// and a fade limited to half of full light a second, then the wait until the
// light stands.
const (
	riseLimit  = 0.5 // of full light per second
	settleWait = 450 * time.Millisecond
)

// readingsCap ends a run that does not end by itself.
const readingsCap = 90

// Run is the score of one controller on one case.
type Run struct {
	Readings int     // all, dropped ones too
	Stations int     // how often the lamp was moved
	Seconds  float64 // virtual
	Outcome  solve.Outcome
	Error    float64 // true distance from the target at the end, u'v'
	Best     float64 // true distance of the nearest reachable point; 0 where the target is reachable
	Off      float64 // Error - Best: how much better anybody could have done
	End      colorcalc.UV
	Broken   string // why the run is not a run: a code out of range, no end
	// NIS holds the squared Mahalanobis distance of each accepted reading from
	// its prediction, AxesOf how many axes each of them had.
	NIS    []float64
	AxesOf []int
	// Claim is where the controller believed that the light stands at the end,
	// ClaimSD its standard deviation for each axis; both 0 for those that
	// believe nothing.
	Claim   colorcalc.UV
	ClaimSD float64
	// Cause is the first that was named, or the true one of a faulty lamp if it was named at all;
	// NamedAt is how many readings that took.
	Cause   solve.Cause
	NamedAt int
}

// Claimed is the true error of the claim in units of its own standard
// deviation: for an honest claim its square follows chi squared with 2 degrees
// of freedom. Not a number without a claim.
func (r Run) Claimed() float64 {
	if !(r.ClaimSD > 0) {
		return math.NaN()
	}
	return r.End.Dist(r.Claim) / r.ClaimSD
}

// Honest reports a claim that is true: landed within 1.5 tolerances, or "out of
// reach" said within one tolerance of the best possible.
func (r Run) Honest(tol float64) bool {
	switch r.Outcome {
	case solve.Landed, solve.Predicted:
		return r.Error <= 1.5*tol
	case solve.OutOfReach:
		return r.Off <= tol
	}
	return false
}

// World is one case in time. The plant keeps its warmth between matches.
type World struct {
	Case  *Case
	Plant *stage.Plant
	Meter *stage.Meter
	sent  solve.Drive
}

// Start puts the case's lamp on the stage as it is found.
func (c *Case) Start() *World {
	w := &World{Case: c, Plant: stage.NewPlant(c.Unit, c.Channels), Meter: stage.NewMeter(c.Meter, c.Seed, "bench")}
	w.Plant.Set(c.Found)
	w.Plant.Advance(time.Second)
	w.Plant.Warm(c.Warmth)
	w.sent = slices.Clone(c.Found)
	return w
}

// true light at the mark, lux.
func (w *World) light(l colorcalc.XYZ) colorcalc.XYZ {
	return l.Add(w.Case.Ambient).Scale(w.Case.Lux)
}

// Would is the noise-free chromaticity that codes would give now.
func (w *World) Would(codes []uint32) colorcalc.UV {
	return w.light(w.Plant.Would(codes)).UV()
}

// Match plays one match to its end and scores it.
func (w *World) Match(m Controller, target solve.Target) (r Run) {
	start := w.Plant.Now()
	at := func() time.Duration { return w.Plant.Now() - start }
	for {
		d := m.Next(at())
		f := w.Case.Class.Fault
		if d.Cause != r.Cause && d.Cause != solve.NoCause && (r.Cause == solve.NoCause || f != nil && d.Cause == f.Cause) {
			r.Cause, r.NamedAt = d.Cause, r.Readings
		}
		if d.Action == solve.Done {
			r.Outcome, r.Claim, r.ClaimSD = d.Outcome, d.Nearest, d.PredictedSD
			if r.Outcome == solve.Predicted { // a last step that nobody reads here
				if r.Broken = w.refuse(d.Drive); r.Broken == "" {
					w.move(d.Drive)
					r.Stations++
				}
			}
			break
		}
		if r.Readings >= readingsCap {
			r.Outcome = solve.Unsettled
			break
		}
		if d.Action == solve.Move {
			if r.Broken = w.refuse(d.Drive); r.Broken != "" {
				break
			}
			w.move(d.Drive)
			r.Stations++
		}
		s, ok := w.sample()
		r.Readings++
		if !ok {
			continue
		}
		a := m.Observe(solve.Reading{UV: s.XY.UV(), Y: s.Lux, HasY: !w.Case.NoLevel, SigmaUV: w.Case.ToldSigma,
			SigmaLnY: w.Case.Meter.SigmaLevel, RoundXY: w.Case.Meter.RoundXY, At: at() - w.Case.Meter.Latency, Drive: slices.Clone(w.sent)})
		if a.Axes > 0 && a.Verdict == solve.Accepted {
			r.NIS, r.AxesOf = append(r.NIS, a.Mahalanobis), append(r.AxesOf, a.Axes)
		}
	}
	r.Seconds = at().Seconds()
	r.End = w.light(w.Plant.Light()).UV()
	r.Error = r.End.Dist(target.UV)
	if !w.Case.Reachable || r.Outcome == solve.OutOfReach {
		r.Best = w.nearest(target.UV) // what was called reachable may not be, in 8 bit
	}
	r.Off = max(r.Error-r.Best, 0)
	return r
}

// refuse says what is wrong with a drive that no controller may send.
func (w *World) refuse(d solve.Drive) string {
	if len(d) != len(w.Case.Spec.Channels) {
		return "a drive of the wrong length"
	}
	for i, c := range w.Case.Spec.Channels {
		if d[i] < c.Lo || d[i] > c.Hi {
			return "a code outside its channel's range"
		}
	}
	return ""
}

func (w *World) move(d solve.Drive) {
	before := w.Plant.Light().Y
	w.Plant.Set(d)
	after := w.Plant.Would(d).Y
	ramp := math.Abs(after-before) / w.Case.Full / riseLimit
	w.Plant.Advance(time.Duration(ramp*float64(time.Second)) + settleWait)
	w.sent = slices.Clone(d)
}

// sample averages the light over one window of the meter. Between moves only
// warmth changes, so two looks inside the window are its mean to second order.
func (w *World) sample() (stage.Sample, bool) {
	s := w.Meter.Spec
	q := s.Integration / 4
	w.Plant.Advance(q)
	a := w.Plant.Light()
	w.Plant.Advance(2 * q)
	b := w.Plant.Light()
	w.Plant.Advance(q)
	out, ok := w.Meter.Read(w.light(a.Add(b).Scale(0.5)), w.Plant.Now())
	w.Plant.Advance(s.Latency)
	return out, ok
}

// Play starts the case anew and plays one method on it.
func (c *Case) Play(m Method) Run {
	ctl, err := m.New(c.Spec, c.Target, c.Options)
	if err != nil {
		return Run{Broken: err.Error()}
	}
	return c.Start().Match(ctl, c.Target)
}
