package core

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/loop/scene"
	"trueup/loop/solve"
	"trueup/profiles/printable"
)

// Figures of keeping a look true. Parts are of the tolerance.
const (
	keepReadings = 3      // of a passage: one wrong among them is outvoted
	keepMost     = 12     // the same of a noisy meter
	keepSD       = 0.25   // standard deviation of a passage that is worth reading for
	trimFrom     = 0.2    // distance from the aim that is trimmed
	trimSure     = 1.5    // standard deviations of the passage that it must be, too
	trimStep     = 0.0002 // u'v', of one trim: a fifth of what is just seen side by side (CIE TN 001: 0.0011)
	trimCoarse   = 0.0005 // the same where one step of the lamp's codes is more than that
	trimAll      = 0.010  // u'v', of all trims at a probe: past that another light may have come
	trimWarm     = 0.020  // the same where the light has not grown: red loses a third as it warms up, and white moves by 0.015
	grown        = 0.03   // ln, above its least: a lamp that warms up loses light, another one that moves the colour by trimAll adds more
	keepDrift    = 0.15   // of drift that may come about until the next reading
	soonest      = 4 * time.Second
	latest       = 2 * time.Minute
	levelJumps   = 0.06 // ln, between two passages: a lamp, a hand or another light, no drift
	levelGone    = 0.35 // ln, since the look stood
	oddPassages  = 3    // in a row, until it is said
)

// keptLamp is a lamp whose light is kept.
type keptLamp struct {
	unit     *unit
	standing Standing
	trimmer  *solve.Trimmer
	trimming bool
	held     bool        // it stands lit, and takes no trim any more
	to       solve.Drive // of the trim that is on its way
	back     solve.Drive // where it stood before the last trim, until a passage shows what that did
	leaps    int         // of its light at a small step
	stays    bool        // it leapt more than once: it takes no trim any more
}

// follows tells whether a lamp of the probe is left that takes trims.
func (p *kept) follows() bool {
	return slices.ContainsFunc(p.lamps, func(l *keptLamp) bool { return !l.held })
}

// trimmed are the trims of a probe that are on their way.
func (p *kept) trimmed() (look []move) {
	for _, l := range p.lamps {
		if l.trimming {
			look = append(look, move{unit: l.unit, drive: slices.Clone(l.to)})
		}
	}
	return look
}

// kept is a probe and the lamps at it.
type kept struct {
	name       string
	lamps      []*keptLamp
	stood      time.Duration // since when the look stands
	due, after time.Duration // of the next passage; a reading must begin no earlier than after

	got   []solve.Reading // of the present passage
	track *scene.Reference
	shift colorcalc.UV // of all trims so far
	last  colorcalc.UV // of the last one
	home  colorcalc.UV // where the light was before that, untrimmed, while it is taken back; zero: it is not
	first float64      // level when the look stood; 0: the feed tells none
	level float64      // at the last passage that fits
	least float64      // of all that fitted
	odd   int          // passages in a row that do not fit
	doubt string       // why nothing is trimmed; "" for no doubt
	from  colorcalc.UV // where the light must be again before it is trimmed again, untrimmed; zero: where any passage fits
	mute  bool         // its meter is silent
	ends  bool         // it was said that no step brings it nearer

	off     float64 // at the last passage
	sd      float64
	worst   float64
	largest float64 // step of a trim, as predicted
	trims   int
}

// silent takes in that no reading came in time. The lamps stay as they are, the other probes are read on, and this one
// is asked again. However long it is silent, the look stands: a kept look does not need its meter.
func (p *kept) silent(c *Core, why string) {
	if !p.mute {
		p.mute = true
		c.enter(Entry{Kind: KindPause, Note: fmt.Sprintf("PAUSED: %s. The fixtures there stay as they are, and are trimmed again when the meter reads again", why)})
	}
	p.got = nil
	p.odd++
	p.due, p.after = c.now+min(latest, soonest*time.Duration(p.odd)), 0
}

