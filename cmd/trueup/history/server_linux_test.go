package history

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"trueup/loop/session"
)

// What several machines share on a PostgreSQL is what the indexes of their folders say, whatever happens to it on the way.
func TestHistoryOnAServer(t *testing.T) {
	if testing.Short() {
		t.Skip("some ten seconds, for a server of its own")
	}
	c := newCluster(t)
	root := folder(t)
	x := open(t, root)
	for name, test := range map[string]func(*testing.T, *cluster, string, *Index){
		"says what the index says":   saysWhatTheIndexSays,
		"many machines at once":      manyMachinesAtOnce,
		"another version beside":     anotherVersionBeside,
		"who is not let in":          whoIsNotLetIn,
		"one who may only read":      oneWhoMayOnlyRead,
		"a server that stands still": aServerThatStandsStill,
	} {
		t.Run(name, func(t *testing.T) { test(t, c, root, x) })
	}
	t.Run("killed in the middle of a write", func(t *testing.T) { killedInTheMiddle(t, c, x) })
}

func open(t *testing.T, root string) *Index {
	t.Helper()
	x, err := Open(t.Context(), root, false)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { x.Close() })
	return x
}

func connect(t *testing.T, a Access) *Server {
	t.Helper()
	s, err := Connect(t.Context(), a)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func send(t *testing.T, x *Index, s *Server) int {
	t.Helper()
	sent, left, err := x.SendTo(t.Context(), s)
	if err != nil || left != 0 {
		t.Fatalf("%d sent, %d left: %v", sent, left, err)
	}
	return sent
}

// dump is all that the tables hold.
func dump(t *testing.T, s *Server) string {
	t.Helper()
	var b strings.Builder
	for _, q := range []string{"SELECT r::text FROM run r ORDER BY 1", "SELECT l::text FROM lamp l ORDER BY 1", "SELECT e::text FROM emitter e ORDER BY 1"} {
		err := s.each(t.Context(), func(rows *sql.Rows) error {
			var line string
			err := rows.Scan(&line)
			fmt.Fprintln(&b, line)
			return err
		}, q)
		if err != nil {
			t.Fatal(err)
		}
	}
	return b.String()
}

func saysWhatTheIndexSays(t *testing.T, c *cluster, _ string, x *Index) {
	s := connect(t, c.database("says"))
	if n := send(t, x, s); n < 10 {
		t.Fatalf("%d runs were sent", n)
	}
	names, err := x.Names(t.Context())
	if err != nil || len(names) < 2 {
		t.Fatalf("%q: %v", names, err)
	}
	if there, err := s.Names(t.Context()); err != nil || !reflect.DeepEqual(there, names) {
		t.Errorf("%q is known there, %q here: %v", there, names, err)
	}
	for _, name := range append(names, "SMALL", "nobody's") {
		here, err := x.Of(t.Context(), name)
		if err != nil {
			t.Fatal(err)
		}
		there, err := s.Of(t.Context(), name)
		if err != nil || len(there) != len(here) {
			t.Fatalf("%s: %d lamps there, %d here: %v", name, len(there), len(here), err)
		}
		// Runs that began in the same moment stand in the order of their ids, which are others.
		key := func(l *Lamp) string { return l.Dir + "\x00" + l.Fixture }
		at := map[string]*Lamp{}
		for i := range here {
			at[key(&here[i])] = &here[i]
		}
		for i := range there {
			if !reflect.DeepEqual(&there[i], at[key(&there[i])]) {
				t.Errorf("%s: %+v there, %+v here", name, there[i], at[key(&there[i])])
			}
		}
	}
	was := dump(t, s)
	if n := send(t, x, s); n != 0 || dump(t, s) != was {
		t.Errorf("%d runs were sent again, and the tables are another: %v", n, dump(t, s) != was)
	}
}

// behind is a copy of a folder of runs in which every other journal had not come as far.
func behind(t *testing.T, root string) string {
	t.Helper()
	dir := t.TempDir()
	found, err := filepath.Glob(filepath.Join(root, "*", session.JournalName))
	if err != nil {
		t.Fatal(err)
	}
	for i, path := range found {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if lines := bytes.SplitAfter(text, []byte("\n")); i%2 == 0 && len(lines) > 8 {
			text = bytes.Join(lines[:len(lines)*2/3], nil)
		}
		name := filepath.Base(filepath.Dir(path))
		if err := errors.Join(os.Mkdir(filepath.Join(dir, name), 0o755), os.WriteFile(filepath.Join(dir, name, session.JournalName), text, 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// Machines that send the same runs and others, some of them as they were an hour ago, leave the same tables side by side as one after the other.
func manyMachinesAtOnce(t *testing.T, c *cluster, root string, x *Index) {
	old := open(t, behind(t, root))
	one, other := connect(t, c.database("one")), connect(t, c.database("other"))
	if send(t, old, one) == 0 || send(t, x, one) == 0 {
		t.Fatal("the journals that went on were not sent again")
	}
	want := dump(t, one)
	if send(t, x, other); send(t, old, other) != 0 || dump(t, other) != want {
		t.Error("what a run had been once has taken the place of what it came to")
	}
	at := c.database("beside")
	machines := []*Index{x, old, open(t, root), open(t, old.root)}
	var wg sync.WaitGroup
	for _, m := range machines {
		wg.Go(func() {
			s, err := Connect(t.Context(), at) // the tables are not there yet: all make them
			if err != nil {
				t.Error(err)
				return
			}
			defer s.Close()
			if _, left, err := m.SendTo(t.Context(), s); err != nil || left != 0 {
				t.Errorf("%d left: %v", left, err)
			}
		})
	}
	wg.Wait()
	if dump(t, connect(t, at)) != want {
		t.Error("side by side the tables came out otherwise than one after the other")
	}
}

func anotherVersionBeside(t *testing.T, c *cluster, _ string, x *Index) {
	at := c.database("versions")
	older := fmt.Sprintf("trueup_history_%d", version-1)
	c.do("versions", "CREATE SCHEMA "+older, "CREATE TABLE "+older+".run (dir TEXT)", "INSERT INTO "+older+".run VALUES ('kept')")
	send(t, x, connect(t, at))
	var kept string
	if err := connect(t, at).db.QueryRow("SELECT dir FROM " + older + ".run").Scan(&kept); err != nil || kept != "kept" {
		t.Errorf("%q is left of the tables of another version: %v", kept, err)
	}
	at = c.database("strange")
	c.do("strange", "ALTER TABLE run RENAME COLUMN entries TO lines")
	if _, left, err := x.SendTo(t.Context(), connect(t, at)); err == nil || left == 0 || !strings.Contains(err.Error(), "not as this program makes them") {
		t.Errorf("tables that somebody changed: %d left, %v", left, err)
	}
}

// A password is taken from where passwords belong, and never said.
func whoIsNotLetIn(t *testing.T, c *cluster, _ string, _ *Index) {
	at := c.database("door")
	open := Access{Address: at.Address, User: at.User}
	for name, let := range map[string]func() Access{
		"wrong": func() Access { return Access{at.Address, at.User, "not-this-one"} },
		"none":  func() Access { return open },
	} {
		if s, err := Connect(t.Context(), let()); err == nil {
			s.Close()
			t.Errorf("%s: let in", name)
		} else if strings.Contains(err.Error(), "not-this-one") || !strings.Contains(err.Error(), "does not let us in") && !strings.Contains(err.Error(), "password") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Connect(t.Context(), c.access("nosuch")); err == nil || !strings.Contains(err.Error(), "create it") {
		t.Errorf("no such database: %v", err)
	}
	file := filepath.Join(t.TempDir(), "pgpass")
	if err := os.WriteFile(file, []byte("*:*:*:hall:"+strings.ReplaceAll(clusterPassword, ":", `\:`)+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PGPASSFILE", file)
	connect(t, open)
	t.Setenv("PGPASSFILE", "/dev/null")
	t.Setenv("PGPASSWORD", clusterPassword)
	connect(t, open)
	t.Setenv("PGUSER", "hall")
	t.Setenv("PGHOST", c.dir)
	t.Setenv("PGDATABASE", "door")
	connect(t, Access{Address: "postgres://"})
}

func oneWhoMayOnlyRead(t *testing.T, c *cluster, _ string, x *Index) {
	at := c.database("reading")
	send(t, x, connect(t, at))
	c.do("reading", "CREATE ROLE guest LOGIN PASSWORD 'guest'", "GRANT USAGE ON SCHEMA "+pgSchema+" TO guest", "GRANT SELECT ON ALL TABLES IN SCHEMA "+pgSchema+" TO guest")
	at.User, at.Password = "guest", "guest"
	s := connect(t, at)
	if all, err := s.Of(t.Context(), "small"); err != nil || len(all) == 0 {
		t.Errorf("%d lamps: %v", len(all), err)
	}
	if n := send(t, x, s); n != 0 {
		t.Errorf("%d were sent", n)
	}
	c.do("reading", "DELETE FROM run")
	if _, left, err := x.SendTo(t.Context(), s); err == nil || left == 0 || !strings.Contains(err.Error(), "the user needs the right") {
		t.Errorf("%d left: %v", left, err)
	}
}

// A server that takes the call and says nothing, or falls silent later, holds nobody for longer than was said.
func aServerThatStandsStill(t *testing.T, c *cluster, _ string, x *Index) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close() // nobody accepts: the system takes the call
	if s, err := Connect(context.Background(), Access{Address: fmt.Sprintf("postgres://hall@%s/x?sslmode=disable&connect_timeout=1", l.Addr())}); err == nil {
		s.Close()
		t.Error("connected to nobody")
	} else if !strings.Contains(err.Error(), "does not answer in time") {
		t.Error(err)
	}
	s := connect(t, c.database("still"))
	var pid int
	if err := s.db.QueryRow("SELECT pg_backend_pid()").Scan(&pid); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	defer syscall.Kill(pid, syscall.SIGCONT)
	ctx, cancel := context.WithTimeout(t.Context(), 3*time.Second) // long enough for the index
	defer cancel()
	if _, left, err := x.SendTo(ctx, s); err == nil || left == 0 || !strings.Contains(err.Error(), "does not answer in time") {
		t.Errorf("%d left: %v", left, err)
	}
}

// A run that was being written when the server died is not there by half, and is sent later.
func killedInTheMiddle(t *testing.T, c *cluster, x *Index) {
	whole := connect(t, c.database("whole"))
	send(t, x, whole)
	want := dump(t, whole)
	at := c.database("killed")
	s := connect(t, at)
	holder := connect(t, at)
	tx, err := holder.db.BeginTx(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tx.Exec("LOCK TABLE emitter IN SHARE MODE"); err != nil { // others may read it
		t.Fatal(err)
	}
	type result struct {
		left int
		err  error
	}
	done := make(chan result, 1)
	go func() {
		_, left, err := x.SendTo(t.Context(), s)
		done <- result{left, err}
	}()
	look := connect(t, c.access("postgres"))
	for waits := 0; waits == 0; { // until it has begun a run and waits in the middle of it
		if err := look.db.QueryRow("SELECT count(*) FROM pg_locks WHERE NOT granted").Scan(&waits); err != nil {
			t.Fatal(err)
		}
		if len(done) > 0 {
			t.Fatalf("%+v: it did not wait", <-done)
		}
	}
	c.kill()
	if r := <-done; r.err == nil || r.left == 0 {
		t.Errorf("%d left: %v", r.left, r.err)
	} else if strings.Contains(r.err.Error(), clusterPassword) {
		t.Error(r.err)
	}
	if _, err := Connect(t.Context(), at); err == nil || !strings.Contains(err.Error(), "can not be reached") {
		t.Errorf("a dead server: %v", err)
	}
	c.start()
	again := connect(t, at)
	if dump(t, again) != "" {
		t.Error("something of a run that was being written is there")
	}
	if send(t, x, again); dump(t, again) != want {
		t.Error("after the server's return the tables are another")
	}
}
