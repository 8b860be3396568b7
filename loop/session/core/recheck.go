package core

import (
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/solve"
	"trueup/loop/solve/num"
	"trueup/profiles/printable"
)

// maxRecheckReadings bounds what certainty about one unit may cost.
const maxRecheckReadings = 12

// confidence is what a verdict needs (design: 95 %).
const confidence = 0.95

// recheck reads a unit until it is clear whether it still stands where the
// earlier run left it: within the tolerance of the reference, or, where it was
// out of reach then, of the point it reached. That it has drifted rests on fresh readings alone; that it
// stands may rest on them and the match together, where they agree.
type recheck struct {
	u       *unit
	earlier Standing
	stands  *loop.Arrival
	began   bool
	over    bool
	dim     dim
	uv      []colorcalc.UV
	mean    colorcalc.UV
	sd      float64
	inside  float64       // probability that it stands where it shall, by the fresh readings
	landed  float64       // the same, within the tolerance of the reference
	both    float64       // the same by them and the match together, where the lamp has not moved since
	common  float64       // standard deviation of what all readings have in common: reference and background
	agree   int           // readings that agree with their mean
	stayed  bool          // the fresh readings agree with where it stood
	alike   int           // readings in a row that show the same figures, to the last digit
	shown   Reading       // the last of them
	looks   *lookedBefore // nil: the dark was not asked for
}

// lookedBefore is what was known of the dark when it was asked for since a unit seems to have drifted.
type lookedBefore struct {
	when  time.Duration // it was read last
	under colorcalc.XYZ
	done  bool // what the look has told is taken in
}

func (r *recheck) unit() *unit { return r.u }

func (r *recheck) step(c *Core, in input) want {
	switch {
	case r.over:
		return want{next: true}
	case in.refused != "":
		r.end(c, "", solve.Decision{Outcome: solve.Held, Reason: in.refused})
		return want{next: true}
	case in.arrived != nil:
		r.stands = in.arrived
		c.stood(r.u, Step{Action: "sent", Codes: in.arrived.Sent})
	case in.reading != nil:
		net, w := c.net(in.reading)
		if w != nil {
			r.dim.add(c)
			c.setAside(r.u, in.reading, w.why)
			if r.dim.decides(c) && !c.mayBeStale(r.u, w) {
				r.end(c, "", solve.Decision{Outcome: solve.Held, Reason: w.noLight(r.dim.n)})
				return want{next: true}
			}
			break
		}
		r.dim = dim{}
		r.repeats(in.reading)
		c.keepReading(r.u, in.reading, &net)
		r.looked(c, net)
		if r.judge(c, net); r.clear() {
			found, d := r.verdict(c)
			if found == Drifted && r.looksAtTheDark(c) || r.otherLevel(c, net.Y) {
				break
			}
			r.end(c, found, d)
			return want{next: true}
		}
	case !r.began:
		r.began = true
		r.u.seenBefore = r.earlier.Result == solve.Landed || r.earlier.Result == solve.OutOfReach
		c.visit(r.u)
		c.decided(r.u, Step{Action: "verify", Codes: r.earlier.Codes})
		return want{set: &move{unit: r.u, drive: r.earlier.Codes}}
	}
	return want{read: c.askOf(r.u, r.dim.next(c))}
}

// looksAtTheDark asks for the dark, once, before it is said that the unit has drifted: a light of the room that has changed since the dark was read moves what is left
// of a reading without it as a lamp that drifts does. It tells whether it did.
func (r *recheck) looksAtTheDark(c *Core) bool {
	d := c.background[r.u.Info.Probe]
	if r.looks != nil || d == nil || d.blinks != "" || c.mute(r.u.Info.Probe) || c.cfg.Plan.KeepLit || c.cfg.Plan.HandMeter {
		return false
	}
	r.looks = &lookedBefore{when: d.when, under: d.Mean()}
	d.wanted = true
	return true
}

// repeats counts readings that show the same figures.
func (r *recheck) repeats(in *Reading) {
	if in.UV != r.shown.UV || in.Y != r.shown.Y {
		r.alike = 0
	}
	r.alike++
	r.shown = *in
}

// onHold tells whether no reading of the visit differs from another, of a meter whose repeats do: it is on hold, or sends its last value again, and
// what it shows is of before the visit.
func (r *recheck) onHold(c *Core) bool {
	return r.alike >= max(len(r.uv), leastOutside) && c.noiseAt(r.u.Info.Probe).differs()
}

// What another level than the match left tells of the probe.
const (
	levelStands = 0.1 // ln: by so much lamps change as they warm up or age
	followsBy   = 2   // looks at the dark of a probe that are asked for by that: they have shown that it follows, and the meter was moved, perhaps
)

