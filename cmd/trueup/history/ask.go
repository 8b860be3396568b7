package history

import (
	"context"
	"database/sql"
	"math"
	"slices"
	"strings"
	"time"

	"trueup/loop/solve"
)

// Of lists what became of the lamps of a rig, or of one unit wherever it was, oldest first. Names are
// compared without regard to case. Lamps that a rig file gives no serial are units by the names they have in their rig.
func (t *tables) Of(ctx context.Context, rigOrUnit string) ([]Lamp, error) {
	all, err := t.lamps(ctx, byRig, fold(rigOrUnit))
	if err != nil {
		return nil, t.words(err)
	}
	return all, nil
}

// Names lists the rigs and the units that are known.
func (t *tables) Names(ctx context.Context) (names []string, err error) {
	err = t.each(ctx, func(rows *sql.Rows) error {
		var n string
		err := rows.Scan(&n)
		names = append(names, n)
		return err
	}, "SELECT DISTINCT rig FROM run WHERE rig <> '' UNION SELECT DISTINCT unit FROM lamp WHERE unit <> '' ORDER BY 1")
	if err != nil {
		return nil, t.words(err)
	}
	return names, nil
}

// Trend is how one emitter of one lamp has changed between the first and the last run that learnt of it.
type Trend struct {
	Lamp    string    `json:"lamp"`
	Emitter string    `json:"emitter"`
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Runs    int       `json:"runs"`
	Share   float64   `json:"share_change"` // of its light beside the other emitters of the lamp, as a factor less 1
	ShareSD float64   `json:"share_change_sd"`
	Moved   float64   `json:"moved_uv"` // of its colour, u'v'
	MovedSD float64   `json:"moved_sd_uv"`
}

// Clear tells whether a change of light stands out of its doubt (two standard deviations).
func (t *Trend) Clear() bool { return math.Abs(math.Log1p(t.Share)) > 2*t.ShareSD }

// key is what makes a lamp of two runs the same: its serial, else its name in its rig. The heads of
// one fixture share its serial: their names end in a number of their own.
func key(l *Lamp) string {
	if l.Unit != "" {
		if i := strings.LastIndexByte(l.Fixture, '/'); i >= 0 {
			return l.Unit + l.Fixture[i:]
		}
		return l.Unit
	}
	return l.Rig + ": " + l.Fixture
}

// emitterNames are the names of a lamp's emitters in the order of the alphabet: a profile may be written in
// another order since, or with other emitters.
func emitterNames(l *Lamp) (names []string) {
	for _, e := range l.Emitters {
		names = append(names, e.Name)
	}
	slices.Sort(names)
	return names
}

// Trends are the changes of all emitters of which two runs or more have learnt, lamp by lamp. Runs of another
// profile of the lamp, or of other emitters, are left out.
func Trends(all []Lamp) []Trend {
	out := []Trend{}
	at := map[string][]*Lamp{}
	var order []string
	for i := range all {
		l := &all[i]
		if len(l.Emitters) == 0 {
			continue
		}
		k := key(l)
		if at[k] == nil {
			order = append(order, k)
		}
		at[k] = append(at[k], l)
	}
	for _, k := range order {
		ls := at[k]
		last := ls[len(ls)-1]
		var same []*Lamp
		for _, l := range ls {
			if l.Profile == last.Profile && slices.Equal(emitterNames(l), emitterNames(last)) {
				same = append(same, l)
			}
		}
		if len(same) < 2 {
			continue
		}
		first := same[0]
		for _, b := range last.Emitters {
			a := first.Emitters[slices.IndexFunc(first.Emitters, func(e solve.EmitterNow) bool { return e.Name == b.Name })]
			out = append(out, Trend{Lamp: k, Emitter: b.Name, From: first.Started, To: last.Started, Runs: len(same),
				Share: math.Expm1(b.LnShare - a.LnShare), ShareSD: math.Hypot(a.ShareSD, b.ShareSD),
				Moved: math.Hypot(b.U-a.U, b.V-a.V), MovedSD: math.Hypot(a.SDUV, b.SDUV)})
		}
	}
	return out
}
