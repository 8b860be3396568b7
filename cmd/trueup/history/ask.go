package history

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"trueup/loop/solve"
)

// Of lists what became of the lamps of a rig, or of one unit wherever it was, oldest first. Names are
// compared without regard to case. Lamps that a rig file gives no serial are units by the names they have in their rig.
func (x *Index) Of(ctx context.Context, rigOrUnit string) (all []Lamp, err error) {
	rows, err := x.db.QueryContext(ctx, `SELECT r.dir, r.started, r.rig, r.work, l.fixture, l.unit, l.profile, l.probe, l.result, l.found, l.now, l.u, l.v, l.sd, l.lux, l.readings
		FROM lamp l JOIN run r ON r.dir = l.dir WHERE r.rig = ?1 COLLATE NOCASE OR l.unit = ?1 COLLATE NOCASE ORDER BY r.started, r.dir, l.rowid`, rigOrUnit)
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	for rows.Next() {
		var l Lamp
		var ns int64
		if err := rows.Scan(&l.Dir, &ns, &l.Rig, &l.Work, &l.Fixture, &l.Unit, &l.Profile, &l.Probe, &l.Result, &l.Found, &l.Now, &l.U, &l.V, &l.SD, &l.Lux, &l.Readings); err != nil {
			return nil, errors.Join(err, rows.Close())
		}
		l.Started = time.Unix(0, ns)
		all = append(all, l)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	for i := range all {
		if all[i].Emitters, err = x.emitters(ctx, &all[i]); err != nil {
			return nil, fmt.Errorf("history: %w", err)
		}
	}
	return all, nil
}

func (x *Index) emitters(ctx context.Context, l *Lamp) (all []solve.EmitterNow, err error) {
	rows, err := x.db.QueryContext(ctx, "SELECT name, u, v, sduv, lnflux, sd, lnshare, sharesd FROM emitter WHERE dir = ? AND fixture = ? ORDER BY place", l.Dir, l.Fixture)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Err(), rows.Close()) }()
	for rows.Next() {
		var e solve.EmitterNow
		if err := rows.Scan(&e.Name, &e.U, &e.V, &e.SDUV, &e.LnFlux, &e.SD, &e.LnShare, &e.ShareSD); err != nil {
			return nil, err
		}
		all = append(all, e)
	}
	return all, nil
}

// Names lists the rigs and the units that are known.
func (x *Index) Names(ctx context.Context) (names []string, err error) {
	rows, err := x.db.QueryContext(ctx, "SELECT DISTINCT rig FROM run WHERE rig <> '' UNION SELECT DISTINCT unit FROM lamp WHERE unit <> '' ORDER BY 1")
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Err(), rows.Close()) }()
	for rows.Next() {
		var n string
		if err := rows.Scan(&n); err != nil {
			return nil, err
		}
		names = append(names, n)
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
