package report

import (
	"io"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session"
)

// runJSON is what a run came to, for other programs. What was not measured is not there.
type runJSON struct {
	Dir       string        `json:"folder,omitempty"`
	Rig       string        `json:"rig"`
	Work      string        `json:"work"`
	Target    string        `json:"target"`
	TargetUV  *uvJSON       `json:"target_uv,omitempty"`
	Tolerance float64       `json:"tolerance_uv"`
	Started   time.Time     `json:"started"`
	Ended     time.Time     `json:"ended"`
	Complete  bool          `json:"complete"`
	Stopped   string        `json:"stopped,omitempty"` // why it ended early
	Readings  int           `json:"readings"`
	Lead      string        `json:"lead"`
	Notes     []string      `json:"notes,omitempty"`
	Unwatched string        `json:"unwatched,omitempty"` // which fixtures may have changed after they were read
	Fixtures  []fixtureJSON `json:"fixtures"`
	Worst     *Pair         `json:"worst_pair,omitempty"`
	Levels    []Uniformity  `json:"levels,omitempty"`
	Points    []pointJSON   `json:"points,omitempty"`
	Against   *Comparison   `json:"comparison,omitempty"`
}

type uvJSON struct {
	U float64 `json:"u_prime"`
	V float64 `json:"v_prime"`
}

type standJSON struct {
	uvJSON
	Delta float64 `json:"delta_uv"`
	SD    float64 `json:"sd_uv,omitempty"`
	Lux   float64 `json:"lux,omitempty"`
	// Computed: not read there, but by what readings at other settings say of it.
	Computed bool `json:"computed,omitempty"`
}

type pointJSON struct {
	Name     string `json:"name"`
	Col      int    `json:"col,omitempty"`
	Row      int    `json:"row,omitempty"`
	Readings int    `json:"readings"`
	standJSON
}

type fixtureJSON struct {
	Name     string     `json:"name"`
	Fixed    bool       `json:"fixed,omitempty"`
	ByHand   bool       `json:"by_hand,omitempty"`
	Result   string     `json:"result"`            // as on the report page
	Verdict  string     `json:"verdict,omitempty"` // of a verification: stands, stands at the edge, at the edge, drifted
	Reason   string     `json:"reason,omitempty"`
	Advice   string     `json:"advice,omitempty"`
	Found    *standJSON `json:"as_found,omitempty"`
	Now      *standJSON `json:"now,omitempty"`
	Words    string     `json:"words,omitempty"`
	Readings int        `json:"readings"`            // those that count
	Aside    int        `json:"set_aside,omitempty"` // those that do not
	Seconds  float64    `json:"seconds,omitempty"`
}

// WriteRunJSON writes what a run came to as one JSON object. dir is the folder of its files; against
// may be nil.
func WriteRunJSON(w io.Writer, dir string, s *session.Summary, against *Comparison) error {
	out := runJSON{Dir: dir, Rig: s.Info.Rig, Work: s.Info.Work, Target: s.Info.Target, Tolerance: s.Info.Tolerance, Started: s.Started, Ended: s.Ended,
		Complete: s.Complete, Stopped: s.Stop, Readings: s.Readings, Lead: Lead(s), Notes: s.Notes, Unwatched: s.Unwatched, Against: against}
	if s.Reference != nil {
		out.TargetUV = &uvJSON{s.Reference.UV.U, s.Reference.UV.V}
	}
	rows := pageRows(s)
	for i := range s.Fixtures {
		f := &s.Fixtures[i]
		x := fixtureJSON{Name: f.Name, Fixed: f.Fixed, ByHand: f.ByHand, Result: rows[i].Result, Reason: rows[i].Reason, Advice: rows[i].Advice,
			Words: rows[i].Words, Found: standOf(foundStand(f), s), Readings: f.Readings.Count, Aside: f.Readings.Aside}
		if o := f.Final(); o != nil {
			x.Now, x.Seconds, x.Verdict = standOf(o.Final, s), o.Seconds, string(o.Verdict)
		}
		out.Fixtures = append(out.Fixtures, x)
	}
	for _, p := range s.Points {
		out.Points = append(out.Points, pointJSON{p.Name, p.Col, p.Row, p.Readings, standJSON{uvJSON: uvJSON{p.UV.U, p.UV.V}, Delta: p.Delta, SD: p.SD, Lux: p.Lux}})
	}
	all := driven(s, Standings(s))
	if len(s.Points) > 0 {
		all = pointStandings(s)
	}
	if p, ok := WorstPair(all); ok {
		out.Worst = &p
	}
	out.Levels = Levels(all)
	return JSON(w, out)
}

func standOf(st *session.Stand, s *session.Summary) *standJSON {
	if st == nil {
		return nil
	}
	j := &standJSON{uvJSON: uvJSON{st.UV.U, st.UV.V}, Delta: st.Delta, SD: st.SD, Lux: st.Lux, Computed: st.Computed}
	if s.Reference != nil && s.Reference.UV != (colorcalc.UV{}) {
		j.Delta = st.UV.Dist(s.Reference.UV)
	}
	return j
}
