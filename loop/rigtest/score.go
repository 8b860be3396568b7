package rigtest

import (
	"fmt"
	"maps"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"

	"trueup/loop/looptest"
)

// tolerance of the rigs, u'v'.
const tolerance = 0.0010

// Score sums up the lamps of many rigs of one class. Shares are 0..1; not a number where
// there is nothing to count.
type Score struct {
	Class    string
	Rigs     int
	Lamps    int
	Landed   float64    // of all lamps
	Inside   float64    // of the landed: truly within the tolerance
	False    float64    // of the landed: truly beyond 1.5 times the tolerance
	Worst    float64    // largest true error of a landed lamp, u'v'
	Missed   float64    // of the reachable: not landed
	Accused  float64    // of the sound: held, or a cause named
	Named    [2]float64 // of the spoilt: a cause of the class named at all, and within eight readings
	Later    float64    // of the landed: within the tolerance ten minutes after the end
	Claimed  float64    // mean probability that the landed claim of themselves; Inside is what it should be
	Coverage [4]float64 // of the landed: the true error lies within the claim's 50, 90, 95, 99 % circle
	First    [2]float64 // readings to the first outcome, median and 95th percentile
	Readings float64    // of all kinds, for each lamp
	Seconds  float64    // virtual, for each lamp

	Failed  int            // runs that did not end in order
	Why     string         // of the first of them
	NamedAs map[string]int // what not landed lamps were called
}

