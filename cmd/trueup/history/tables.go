package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"trueup/loop/solve"
)

// version of the tables. An index of another version is made anew; on a server each version has tables of its own.
const version = 3

// schema is spoken alike by SQLite and by PostgreSQL. A run's id is its folder in the index of a folder, and the digest of its opening on a
// server, where one run may come from several machines. rig_key and unit_key are the names as they are compared.
var schema = []string{
	`CREATE TABLE IF NOT EXISTS run (id TEXT PRIMARY KEY, dir TEXT, digest TEXT, entries BIGINT, learnt BIGINT, size BIGINT, changed BIGINT, rig TEXT, rig_key TEXT, work TEXT, started BIGINT, complete BOOLEAN, why TEXT)`,
	`CREATE TABLE IF NOT EXISTS lamp (run TEXT, fixture TEXT, place BIGINT, unit TEXT, unit_key TEXT, profile TEXT, probe TEXT, result TEXT, found DOUBLE PRECISION, now DOUBLE PRECISION, u DOUBLE PRECISION, v DOUBLE PRECISION, sd DOUBLE PRECISION, lux DOUBLE PRECISION, readings BIGINT, PRIMARY KEY (run, fixture))`,
	`CREATE TABLE IF NOT EXISTS emitter (run TEXT, fixture TEXT, place BIGINT, name TEXT, u DOUBLE PRECISION, v DOUBLE PRECISION, sduv DOUBLE PRECISION, lnflux DOUBLE PRECISION, sd DOUBLE PRECISION, lnshare DOUBLE PRECISION, sharesd DOUBLE PRECISION, PRIMARY KEY (run, fixture, place))`,
	`CREATE INDEX IF NOT EXISTS lamp_unit ON lamp (unit_key)`,
	`CREATE INDEX IF NOT EXISTS run_rig ON run (rig_key)`,
}

const (
	intoRun     = "INSERT INTO run (id, dir, digest, entries, learnt, size, changed, rig, rig_key, work, started, complete, why) VALUES "
	intoLamp    = "INSERT INTO lamp (run, fixture, place, unit, unit_key, profile, probe, result, found, now, u, v, sd, lux, readings) VALUES "
	intoEmitter = "INSERT INTO emitter (run, fixture, place, name, u, v, sduv, lnflux, sd, lnshare, sharesd) VALUES "

	// whereNewer lets a run only be followed by more of itself: a journal only grows, and of equal ones that counts of which more was learnt.
	// So the tables come out the same in whatever order, and however often, machines write them.
	whereNewer = ` ON CONFLICT (id) DO UPDATE SET dir = excluded.dir, digest = excluded.digest, entries = excluded.entries, learnt = excluded.learnt, size = excluded.size,
		changed = excluded.changed, rig = excluded.rig, rig_key = excluded.rig_key, work = excluded.work, started = excluded.started, complete = excluded.complete, why = excluded.why
		WHERE run.entries < excluded.entries OR (run.entries = excluded.entries AND run.learnt < excluded.learnt)`
)

// tables are the same in the index of a folder and on a server.
type tables struct {
	db    *sql.DB
	words func(error) error // says what is wrong with the database
}

// age is how far a journal had come, and of how many lamps the emitters were learnt from it.
type age struct{ entries, learnt int64 }

func (a age) before(b age) bool {
	return a.entries < b.entries || a.entries == b.entries && a.learnt < b.learnt
}

// put keeps a run under an id where it is newer than what is there; anew, in any case.
func (t *tables) put(ctx context.Context, id string, r *record, anew bool) error {
	return t.within(ctx, func(tx *sql.Tx) error {
		if anew {
			if err := forget(ctx, tx, id, true); err != nil {
				return err
			}
		}
		q, args := values(intoRun, [][]any{{id, r.dir, r.digest, r.age.entries, r.age.learnt, r.file[0], r.file[1], r.rig, fold(r.rig), r.work, r.started.UnixNano(), r.complete, r.why}})
		done, err := tx.ExecContext(ctx, q+whereNewer, args...)
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil || n == 0 {
			return err // it is there already
		}
		if err := forget(ctx, tx, id, false); err != nil {
			return err
		}
		var lamps, emitters [][]any
		for i, l := range r.lamps {
			lamps = append(lamps, []any{id, l.Fixture, i, l.Unit, fold(l.Unit), l.Profile, l.Probe, l.Result, l.Found, l.Now, l.U, l.V, l.SD, l.Lux, l.Readings})
			for k, e := range l.Emitters {
				emitters = append(emitters, []any{id, l.Fixture, k, e.Name, e.U, e.V, e.SDUV, e.LnFlux, e.SD, e.LnShare, e.ShareSD})
			}
		}
		return errors.Join(insert(ctx, tx, intoLamp, lamps), insert(ctx, tx, intoEmitter, emitters))
	})
}

