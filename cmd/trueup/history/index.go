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

// Index is an open index. It is used by one goroutine.
type Index struct {
	tables
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
	x = &Index{tables{db, indexWords}, root}
	if err = x.ready(ctx); err == nil {
		err = x.refresh(ctx)
	}
	if err != nil {
		db.Close()
		if !anew && ctx.Err() == nil { // else it was only not waited for: what it has taken in stays
			return Open(ctx, root, true) // it may be broken, or of another version: the journals are the truth
		}
		return nil, fmt.Errorf("history: %s: %w", path, err)
	}
	return x, nil
}

func indexWords(err error) error { return fmt.Errorf("history: %w", err) }

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
	for _, q := range append(schema, fmt.Sprintf("PRAGMA user_version = %d", version)) {
		if _, err := x.db.ExecContext(ctx, q); err != nil {
			return err
		}
	}
	return nil
}

// refresh takes in the journals that are new or have changed, and forgets those that are gone.
func (x *Index) refresh(ctx context.Context) error {
	found, err := filepath.Glob(filepath.Join(x.root, "*", session.JournalName))
	if err != nil {
		return err
	}
	known := map[string][2]int64{}
	err = x.each(ctx, func(rows *sql.Rows) error {
		var dir string
		var k [2]int64
		err := rows.Scan(&dir, &k[0], &k[1])
		known[dir] = k
		return err
	}, "SELECT id, size, changed FROM run")
	if err != nil {
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
		if err := ctx.Err(); err != nil {
			return err
		}
		r := read(path)
		r.dir, r.file = dir, now
		if err := x.put(ctx, dir, r, true); err != nil {
			return err
		}
	}
	for dir := range known {
		if err := x.within(ctx, func(tx *sql.Tx) error { return forget(ctx, tx, dir, true) }); err != nil {
			return err
		}
	}
	return nil
}
