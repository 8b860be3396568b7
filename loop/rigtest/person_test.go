package rigtest

import (
	"flag"
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"trueup/loop/stage"
)

var personRigs = flag.Int("person", 12, "rigs of each scene in the table of a person at the meter")

// steady is a meter of usual digits that hardly scatters.
func steady(m *stage.MeterSpec, d *draws) { m.SigmaUV, m.Outlier, m.Dropout = d.between(0.0001, 0.0002), 0.02, 0 }

func typed(m *stage.MeterSpec, d *draws) { m.Outlier, m.Dropout = 0.02, 0 }

func persons() []Class {
	var all []Class
	warms := func(d *draws) stage.Change {
		return stage.Change{Warming: d.towards(0.0035), WarmTime: d.seconds(120, 1200)}
	}
	for _, tol := range []float64{0.0005, 0.0010, 0.0020} {
		for _, m := range []struct {
			name string
			f    func(m *stage.MeterSpec, d *draws)
		}{{"steady", steady}, {"usual", typed}} {
			name := func(s string) string { return fmt.Sprintf("%.4f, %s meter, %s", tol, m.name, s) }
			c := Class{Lamps: 4, Probes: 2, Alike: 2, Person: 5 * time.Second, Tolerance: tol, Meter: m.f}
			add := func(s string, f func(c *Class)) {
				n := c
				n.Name = name(s)
				f(&n)
				all = append(all, n)
			}
			add("dark", func(*Class) {})
			add("ambient .1 walks", func(c *Class) { c.Background, c.Ambient = 0.1, walk })
			add("ambient 1, steady", func(c *Class) { c.Background = 1 })
			add("warming reference", func(c *Class) { c.Reference = warms })
			add("slow answers", func(c *Class) { c.Person = 20 * time.Second })
		}
	}
	return all
}

// What a person is asked.
func TestPersonTable(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") == "" {
		t.Skip("set TRUEUP_LONG=1")
	}
	fmt.Println("| scene | lamps | landed | inside | beyond | answers a lamp | of a lamp 50/90/most | failed |")
	for _, c := range persons() {
		var lamps, landed, inside, beyond, failed, asked int
		var of []int
		for seed := range *seeds {
			for _, r := range c.Play(*first+seed, *personRigs) {
				asked += r.Asked
				if r.Err != nil {
					failed++
				}
				for _, l := range r.Lamps {
					lamps++
					if l.Outcome == nil {
						continue
					}
					of = append(of, l.Outcome.Readings)
					if l.Outcome.Landed() {
						landed++
						if l.Error() <= c.Tolerance {
							inside++
						}
						if l.Error() > 1.5*c.Tolerance {
							beyond++
						}
					} else if testing.Verbose() {
						t.Logf("%s: %s %s after %d: %s", c.Name, l.Name, l.Outcome.Result, l.Outcome.Readings, l.Outcome.Reason)
					}
				}
			}
		}
		slices.Sort(of)
		n := len(of)
		fmt.Printf("| %s | %d | %d | %d | %d | %.1f | %d/%d/%d | %d |\n", c.Name, lamps, landed, inside, beyond, float64(asked)/float64(lamps), of[n/2], of[n*9/10], of[n-1], failed)
	}
}