// forget takes out what is kept of a run's lamps, and the run itself.
func forget(ctx context.Context, tx *sql.Tx, id string, run bool) error {
	all := []string{"DELETE FROM lamp WHERE run = $1", "DELETE FROM emitter WHERE run = $1"}
	if run {
		all = append(all, "DELETE FROM run WHERE id = $1")
	}
	for _, q := range all {
		if _, err := tx.ExecContext(ctx, q, id); err != nil {
			return err
		}
	}
	return nil
}

// within does something wholly or not at all.
func (t *tables) within(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := t.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if err := do(tx); err != nil {
		_ = tx.Rollback() // it may be gone with the connection: what went wrong first is what counts
		return err
	}
	return tx.Commit()
}

// mostValues keeps one statement well below what either database takes.
const mostValues = 900

func insert(ctx context.Context, tx *sql.Tx, into string, rows [][]any) error {
	for len(rows) > 0 {
		n := min(len(rows), mostValues/len(rows[0]))
		q, args := values(into, rows[:n])
		if _, err := tx.ExecContext(ctx, q, args...); err != nil {
			return err
		}
		rows = rows[n:]
	}
	return nil
}

// values writes rows into one statement. PostgreSQL keeps no text that is not UTF-8 or holds a zero: it is made so here, for both.
func values(into string, rows [][]any) (q string, args []any) {
	var b strings.Builder
	b.WriteString(into)
	for i, row := range rows {
		if i > 0 {
			b.WriteString(", ")
		}
		for k, v := range row {
			b.WriteString([]string{"(", ", "}[min(k, 1)])
			if s, ok := v.(string); ok {
				v = strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\x00", "\uFFFD")
			}
			args = append(args, v)
			fmt.Fprintf(&b, "$%d", len(args))
		}
		b.WriteString(")")
	}
	return b.String(), args
}

// fold is a name as names are compared: without regard to case.
func fold(name string) string { return strings.ToLower(name) }

const (
	byRig    = "r.rig_key = $1 OR l.unit_key = $1"
	byRun    = "r.id = $1"
	fromLamp = " FROM lamp l JOIN run r ON r.id = l.run "
)

// lamps lists lamps with their emitters, oldest run first.
func (t *tables) lamps(ctx context.Context, where, arg string) (all []Lamp, err error) {
	type key struct{ run, fixture string }
	at := map[key]int{}
	err = t.each(ctx, func(rows *sql.Rows) error {
		var k key
		var l Lamp
		var ns int64
		if err := rows.Scan(&k.run, &l.Dir, &ns, &l.Rig, &l.Work, &l.Fixture, &l.Unit, &l.Profile, &l.Probe, &l.Result, &l.Found, &l.Now, &l.U, &l.V, &l.SD, &l.Lux, &l.Readings); err != nil {
			return err
		}
		k.fixture, l.Started = l.Fixture, time.Unix(0, ns)
		at[k] = len(all)
		all = append(all, l)
		return nil
	}, `SELECT r.id, r.dir, r.started, r.rig, r.work, l.fixture, l.unit, l.profile, l.probe, l.result, l.found, l.now, l.u, l.v, l.sd, l.lux, l.readings`+
		fromLamp+"WHERE "+where+" ORDER BY r.started, r.id, l.place", arg)
	if err != nil {
		return nil, err
	}
	err = t.each(ctx, func(rows *sql.Rows) error {
		var k key
		var e solve.EmitterNow
		if err := rows.Scan(&k.run, &k.fixture, &e.Name, &e.U, &e.V, &e.SDUV, &e.LnFlux, &e.SD, &e.LnShare, &e.ShareSD); err != nil {
			return err
		}
		if i, ok := at[k]; ok { // another machine may just have added a run
			all[i].Emitters = append(all[i].Emitters, e)
		}
		return nil
	}, "SELECT e.run, e.fixture, e.name, e.u, e.v, e.sduv, e.lnflux, e.sd, e.lnshare, e.sharesd"+fromLamp+
		"JOIN emitter e ON e.run = l.run AND e.fixture = l.fixture WHERE "+where+" ORDER BY e.run, e.fixture, e.place", arg)
	return all, err
}

// each hands on the rows of a query, one by one.
func (t *tables) each(ctx context.Context, row func(*sql.Rows) error, q string, args ...any) error {
	rows, err := t.db.QueryContext(ctx, q, args...)
	if err != nil {
		return err
	}
	for rows.Next() {
		if err := row(rows); err != nil {
			return errors.Join(err, rows.Close())
		}
	}
	return errors.Join(rows.Err(), rows.Close())
}