// take takes a reading in and tells whether the passage is complete.
func (p *kept) take(c *Core, r *Reading) bool {
	if p.mute {
		p.mute = false
		c.enter(Entry{Kind: KindPause, Note: atProbe(p.name) + " reads again: the fixtures there are kept true again"})
	}
	net, w := c.net(r)
	m := c.measured(r, net)
	switch {
	case w != nil:
		c.enter(Entry{Kind: KindAside, Fixture: p.alone(), Reading: &m, Note: "set aside: " + w.why})
		net.Y = -1
	case len(p.lamps) > 1: // it is no reading of any one of them
		c.enter(Entry{Kind: KindReading, Reading: &m})
	default:
		c.visit(p.lamps[0].unit)
		c.keepReading(p.lamps[0].unit, r, &net)
	}
	p.got = append(p.got, net)
	n := min(keepMost, max(keepReadings, int(math.Ceil(math.Pow(c.noiseAt(p.name).sigmaUV()/(keepSD*c.cfg.Plan.Tolerance), 2)))))
	return len(p.got) >= n
}

// passage weighs the readings of a passage and says which lamps are to be trimmed, if any.
func (p *kept) passage(c *Core) []move {
	got := p.got
	p.got = nil
	tol := c.cfg.Plan.Tolerance
	var uv []colorcalc.UV
	var at []time.Duration
	var lux []float64
	for _, r := range got {
		if r.Y >= 0 {
			uv, at, lux = append(uv, r.UV), append(at, r.At), append(lux, r.Y)
		}
	}
	near := nearMedian(uv, c.noiseAt(p.name).sigmaUV())
	if len(near) < 2 {
		p.misfit(c, "the readings do not agree, or show no light")
		p.home = colorcalc.UV{} // what came of a step that was taken back is not told any more
		return nil
	}
	uv, at = pick(uv, near), pick(at, near)
	level := 0.0 // the feed tells none
	if told := slices.DeleteFunc(pick(lux, near), func(y float64) bool { return !(y > 0) }); len(told) > 0 {
		level = median(told)
	}
	p.cameBack(c, meanUV(uv), level)
	if p.first == 0 {
		p.first, p.level, p.least = level, level, level
	}
	if p.level > 0 && level > 0 {
		if lnRatio(level, p.level) > levelJumps || lnRatio(level, p.first) > levelGone {
			p.misfit(c, fmt.Sprintf("the level went from %.1f to %.1f lux", p.level, level))
			return p.takeBack(c)
		}
	}
	if p.track != nil && p.odd == 0 {
		was, sd := p.track.Now(c.now)
		was.U, was.V = was.U+p.shift.U, was.V+p.shift.V
		if meanUV(uv).Dist(was) > max(tol, farOff*math.Hypot(sd, c.noiseAt(p.name).sigmaUV()/math.Sqrt(float64(len(uv))))) {
			p.misfit(c, "it reads elsewhere at once") // the next passage tells whether it stays so
			return nil
		}
	}
	c.noiseAt(p.name).again(uv, nil)
	p.follow(c, uv, at)
	if p.doubt == "" && level > 0 {
		p.level, p.least = level, min(p.least, level)
	}
	now, sd := p.track.Now(c.now)
	here := colorcalc.UV{U: now.U + p.shift.U, V: now.V + p.shift.V}
	aim := p.aim(c)
	p.off, p.sd = here.Dist(aim), sd
	p.worst = max(p.worst, p.off)
	p.due = c.now + p.pause(c, sd)
	if p.doubt != "" {
		p.due = c.now + 2*soonest // so that it is trimmed again soon after it is as it was
	}
	p.after = 0
	if p.doubt != "" {
		return p.takeBack(c)
	}
	p.trimmedWell()
	if p.off < max(trimFrom*tol, trimSure*sd) {
		return nil
	}
	return p.trim(c, colorcalc.UV{U: aim.U - here.U, V: aim.V - here.V})
}

