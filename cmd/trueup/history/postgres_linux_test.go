package history

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"testing"
	"time"
)

// cluster is a PostgreSQL server of a test's own, behind a socket in its own folder. It refuses to run as root: then it runs as a user who may do nothing.
type cluster struct {
	t    testing.TB
	bin  string // the folder of its programs
	dir  string
	cmd  *exec.Cmd
	cred *syscall.Credential
}

const clusterPassword = "open/sesame@7"

// newCluster starts a server, or skips the test where none is installed.
func newCluster(t testing.TB) *cluster {
	t.Helper()
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb") // where Debian puts what is not for everybody's path
	if exe, err := exec.LookPath("initdb"); err == nil {
		found = append(found, exe)
	}
	if len(found) == 0 {
		if os.Getenv("TRUEUP_CI") == "1" {
			t.Fatal("no PostgreSQL server is installed (package postgresql)")
		}
		t.Skip("no PostgreSQL server is installed (package postgresql)")
	}
	dir, err := os.MkdirTemp("", "trueup-pg") // not t.TempDir: another user must get in, and the name of a socket must be short
	if err != nil {
		t.Fatal(err)
	}
	c := &cluster{t: t, bin: filepath.Dir(found[len(found)-1]), dir: dir}
	t.Cleanup(func() { c.kill(); os.RemoveAll(dir) })
	if os.Getuid() == 0 {
		nobody, err := user.Lookup("nobody")
		if err != nil {
			t.Fatal(err)
		}
		uid, _ := strconv.Atoi(nobody.Uid)
		gid, _ := strconv.Atoi(nobody.Gid)
		c.cred = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		if err := os.Chown(dir, uid, gid); err != nil {
			t.Fatal(err)
		}
	}
	pw := filepath.Join(dir, "pw")
	if err := os.WriteFile(pw, []byte(clusterPassword+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := c.command("initdb", "-D", dir+"/data", "-U", "hall", "-A", "scram-sha-256", "--pwfile", pw, "-N", "-E", "UTF8", "--locale", "C").CombinedOutput(); err != nil {
		t.Fatalf("initdb: %v\n%s", err, out)
	}
	c.start()
	return c
}

func (c *cluster) command(name string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(c.bin, name), args...)
	cmd.Dir = c.dir
	cmd.Env = append(slices.DeleteFunc(os.Environ(), func(e string) bool { return len(e) > 2 && e[:2] == "PG" }), "HOME="+c.dir)
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: c.cred}
	return cmd
}

// start starts the server and waits until it lets us in.
func (c *cluster) start() {
	c.t.Helper()
	var log bytes.Buffer
	c.cmd = c.command("postgres", "-D", c.dir+"/data", "-k", c.dir, "-c", "listen_addresses=", "-c", "fsync=off", "-c", "max_connections=30", "-c", "shared_buffers=8MB")
	c.cmd.Stderr, c.cmd.WaitDelay = &log, time.Second
	if err := c.cmd.Start(); err != nil {
		c.t.Fatal(err)
	}
	over := make(chan error, 1)
	cmd := c.cmd
	go func() { over <- cmd.Wait() }()
	for tick := time.NewTicker(20 * time.Millisecond); ; {
		s, err := Connect(c.t.Context(), c.access("postgres"))
		if err == nil {
			tick.Stop()
			c.cmd.Cancel = func() error { // once: kill
				err := cmd.Process.Signal(syscall.SIGQUIT) // PostgreSQL 15, 19.5: immediate shutdown, as in a crash
				<-over
				return err
			}
			if err := s.Close(); err != nil {
				c.t.Fatal(err)
			}
			return
		}
		select {
		case err := <-over:
			c.cmd = nil
			c.t.Fatalf("postgres: %v\n%s", err, log.String())
		case <-c.t.Context().Done():
			c.t.Fatal(err)
		case <-tick.C:
		}
	}
}

// kill ends the server as a crash would; nothing is put in order.
func (c *cluster) kill() {
	if c.cmd == nil {
		return
	}
	if c.cmd.Cancel != nil {
		_ = c.cmd.Cancel() // it may be gone already
	} else if c.cmd.Process != nil {
		_ = c.cmd.Process.Kill()
	}
	c.cmd = nil
}

func (c *cluster) access(database string) Access {
	return Access{Address: fmt.Sprintf("postgres:///%s?host=%s", database, c.dir), User: "hall", Password: clusterPassword}
}

// database makes an empty one.
func (c *cluster) database(name string) Access {
	c.t.Helper()
	c.do("postgres", "CREATE DATABASE "+name)
	return c.access(name)
}

// do has somebody else's session carry out statements.
func (c *cluster) do(database string, statements ...string) {
	c.t.Helper()
	s, err := Connect(c.t.Context(), c.access(database))
	if err != nil {
		c.t.Fatal(err)
	}
	defer s.Close()
	for _, q := range statements {
		if _, err := s.db.ExecContext(c.t.Context(), q); err != nil {
			c.t.Fatalf("%s: %v", q, err)
		}
	}
}
