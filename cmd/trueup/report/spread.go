package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"

	"trueup/colorcalc"
	"trueup/loop/session"
)

// A Standing is where a light stands by measurement: as matched where a run matched it, else as found.
type Standing struct {
	Name, Probe string
	UV          colorcalc.UV
	SD          float64 // of UV, per axis; 0 = not estimated
	Lux         float64 // 0 = the feed tells no level
}

// Standings lists where the fixtures of a run stand now. What was never read is not in it.
func Standings(s *session.Summary) []Standing {
	return standings(s, func(f *session.FixtureSummary) *session.Stand {
		if o := f.Final(); o != nil {
			return o.Final
		}
		return foundStand(f)
	})
}

// AsFound lists how the fixtures of a run were read before anything was matched.
func AsFound(s *session.Summary) []Standing {
	return standings(s, func(f *session.FixtureSummary) *session.Stand {
		if st := foundStand(f); st != nil && !st.Computed {
			return st
		}
		return nil
	})
}

func foundStand(f *session.FixtureSummary) *session.Stand {
	switch {
	case f.Found != nil:
		return &session.Stand{UV: f.Found.UV, SD: f.Found.SigmaUV, Lux: f.Found.Lux}
	case f.Final() != nil:
		return f.Final().Found // a computed one is taken back where the fixture does not land in the end
	}
	return nil
}

func standings(s *session.Summary, of func(*session.FixtureSummary) *session.Stand) []Standing {
	var out []Standing
	for i := range s.Fixtures {
		f := &s.Fixtures[i]
		st := of(f)
		if r := s.Reference; st == nil && s.IsReference(*f) && r.Readings > 0 {
			st = &session.Stand{UV: r.UV, SD: r.SigmaUV, Lux: r.Lux}
		}
		if st != nil {
			out = append(out, Standing{f.Name, f.Probe, st.UV, st.SD, st.Lux})
		}
	}
	return out
}

// A Pair is two lights and how far apart they stand.
type Pair struct {
	A     string  `json:"a"`
	B     string  `json:"b"`
	Delta float64 `json:"delta_uv"`
	SD    float64 `json:"sd_uv,omitempty"` // of their difference, per axis
	Words string  `json:"words"`           // how b differs from a
}

// WorstPair is the two lights that are least alike in colour; ok is false for less than two.
func WorstPair(all []Standing) (p Pair, ok bool) {
	for i, a := range all {
		for _, b := range all[:i] {
			if d := a.UV.Dist(b.UV); !ok || d > p.Delta {
				p, ok = Pair{A: b.Name, B: a.Name, Delta: d, SD: math.Hypot(a.SD, b.SD), Words: colorcalc.Describe(b.UV.XY(), a.UV.XY())}, true
			}
		}
	}
	return p, ok
}

// Uniformity is how even the levels at one probe are.
type Uniformity struct {
	Probe     string  `json:"probe,omitempty"`
	Fixtures  int     `json:"fixtures"`
	Dimmest   string  `json:"dimmest"`
	Least     float64 `json:"least_lux"`
	Brightest string  `json:"brightest"`
	Most      float64 `json:"most_lux"`
	// Ratio is the least over the mean, as uniformity is counted for areas (EN 12464-1).
	Ratio float64 `json:"least_to_mean"`
	Stops float64 `json:"stops"` // from the least to the most
}

// Levels says how even the lights are in level, probe by probe: levels that different probes see
// do not compare. A probe with one light is not in it.
func Levels(all []Standing) []Uniformity {
	var probes []string
	by := map[string][]Standing{}
	for _, s := range all {
		if !(s.Lux > 0) {
			continue
		}
		if by[s.Probe] == nil {
			probes = append(probes, s.Probe)
		}
		by[s.Probe] = append(by[s.Probe], s)
	}
	var out []Uniformity
	for _, p := range probes {
		lit, sum := by[p], 0.0
		if len(lit) < 2 {
			continue
		}
		byLux := func(a, b Standing) int { return cmp.Compare(a.Lux, b.Lux) }
		least, most := slices.MinFunc(lit, byLux), slices.MaxFunc(lit, byLux)
		for _, s := range lit {
			sum += s.Lux
		}
		out = append(out, Uniformity{Probe: p, Fixtures: len(lit), Dimmest: least.Name, Least: least.Lux, Brightest: most.Name, Most: most.Lux,
			Ratio: least.Lux * float64(len(lit)) / sum, Stops: math.Log2(most.Lux / least.Lux)})
	}
	return out
}

// driven leaves out lights that are not the run's to match: a distance from the reference
// is told elsewhere, and its level is not one of the set.
func driven(s *session.Summary, all []Standing) []Standing {
	var out []Standing
	for _, st := range all {
		i := slices.IndexFunc(s.Fixtures, func(f session.FixtureSummary) bool { return f.Name == st.Name })
		if f := s.Fixtures[i]; !f.Fixed && !s.IsReference(f) {
			out = append(out, st)
		}
	}
	return out
}

// spreadOf says in sentences how alike the fixtures of a run are among themselves: the two
// that differ most ("" for less than two), and how even the levels are at each probe.
func spreadOf(s *session.Summary) (pair string, levels []string) {
	all := driven(s, Standings(s))
	if p, ok := WorstPair(all); ok {
		sd := ""
		if p.SD > 0 {
			sd = fmt.Sprintf(" (± %.4f)", p.SD)
		}
		pair = fmt.Sprintf("The two that differ most are %s and %s, %.4f apart%s: the second is %s.", p.A, p.B, p.Delta, sd, p.Words)
	}
	for _, u := range Levels(all) {
		at := ""
		if u.Probe != "" {
			at = " at probe " + u.Probe
		}
		levels = append(levels, fmt.Sprintf("Level%s: from %s lux (%s) to %s lux (%s), %.2f stops; the least is %.0f %% of the mean.", at, luxText(u.Least), u.Dimmest, luxText(u.Most), u.Brightest,
			u.Stops, 100*u.Ratio))
	}
	return pair, levels
}

// WriteSpread writes how alike the fixtures of a run are among themselves, a line for the two that
// differ most and one for each probe's levels.
func WriteSpread(w io.Writer, s *session.Summary) {
	pair, levels := spreadOf(s)
	if pair != "" {
		fmt.Fprintln(w, pair)
	}
	for _, line := range levels {
		fmt.Fprintln(w, line)
	}
}

// luxText is a level to three digits at the least: of little light, too, two levels that differ read differently.
func luxText(lux float64) string {
	if lux >= 100 {
		return fmt.Sprintf("%.0f", lux)
	}
	return fmt.Sprintf("%.3g", lux)
}
