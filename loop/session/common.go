package session

import (
	"cmp"
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/loop/solve/plan"
)

// A Choice is a colour that all fixtures might be matched to, and what it costs. All of it is
// predicted.
type Choice struct {
	UV      colorcalc.UV
	Off     float64     // from the colour wished for, u'v'
	Reached int         // how many fixtures give it
	Out     []Shortfall // those that do not, the worst first
	Lux     float64     // the brightest level that all which give it can hold at their probes; 0 = not known
	Weakest string      // the fixture that sets Lux
}

// A Shortfall is a fixture that does not give a colour.
type Shortfall struct {
	Fixture string
	Off     float64      // of the nearest colour that it gives, u'v'
	SD      float64      // of that, per axis
	Nearest colorcalc.UV // where it would stand
}

// LikelyBeyond tells whether a colour is likelier beyond a fixture's reach than not, where the nearest point that is predicted lies so
// far off, with a standard deviation of sd per axis.
func LikelyBeyond(off, sd, tolerance float64) bool { return off > max(tolerance, sd) }

// Reaches is what is known of what the fixtures of a rig reach.
type Reaches struct {
	names   []string
	regions []solve.Region
	by      []*core.Core // who knows the fixture best
	Read    int          // fixtures of which readings tell; of the others the profile and what was learnt of its type
	tol     float64
}

// KnownReaches asks of every unit that is sent to the first of the cores that has read it, if it was the
// same type of lamp then, else the last.
func KnownReaches(units []*Unit, reference string, tol float64, known ...*core.Core) (*Reaches, error) {
	r := &Reaches{tol: tol}
	for _, u := range units {
		if u.Head < 0 || u.Info.Name == reference {
			continue
		}
		c := known[len(known)-1]
		for _, k := range known {
			if k.Knows(u.Info.Name) && k.TypeOf(u.Info.Name) == u.Type {
				c = k
				r.Read++
				break
			}
		}
		region, err := c.Reach(u.Info.Name)
		if err != nil {
			return nil, err
		}
		r.names, r.regions, r.by = append(r.names, u.Info.Name), append(r.regions, region), append(r.by, c)
	}
	return r, nil
}

// Fixtures is how many there are.
func (r *Reaches) Fixtures() int { return len(r.names) }

// mostChoices are set beside one another.
const mostChoices = 4

// Choices are the colour wished for, the nearest to it that the most fixtures give, and those
// between that cost fewer of them. The first is the wish; the last is the best common colour.
func (r *Reaches) Choices(wish colorcalc.UV) []Choice {
	out := []Choice{r.Cost(wish, wish)}
	at, most := plan.MostCommon(wish, r.regions)
	if most <= out[0].Reached {
		return out
	}
	for k := max(out[0].Reached+1, most-mostChoices+2); k < most; k++ {
		if uv, ok := plan.Common(wish, r.regions, k); ok {
			out = append(out, r.Cost(uv, wish))
		}
	}
	return slices.CompactFunc(append(out, r.Cost(at, wish)), func(a, b Choice) bool { return a.Reached == b.Reached })
}

// Best is the colour nearest to the wish that the most fixtures give.
func (r *Reaches) Best(wish colorcalc.UV) Choice {
	all := r.Choices(wish)
	return all[len(all)-1]
}

// edgeSlack is the part of the tolerance by which a colour on the edge of what a lamp reaches may
// lie outside it by rounding.
const edgeSlack = 0.01

// Cost is what a colour costs.
func (r *Reaches) Cost(uv, wish colorcalc.UV) Choice {
	c := Choice{UV: uv, Off: uv.Dist(wish), Lux: math.Inf(1)}
	for i, name := range r.names {
		p, err := r.by[i].Foresee(name, uv)
		if off := r.regions[i].Off(uv) - r.regions[i].Slack; off > edgeSlack*r.tol {
			s := Shortfall{Fixture: name, Off: r.regions[i].Off(uv)}
			if err == nil {
				s.SD, s.Nearest = p.SD, p.UV
			}
			c.Out = append(c.Out, s)
			continue
		}
		c.Reached++
		if err != nil {
			continue
		}
		if lux := r.by[i].MostLux(name, p); lux < c.Lux {
			c.Lux, c.Weakest = lux, name
		}
	}
	if math.IsInf(c.Lux, 1) || c.Lux <= 0 {
		c.Lux, c.Weakest = 0, ""
	}
	slices.SortStableFunc(c.Out, func(a, b Shortfall) int { return cmp.Compare(b.Off, a.Off) })
	return c
}
