package history

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"trueup/loop/session"

	_ "modernc.org/sqlite" // the driver, without C
)

// FileName is the index in the folder of all runs.
const FileName = "history.sqlite"

// version of the tables: an index of another is made anew.
const version = 2

const tables = `
CREATE TABLE IF NOT EXISTS run (dir TEXT PRIMARY KEY, size INTEGER, changed INTEGER, rig TEXT, work TEXT, started INTEGER, complete INTEGER, why TEXT);
CREATE TABLE IF NOT EXISTS lamp (dir TEXT, fixture TEXT, unit TEXT, profile TEXT, probe TEXT, result TEXT, found REAL, now REAL, u REAL, v REAL, sd REAL, lux REAL, readings INTEGER, PRIMARY KEY (dir, fixture));
CREATE TABLE IF NOT EXISTS emitter (dir TEXT, fixture TEXT, place INTEGER, name TEXT, u REAL, v REAL, sduv REAL, lnflux REAL, sd REAL, lnshare REAL, sharesd REAL, PRIMARY KEY (dir, fixture, place));
CREATE INDEX IF NOT EXISTS lamp_unit ON lamp (unit);
CREATE INDEX IF NOT EXISTS run_rig ON run (rig);`

// Index is an open index. It is used by one goroutine.
type Index struct {
	db   *sql.DB
	root string
}

// patience bounds the wait for another program that has the index.
const patience = 5 * time.Second

// Open opens the index of a folder of runs and brings it up to date. anew makes it from nothing.
func Open(ctx context.Context, root string, anew bool) (x *Index, err error) {
	if s, err := os.Stat(root); err != nil || !s.IsDir() {
		return nil, fmt.Errorf("no runs yet: there is no folder %s; a survey or a match with --live makes it, --out names another", root)
	}
	path := filepath.Join(root, FileName)
	if anew {
		for _, tail := range []string{"", "-wal", "-shm", "-journal"} {
			if err := os.Remove(path + tail); err != nil && !errors.Is(err, os.ErrNotExist) {
				return nil, fmt.Errorf("history: %w", err)
			}
		}
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	dsn := (&url.URL{Scheme: "file", Path: filepath.ToSlash(abs)}).String() + fmt.Sprintf("?_pragma=busy_timeout(%d)", patience.Milliseconds())
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, fmt.Errorf("history: %w", err)
	}
	db.SetMaxOpenConns(1)
	x = &Index{db: db, root: root}
	if err = x.ready(ctx); err == nil {
		err = x.refresh(ctx)
	}
	if err != nil {
		db.Close()
		if !anew {
			return Open(ctx, root, true) // it may be broken, or of another version: the journals are the truth
		}
		return nil, fmt.Errorf("history: %s: %w", path, err)
	}
	return x, nil
}

// Close closes the index.
func (x *Index) Close() error { return x.db.Close() }

func (x *Index) ready(ctx context.Context) error {
	var v int
	if err := x.db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&v); err != nil {
		return err
	}
	if v != 0 && v != version {
		return fmt.Errorf("it is of version %d", v)
	}
	_, err := x.db.ExecContext(ctx, tables+fmt.Sprintf("PRAGMA user_version = %d;", version))
	return err
}

// refresh takes in the journals that are new or have changed, and forgets those that are gone.
func (x *Index) refresh(ctx context.Context) error {
	found, err := filepath.Glob(filepath.Join(x.root, "*", session.JournalName))
	if err != nil {
		return err
	}
	known := map[string][2]int64{}
	rows, err := x.db.QueryContext(ctx, "SELECT dir, size, changed FROM run")
	if err != nil {
		return err
	}
	for rows.Next() {
		var dir string
		var k [2]int64
		if err := rows.Scan(&dir, &k[0], &k[1]); err != nil {
			return errors.Join(err, rows.Close())
		}
		known[dir] = k
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return err
	}
	for _, path := range found {
		s, err := os.Stat(path)
		if err != nil || !s.Mode().IsRegular() {
			continue
		}
		dir := filepath.Base(filepath.Dir(path))
		now := [2]int64{s.Size(), s.ModTime().UnixNano()}
		was, have := known[dir]
		delete(known, dir)
		if have && was == now {
			continue
		}
		if err := x.put(ctx, dir, now, read(path)); err != nil {
			return err
		}
	}
	for dir := range known {
		if err := x.put(ctx, dir, [2]int64{}, nil); err != nil {
			return err
		}
	}
	return nil
}

// put replaces what the index holds of a run; nil forgets it.
func (x *Index) put(ctx context.Context, dir string, file [2]int64, r *record) (err error) {
	tx, err := x.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, tx.Rollback())
		}
	}()
	do := func(q string, args ...any) {
		if err == nil {
			_, err = tx.ExecContext(ctx, q, args...)
		}
	}
	for _, t := range []string{"run", "lamp", "emitter"} {
		do("DELETE FROM "+t+" WHERE dir = ?", dir)
	}
	if r != nil {
		do("INSERT INTO run VALUES (?, ?, ?, ?, ?, ?, ?, ?)", dir, file[0], file[1], r.rig, r.work, r.started.UnixNano(), r.complete, r.why)
		for _, l := range r.lamps {
			do("INSERT INTO lamp VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", dir, l.Fixture, l.Unit, l.Profile, l.Probe, l.Result, l.Found, l.Now, l.U, l.V, l.SD, l.Lux, l.Readings)
			for i, e := range l.Emitters {
				do("INSERT INTO emitter VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", dir, l.Fixture, i, e.Name, e.U, e.V, e.SDUV, e.LnFlux, e.SD, e.LnShare, e.ShareSD)
			}
		}
	}
	if err == nil {
		err = tx.Commit()
	}
	return err
}