// follow takes a passage into the track of the light as it would be without the trims.
func (p *kept) follow(c *Core, uv []colorcalc.UV, at []time.Duration) {
	sigma := c.noiseAt(p.name).sigmaUV()
	for i := range uv {
		uv[i].U -= p.shift.U
		uv[i].V -= p.shift.V
	}
	if p.track == nil {
		p.track = scene.NewReference(meanUV(uv), len(uv), sigma, at[len(at)-1])
		if d := p.offAim(c, uv); d > mostAtFirst*c.cfg.Plan.Tolerance {
			p.from = p.aim(c)
			p.doubts(c, fmt.Sprintf("it reads %.4f from what the match left: something has changed since; run verify", d))
		}
		return
	}
	before, _ := p.track.Now(c.now)
	if p.track.Passage(uv, sigma, at) {
		if p.doubt == "" && c.now-p.stood < warmsFast && p.offAim(c, uv) < mostAtFirst*c.cfg.Plan.Tolerance {
			p.odd = 0
			return
		}
		if p.from == (colorcalc.UV{}) { // what it was while the level was in doubt counts too
			p.from = before
		}
		if p.doubt == "" {
			p.doubts(c, fmt.Sprintf("the light jumped by %.4f: that is no drift", meanUV(uv).Dist(before)))
		}
		return
	}
	switch {
	case p.doubt == "" || p.from == (colorcalc.UV{}):
	case meanUV(uv).Dist(p.from) < c.cfg.Plan.Tolerance:
		p.from = colorcalc.UV{}
		p.trusts(c)
	}
	if p.odd > 0 && p.from == (colorcalc.UV{}) && p.doubt != "" && p.shift.Dist(colorcalc.UV{}) < p.most() {
		// In a long doubt the track knows so little any more that it takes another colour for a drift.
		if meanUV(uv).Dist(before) > mostAtFirst*c.cfg.Plan.Tolerance {
			p.from = before
		} else {
			p.trusts(c)
		}
	}
	p.odd = 0
}

// offAim is how far from the aim readings are that the trims were taken off.
func (p *kept) offAim(c *Core, untrimmed []colorcalc.UV) float64 {
	uv := meanUV(untrimmed)
	return colorcalc.UV{U: uv.U + p.shift.U, V: uv.V + p.shift.V}.Dist(p.aim(c))
}

// mostAtFirst is the distance from the aim, in tolerances, up to which a look that was put back is
// taken for the one that was matched: it may have drifted meanwhile.
const mostAtFirst = 5

// warmsFast is how long a lamp that was lit may move so fast between two passages that it looks like a leap: a small board
// takes most of its heat in a minute. Until then the light is judged as at first.
const warmsFast = time.Minute

// misfit counts a passage that is not of the light that was matched. Nothing is trimmed by it.
func (p *kept) misfit(c *Core, why string) {
	p.due, p.after = c.now+soonest, 0
	if p.odd++; p.odd >= oddPassages && p.doubt == "" {
		p.doubts(c, why)
	}
	if p.odd > oddPassages {
		p.due = c.now + min(latest, soonest*time.Duration(p.odd))
	}
}

func (p *kept) doubts(c *Core, why string) {
	p.doubt = why
	c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("%s is not trimmed any more: %s", atProbe(p.name), why)})
}

func (p *kept) trusts(c *Core) {
	p.doubt = ""
	note := atProbe(p.name) + " reads as before again"
	if slices.ContainsFunc(p.lamps, func(l *keptLamp) bool { return !l.held && !l.stays }) {
		note += ", and is trimmed again"
	}
	c.enter(Entry{Kind: KindLevel, Note: note})
}

// most is how far a probe is trimmed in all.
func (p *kept) most() float64 {
	if p.least > 0 && p.level < p.least*math.Exp(grown) {
		return trimWarm
	}
	return trimAll
}

// pause is how long the light may be left alone: until its drift, at the rates that it has shown,
// has made its place so much less sure. What was lit just now may warm up faster than two passages
// show, and the slower the longer it has stood: it is left for no longer than that.
func (p *kept) pause(c *Core, sd float64) time.Duration {
	d := soonest
	for ; d < latest; d *= 2 {
		_, then := p.track.Now(c.now + d)
		if then*then-sd*sd > keepDrift*keepDrift*c.cfg.Plan.Tolerance*c.cfg.Plan.Tolerance {
			break
		}
	}
	return min(d, latest, max(soonest, c.now-p.stood))
}

