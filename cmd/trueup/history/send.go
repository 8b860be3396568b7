package history

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"
)

// mostAsked bounds the runs asked about in one query.
const mostAsked = 500

// SendTo sends a server all runs of the index that it does not have, or has not so far, the newest first. What it has is asked of it each time, so that
// nothing is lost with a server that was away, was set back, or is a new one. left counts what was not sent.
func (x *Index) SendTo(ctx context.Context, s *Server) (sent, left int, err error) {
	var runs []record // without size and time of their files, which say nothing elsewhere
	err = x.each(ctx, func(rows *sql.Rows) error {
		var r record
		var ns int64
		if err := rows.Scan(&r.dir, &r.digest, &r.age.entries, &r.age.learnt, &r.rig, &r.work, &ns, &r.complete, &r.why); err != nil {
			return err
		}
		r.started = time.Unix(0, ns)
		runs = append(runs, r)
		return nil
	}, "SELECT dir, digest, entries, learnt, rig, work, started, complete, why FROM run WHERE digest <> '' ORDER BY started DESC")
	if err != nil {
		return 0, 0, x.words(err)
	}
	var new []record
	for i := 0; i < len(runs); i += mostAsked {
		part := runs[i:min(i+mostAsked, len(runs))]
		known, err := s.ages(ctx, part)
		if err != nil {
			return 0, len(new) + len(runs) - i, s.words(err)
		}
		for _, r := range part {
			if a, ok := known[r.digest]; !ok || a.before(r.age) {
				new = append(new, r)
			}
		}
	}
	for i := range new {
		r := &new[i]
		if r.lamps, err = x.lamps(ctx, byRun, r.dir); err != nil {
			return sent, len(new) - sent, x.words(err)
		}
		if err := s.put(ctx, r.digest, r, false); err != nil {
			return sent, len(new) - sent, s.words(err)
		}
		sent++
	}
	return sent, 0, nil
}

// ages is how far a server has runs, by their digest.
func (s *Server) ages(ctx context.Context, runs []record) (map[string]age, error) {
	known := map[string]age{}
	var marks []string
	var args []any
	for i, r := range runs {
		marks = append(marks, fmt.Sprintf("$%d", i+1))
		args = append(args, r.digest)
	}
	err := s.each(ctx, func(rows *sql.Rows) error {
		var id string
		var a age
		err := rows.Scan(&id, &a.entries, &a.learnt)
		known[id] = a
		return err
	}, "SELECT id, entries, learnt FROM run WHERE id IN ("+strings.Join(marks, ", ")+")", args...)
	return known, err
}