// Play plays rigs first..first+n-1 of a class, on all processors. The order of the
// result is that of the rigs.
func (c *Class) Play(seed uint64, n int) []Run {
	out := make([]Run, n)
	var all sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := range next {
				out[i] = c.Rig(seed, i).Play()
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	all.Wait()
	return out
}

// soonNamed is how many readings a fault may cost until it is named.
const soonNamed = 8

// levels of the coverage.
var levels = [4]float64{0.50, 0.90, 0.95, 0.99}

// Sum scores runs of one class.
func Sum(c *Class, runs []Run) Score {
	s := Score{Class: c.Name, Rigs: len(runs), NamedAs: map[string]int{}}
	n := counts{as: s.NamedAs, refusable: c.Ambient.Blink > 0 || c.Ambient.Picture > 0 || c.Somebody.times == lastly}
	seconds := 0.0
	asked := 0
	for _, r := range runs {
		asked += r.Asked
		seconds += r.Seconds
		if r.Err != nil {
			if s.Failed++; s.Why == "" {
				s.Why = r.Err.Error()
			}
		}
		for i := range r.Lamps {
			s.Lamps++
			n.add(&r.Lamps[i])
		}
	}
	s.Landed, s.Inside, s.False = share(n.landed, s.Lamps), share(n.inside, n.landed), share(n.beyond, n.landed)
	s.Missed, s.Accused = share(n.missed, n.reachable), share(n.accused, n.sound)
	s.Named, s.Later = [2]float64{share(n.named, n.spoilt), share(n.soon, n.spoilt)}, share(n.later, n.landed)
	s.Worst, s.Claimed = n.worst, n.claimed/float64(n.landed)
	for k := range levels {
		s.Coverage[k] = share(n.covered[k], n.landed)
	}
	s.First = [2]float64{looptest.Quantile(n.first, 0.5), looptest.Quantile(n.first, 0.95)}
	s.Readings, s.Seconds = float64(asked)/float64(s.Lamps), seconds/float64(s.Lamps)
	return s
}

// counts are the lamps of a class, counted.
type counts struct {
	landed, inside, beyond, later int
	reachable, missed             int
	sound, accused                int
	spoilt, named, soon           int
	covered                       [4]int
	first                         []float64
	claimed, worst                float64
	as                            map[string]int // what not landed lamps were called
	refusable                     bool           // to claim nothing is right in this scene, and accuses no lamp
	soundLand                     bool           // a spoilt lamp that could be matched need not land
}

func (n *counts) add(l *Lamp) {
	ok := l.Outcome.Landed()
	cause := accusation(l.Outcome)
	if l.Reachable && !(n.soundLand && l.Spoilt) {
		n.reachable++
		if !ok {
			n.missed++
		}
	}
	n.blame(l)
	switch {
	case l.Outcome == nil:
		n.as["no outcome"]++
		return
	case !ok && cause == "":
		n.as[l.Outcome.Result.String()]++
	case !ok:
		n.as[cause]++
	default:
		n.claim(l)
	}
	n.first = append(n.first, float64(l.First))
}

// blame counts whether the right lamps were named.
func (n *counts) blame(l *Lamp) {
	if l.Spoilt && l.Hidden {
		return
	}
	if !l.Spoilt {
		n.sound++
		if n.accuses(l) {
			n.accused++
		}
		return
	}
	n.spoilt++
	if l.Named > 0 {
		n.named++
	}
	if l.Named > 0 && l.Named <= soonNamed {
		n.soon++
	}
}

// accuses tells whether a sound lamp is said to be at fault.
func (n *counts) accuses(l *Lamp) bool {
	cause := accusation(l.Outcome)
	return !l.Spoilt && cause != "" && !(n.refusable && cause == nothingClaimed)
}

// claim counts whether a landed lamp stands where it says.
func (n *counts) claim(l *Lamp) {
	n.landed++
	n.claimed += l.Outcome.Probability
	n.worst = max(n.worst, l.Error())
	if l.Error() <= tolerance {
		n.inside++
	}
	if l.Later <= tolerance {
		n.later++
	}
	if l.Beyond() {
		n.beyond++
	}
	// The squared distance of two normal axes is exponential with mean 2 (Rayleigh).
	z := l.True.Dist(l.Claimed) / l.SD
	for k, q := range levels {
		if z <= math.Sqrt(-2*math.Log(1-q)) {
			n.covered[k]++
		}
	}
}

func share(n, of int) float64 { return float64(n) / float64(of) }

// Table prints scores as a Markdown table; Relative is against the first of them.
func Table(scores []Score) string {
	var b strings.Builder
	b.WriteString("| class | rigs | lamps | landed % | inside tol % | beyond 1.5 tol % (worst) | reachable not landed % | sound accused % | named %, in 8 | 10 min later in tol % | claimed %, coverage 50/90/95/99 | readings first 50/95, all | s a lamp | × still | not landed |\n")
	b.WriteString("|---|--:|--:|--:|--:|--:|--:|--:|---|--:|---|---|--:|--:|---|\n")
	pc := func(x float64, digits int) string {
		if math.IsNaN(x) {
			return "–"
		}
		return fmt.Sprintf("%.*f", digits, 100*x)
	}
	for _, s := range scores {
		var not []string
		for _, k := range sortedKeys(s.NamedAs) {
			not = append(not, fmt.Sprintf("%s %d", k, s.NamedAs[k]))
		}
		fmt.Fprintf(&b, "| %s | %d | %d | %s | %s | %s (%.4f) | %s | %s | %s, %s | %s | %s: %s/%s/%s/%s | %.0f/%.0f, %.1f | %.1f | %.2f | %s |",
			s.Class, s.Rigs, s.Lamps, pc(s.Landed, 1), pc(s.Inside, 1), pc(s.False, 2), s.Worst, pc(s.Missed, 1), pc(s.Accused, 2), pc(s.Named[0], 0), pc(s.Named[1], 0), pc(s.Later, 0),
			pc(s.Claimed, 1), pc(s.Coverage[0], 0), pc(s.Coverage[1], 0), pc(s.Coverage[2], 0), pc(s.Coverage[3], 0),
			s.First[0], s.First[1], s.Readings, s.Seconds, s.Seconds/scores[0].Seconds, strings.Join(not, ", "))
		if s.Failed > 0 {
			fmt.Fprintf(&b, " %d runs ended early: %s", s.Failed, s.Why)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func sortedKeys(m map[string]int) []string { return slices.Sorted(maps.Keys(m)) }