// otherLevel asks for the dark where the unit gives another level than the match left it at: a meter that was knocked over, covered or put on hold shows every lamp in the
// one light that it sees, and that may be of the colour that all were matched to. It tells whether it did.
func (r *recheck) otherLevel(c *Core, lux float64) bool {
	d := c.background[r.u.Info.Probe]
	if !r.u.seenBefore || !(r.earlier.Lux > 0) || !(lux > 0) || math.Abs(math.Log(lux/r.earlier.Lux)) < levelStands || d == nil || d.follows >= followsBy || !r.looksAtTheDark(c) {
		return false
	}
	d.follows++
	return true
}

// looked forgets, before a reading is judged, those that were made beside another background than it, if a look at the dark has shown that.
func (r *recheck) looked(c *Core, net solve.Reading) {
	d := c.background[r.u.Info.Probe]
	l := r.looks
	if l == nil || l.done || d == nil || d.when == l.when {
		return
	}
	l.done = true
	if effect(c.ref, net.UV.XYZ(net.Y), d.Mean().Sub(l.under)) > slightDark*c.cfg.Plan.Tolerance {
		r.uv = nil
	}
}

// judge takes a reading into the mean and the probability that it lies within
// the tolerance.
func (r *recheck) judge(c *Core, net solve.Reading) {
	r.uv = append(r.uv, net.UV)
	kept := pick(r.uv, byScatter(r.uv))
	r.mean = meanUV(kept)
	r.agree = 0
	for _, uv := range r.uv {
		if uv.Dist(r.mean) <= agreeing*net.SigmaUV {
			r.agree++
		}
	}
	own := net.SigmaUV / math.Sqrt(float64(len(kept)))
	r.common = c.common(r.u.Info.Probe, net.UV.XYZ(net.Y))
	r.inside, r.sd = r.within(c, r.mean, r.shall(c), own)
	r.landed, _ = r.within(c, r.mean, c.ref.UV, own)
	r.both, r.stayed = r.inside, false
	if r.earlier.Result != solve.Landed || !(r.earlier.SD > 0) {
		return
	}
	// Where it stood, and what a lamp's own life since then makes of that.
	v := r.earlier.SD*r.earlier.SD + lifeSince*lifeSince*c.cfg.Plan.Tolerance*c.cfg.Plan.Tolerance
	if r.mean.Dist(r.earlier.UV) > movedAt*math.Sqrt(v+own*own) {
		return
	}
	r.stayed = true
	k := v / (v + own*own)
	uv := colorcalc.UV{U: r.earlier.UV.U + k*(r.mean.U-r.earlier.UV.U), V: r.earlier.UV.V + k*(r.mean.V-r.earlier.UV.V)}
	r.both, _ = r.within(c, uv, c.ref.UV, math.Sqrt(k)*own)
}

// shall is where the lamp shall be: at the reference, or, where it had not landed, where it was left.
func (r *recheck) shall(c *Core) colorcalc.UV {
	if r.earlier.Result != solve.Landed {
		return r.earlier.UV
	}
	return c.ref.UV
}

// within is the probability that a light lies within the tolerance of a point, and the
// standard deviation for each axis of its distance from there; own is that of the light alone.
func (r *recheck) within(c *Core, uv, want colorcalc.UV, own float64) (p, sd float64) {
	sd = math.Hypot(own, r.common)
	return num.InCircle(uv.Dist(want), 0, num.Cov2{UU: sd * sd, VV: sd * sd}, c.cfg.Plan.Tolerance), sd
}

// Figures of the verdicts.
const (
	movedAt   = colorcalc.Radius95 // standard deviations beyond which a lamp has moved
	lifeSince = 0.2                // of the tolerance: standard deviation of a lamp's own life between match and verification
	// A lamp is called drifted by so many readings at the least, of which one that is of another light is
	// outvoted, and at a smaller probability than that of landing: it is looked at after every reading.
	leastOutside = 4
	outside      = 0.01
	agreeing     = 4.0 // standard deviations from the mean within which a reading agrees with it
)

// clear tells whether there is a verdict. One reading alone gives none, however
// clear it looks.
func (r *recheck) clear() bool {
	n := len(r.uv)
	return n >= maxRecheckReadings || n > 1 && r.inside >= confidence || n > 2 && r.both >= confidence || r.agree >= leastOutside && 2*r.agree > n && r.inside <= outside
}

