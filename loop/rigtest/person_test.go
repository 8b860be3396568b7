package rigtest

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/loop/stage"
)

// person is a scene of four lamps at two probes whose meter somebody reads. A meter that is steady scatters by little more than its last digit.
func person(tol float64, steady bool) Class {
	c := Class{Name: fmt.Sprintf("%.4f, usual meter", tol), Lamps: 4, Probes: 2, Alike: 2, Person: 5 * time.Second, Tolerance: tol}
	if steady {
		c.Name = fmt.Sprintf("%.4f, steady meter", tol)
	}
	c.Meter = func(m *stage.MeterSpec, d *draws) {
		if m.Outlier, m.Dropout = 0.02, 0; steady { // slips of the pen
			m.SigmaUV = d.between(0.0001, 0.0002)
		}
	}
	return c
}

// persons are those of the table.
func persons() (all []Class) {
	for _, tol := range []float64{0.0005, 0.0010, 0.0020} {
		for _, steady := range []bool{true, false} {
			add := func(name string, change func(c *Class)) {
				c := person(tol, steady)
				c.Name += ", " + name
				change(&c)
				all = append(all, c)
			}
			add("dark", func(*Class) {})
			add("ambient 0.1 walks", func(c *Class) { c.Background, c.Ambient = 0.1, walk })
			add("ambient 1", func(c *Class) { c.Background = 1 })
			add("reference warms", func(c *Class) {
				c.Reference = func(d *draws) stage.Change {
					return stage.Change{Warming: d.towards(0.0035), WarmTime: d.seconds(120, 1200)}
				}
			})
			add("20 s an answer", func(c *Class) { c.Person = 20 * time.Second })
		}
	}
	return all
}

// typedRuns is what came of runs in which a person reads the meter.
type typedRuns struct {
	lamps, landed, inside, beyond int
	asked                         float64 // answers for each lamp, those for dark and reference too
	of                            []int   // answers for each lamp, without those
	failed                        int
	why                           []string // of lamps that did not land
}

func sumTyped(c *Class, runs []Run) (s typedRuns) {
	for _, r := range runs {
		s.asked += float64(r.Asked)
		if r.Err != nil {
			s.failed++
		}
		for i := range r.Lamps {
			l := &r.Lamps[i]
			if s.lamps++; l.Outcome == nil {
				continue
			}
			s.of = append(s.of, l.Outcome.Readings)
			if !l.Outcome.Landed() {
				s.why = append(s.why, fmt.Sprintf("%s, %s after %d: %s", c.Name, l.Outcome.Result, l.Outcome.Readings, l.Outcome.Reason))
				continue
			}
			s.landed++
			if l.Error() <= c.Tolerance {
				s.inside++
			}
			if l.Error() > 1.5*c.Tolerance {
				s.beyond++
			}
		}
	}
	s.asked /= float64(s.lamps)
	slices.Sort(s.of)
	return s
}

// A person at a meter is asked for a few answers a lamp, and for no more of a lamp that no answer can land: background and reference are read as often as
// the tolerance takes, again before a lamp where that spares answers, and a visit ends where it is in vain.
func TestAPersonIsNotAskedInVain(t *testing.T) {
	for _, want := range []struct {
		class  Class
		asked  float64 // answers a lamp at the most
		landed float64 // of the lamps at the least
	}{
		{person(0.0010, true), 16, 0.95},
		{person(0.0010, false), 20, 0.95},
		{person(0.0005, true), 25, 0.85},
	} {
		s := sumTyped(&want.class, want.class.Play(601, 8))
		t.Logf("%s: %d of %d landed, %d inside, %d beyond 1.5 times the tolerance; %.1f answers a lamp, %v", want.class.Name, s.landed, s.lamps, s.inside, s.beyond, s.asked, s.of)
		if s.failed > 0 || s.asked > want.asked || s.of[len(s.of)-1] > 46 || float64(s.landed) < want.landed*float64(s.lamps) || s.beyond > 1 {
			t.Errorf("%s: want at most %.0f answers a lamp, 46 for any, and %.0f %% landed", want.class.Name, want.asked, 100*want.landed)
		}
		for _, why := range s.why {
			if strings.Contains(why, "follow the profile") {
				t.Error(why)
			}
		}
	}
}

// The table of runs in which a person reads the meter, for those who change how much they are asked.
func TestPersonTable(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") == "" {
		t.Skip("set TRUEUP_LONG=1: plays some thousand lamps")
	}
	var b strings.Builder
	b.WriteString("| scene | lamps | landed | inside | beyond 1.5 tol | answers a lamp | of it alone 50/90/most |\n|---|--:|--:|--:|--:|--:|---|\n")
	for _, c := range persons() {
		if !strings.Contains(c.Name, *only) {
			continue
		}
		var runs []Run
		for seed := range *seeds {
			runs = append(runs, c.Play(*first+seed, *rigs)...)
		}
		s := sumTyped(&c, runs)
		n := len(s.of)
		fmt.Fprintf(&b, "| %s | %d | %d | %d | %d | %.1f | %d/%d/%d |\n", c.Name, s.lamps, s.landed, s.inside, s.beyond, s.asked, s.of[n/2], s.of[n*9/10], s.of[n-1])
		if s.failed > 0 {
			t.Errorf("%s: %d runs did not end in order", c.Name, s.failed)
		}
		for _, why := range s.why {
			t.Log(why)
		}
	}
	t.Log("\n" + b.String())
}