// trim plans one small step of every lamp at the probe.
func (p *kept) trim(c *Core, want colorcalc.UV) (look []move) {
	length := want.Dist(colorcalc.UV{})
	if most := p.most(); p.shift.Dist(colorcalc.UV{}) > most {
		p.doubts(c, fmt.Sprintf("it was trimmed by %.4f in all and drifts on: the fixture does not follow, or another light has changed; run verify", most))
		return nil
	}
	part := min(1, trimStep/length)
	var sum colorcalc.UV
	light := 0.0
	for _, l := range p.lamps {
		y := l.standing.Lux
		if !(y > 0) {
			y = 1
		}
		light += y
		if l.held || l.stays {
			continue
		}
		to, moves, ok := l.trimmer.Step(l.unit.at.Sent, colorcalc.UV{U: part * want.U, V: part * want.V})
		if !ok && part < 1 {
			to, moves, ok = l.trimmer.Step(l.unit.at.Sent, want)
		}
		if size := moves.Dist(colorcalc.UV{}); !ok || size > trimCoarse {
			continue
		}
		l.trimming = true
		p.largest = max(p.largest, moves.Dist(colorcalc.UV{}))
		sum.U, sum.V = sum.U+y*moves.U, sum.V+y*moves.V
		c.decided(l.unit, Step{Action: "trim", Codes: to, Words: fmt.Sprintf("%.4f off: a step of %.5f", p.off, moves.Dist(colorcalc.UV{}))})
		l.to, l.back = to, slices.Clone(l.unit.at.Sent)
		look = append(look, move{unit: l.unit, drive: slices.Clone(to)})
	}
	if light > 0 {
		p.last = colorcalc.UV{U: sum.U / light, V: sum.V / light}
		p.shift.U, p.shift.V = p.shift.U+p.last.U, p.shift.V+p.last.V
	}
	if len(look) > 0 {
		p.trims++
		p.ends = false
	} else if !p.ends && p.off > c.cfg.Plan.Tolerance {
		p.ends = true
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("%s is %.4f off, and no fixture there can be trimmed nearer", atProbe(p.name), p.off)})
	}
	return look
}

// alone is the name of the one lamp at a probe; "" where there are several.
func (p *kept) alone() string {
	if len(p.lamps) == 1 {
		return p.lamps[0].unit.Info.Name
	}
	return ""
}

// ended says how the light at the probe was kept. Of lamps that share it nothing is claimed one by one
// but that they could not be kept.
func (p *kept) ended(c *Core) {
	if !p.follows() {
		return
	}
	if p.track == nil {
		p.doubt = atProbe(p.name) + " was never read"
		c.enter(Entry{Kind: KindLevel, Note: p.doubt + ": nothing was kept there"})
		for _, l := range p.lamps {
			if l.held {
				continue
			}
			c.enter(Entry{Kind: KindVerify, Fixture: l.unit.Info.Name, Outcome: c.outcomeOf(l.unit, solve.Decision{Outcome: solve.Unsettled, P: math.NaN(), Reason: p.doubt})})
		}
		return
	}
	if p.mute {
		p.doubt = "its meter was silent at the end"
	}
	words := fmt.Sprintf("%s, the largest step %.5f, %.4f in all; %.4f off at the last passage, %.4f at most", printable.Count(p.trims, "trim"), p.largest, p.shift.Dist(colorcalc.UV{}), p.off, p.worst)
	if name := p.alone(); name == "" {
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("%s, %s together: %s", atProbe(p.name), printable.Count(len(p.lamps), "fixture"), words)})
	} else {
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("%s, %s: %s", atProbe(p.name), name, words)})
	}
	for _, l := range p.lamps {
		if !l.held && (p.doubt != "" || p.alone() != "") {
			c.enter(Entry{Kind: KindVerify, Fixture: l.unit.Info.Name, Outcome: p.outcome(c, l, words)})
		}
	}
}

// outcome is how a lamp was kept, by what its probe reads.
func (p *kept) outcome(c *Core, l *keptLamp, words string) *Outcome {
	now, sd := p.track.Now(c.now)
	d := solve.Decision{Outcome: solve.Landed, Nearest: colorcalc.UV{U: now.U + p.shift.U, V: now.V + p.shift.V}, PredictedSD: sd, P: math.NaN(), Reason: words}
	switch {
	case p.doubt != "":
		d.Outcome, d.Reason = solve.Unsettled, p.doubt
	case l.standing.Result != solve.Landed:
		d.Outcome = l.standing.Result
	case p.off > c.cfg.Plan.Tolerance:
		d.Outcome = solve.Unsettled
	}
	return c.outcomeOf(l.unit, d)
}