func (r *recheck) verdict(c *Core) (Verdict, solve.Decision) {
	landed := r.earlier.Result == solve.Landed
	d := solve.Decision{Action: solve.Done, Nearest: r.mean, PredictedSD: r.sd, P: r.inside, Distance: r.mean.Dist(c.ref.UV)}
	n := len(r.uv)
	found := Stands
	switch {
	case r.inside <= outside && r.onHold(c):
		return "", solve.Decision{Action: solve.Done, Outcome: solve.Held, Reason: fmt.Sprintf("%d readings show the same figures to the last digit, which this meter's readings of one light do not: "+
			"it is on hold, or repeats what it last read. See that it measures, and verify again", n)}
	case r.inside >= confidence && landed:
		d.Outcome, d.Reason = solve.Landed, fmt.Sprintf("stands within %.4f with %.0f %% confidence, by %s", c.cfg.Plan.Tolerance, 100*r.inside, printable.Count(n, "fresh reading"))
	case r.inside >= confidence && r.landed >= confidence:
		d.Outcome, d.P = solve.Landed, r.landed
		d.Reason = fmt.Sprintf("stands where it did, and within %.4f with %.0f %% confidence, by %s, though it had not landed", c.cfg.Plan.Tolerance, 100*r.landed, printable.Count(n, "fresh reading"))
	case r.inside >= confidence && r.earlier.Result == solve.OutOfReach:
		d.Outcome, d.Reason = solve.OutOfReach, fmt.Sprintf("stands where it did, %.4f off", d.Distance)
	case r.inside >= confidence:
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("stands where it did, %.4f off, and had not landed: run match", d.Distance)
	case landed && r.both >= keepAt:
		d.Outcome, d.P = solve.Landed, r.both
		d.Reason = fmt.Sprintf("stands where the match left it, %.4f off: within %.4f with %.0f %% confidence, by the match and %s together", d.Distance, c.cfg.Plan.Tolerance, 100*r.both, printable.Count(n, "fresh reading"))
	case r.inside <= outside && landed:
		found = Drifted
		d.Outcome, d.Reason = solve.Unsettled, r.movedWords(c, d.Distance)
	case r.inside <= outside && r.landed >= confidence:
		found = Drifted
		d.Outcome, d.P = solve.Landed, r.landed
		d.Reason = fmt.Sprintf("within %.4f with %.0f %% confidence, by %s, though it had not landed and stood elsewhere when it was read last", c.cfg.Plan.Tolerance, 100*r.landed, printable.Count(n, "fresh reading"))
	case r.inside <= outside:
		found = Drifted
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("it had not landed, and now stands elsewhere, %.4f off; run match", d.Distance)
	case r.stayed:
		found = StandsAtEdge
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("at the edge of the tolerance, where the match left it: %.4f off, and the meter can not tell inside from outside (%.0f %%). It has not moved; run match to bring it nearer", d.Distance, 100*r.both)
	default:
		found = AtEdge
		d.Outcome, d.Reason = solve.Unsettled, fmt.Sprintf("at the edge of the tolerance: %.4f off now, and %.4f from where it stood; the meter can not tell inside from outside (%.0f %%). Run match to trim it", d.Distance, r.mean.Dist(r.earlier.UV), 100*r.inside)
	}
	return found, d
}

// What a fixture that is still the same drifts by at the most.
const (
	driftsColour = 0.010 // u'v': half more than the 0.007 that makers of LEDs commonly allow for over a whole life
	driftsLight  = 1.4   // times more or less light: 70 % of the first light is commonly called the end of a life
)

// movedWords says of a fixture that had landed and is outside the tolerance now what has moved, as far as that is known: the reference, or the fixture,
// by so much as a fixture drifts, or by more, which another unit or a filter does.
func (r *recheck) movedWords(c *Core, off float64) string {
	tolerance := c.cfg.Plan.Tolerance
	if c.cfg.Plan.Target.Reference != "" && r.mean.Dist(r.earlier.UV) <= tolerance/2 && r.earlier.UV.Dist(c.ref.UV) > tolerance {
		return fmt.Sprintf("it stands where the match left it, within half the tolerance, and the reference is another light now: %.4f off; run match", off)
	}
	level, seen := "", ", or a filter"
	if last := r.u.tally.last; last != nil && last.Lux > 0 && r.earlier.Lux > 0 {
		if k := last.Lux / r.earlier.Lux; max(k, 1/k) > driftsLight {
			level, seen = fmt.Sprintf(", with %.0f %% of the light that it gave", 100*k), ", a filter, or a meter that was moved"
		}
	}
	if level == "" && r.mean.Dist(r.earlier.UV) <= driftsColour {
		return fmt.Sprintf("it has drifted to %.4f off since it was matched; run match to trim it", off)
	}
	return fmt.Sprintf("it is %.4f off now%s: more than a fixture drifts. Look for another unit in its place, a changed address or mode%s; then run match", off, level, seen)
}

func (r *recheck) end(c *Core, found Verdict, d solve.Decision) {
	r.over = true
	r.u.outcome = c.outcomeOf(r.u, d)
	r.u.outcome.Verdict = found
	c.enter(Entry{Kind: KindVerify, Fixture: r.u.Info.Name, Outcome: r.u.outcome})
}

func (r *recheck) skipped(c *Core, why string) {
	r.end(c, "", solve.Decision{Outcome: solve.Held, Reason: why})
}
