package session

import (
	"errors"
	"fmt"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"trueup/dmx"
	"trueup/loop/session/rig"
)

func addr(text string) netip.AddrPort { return netip.MustParseAddrPort(text) }

// Who can be at work beside whom: on the lighting network an installation is one
// source and a universe is one run's; programs of this machine are reached by
// their own port only.
func TestWhichRunsCanBeBesideEachOther(t *testing.T) {
	us := func(u ...dmx.Universe) []dmx.Universe { return u }
	lan := Claim{CID: "a", Network: "n", Universes: us(1, 2)}
	local := Claim{CID: "a", Network: "n", Universes: us(1), Local: []netip.AddrPort{addr("127.0.0.1:7000")}}
	for _, c := range []struct {
		name   string
		change func(*Claim)
		lan    string
		local  string
	}{
		{"the same run again", func(*Claim) {}, "this installation is one source", ""},
		{"another user, the same universe", func(c *Claim) { c.CID, c.Universes = "b", us(9, 2) }, "universe 2", ""},
		{"another user, other universes", func(c *Claim) { c.CID, c.Universes = "b", us(3) }, "", ""},
		{"other universes", func(c *Claim) { c.Universes = us(3) }, "this installation is one source", ""},
		{"another network", func(c *Claim) { c.Network = "m" }, "", ""},
		{"one stage", func(c *Claim) { c.Local = local.Local }, "", "universe 1 of the receiver at 127.0.0.1:7000"},
		{"another stage", func(c *Claim) { c.Local = []netip.AddrPort{addr("127.0.0.1:7001")} }, "", ""},
	} {
		other := lan
		c.change(&other)
		for _, p := range []struct {
			ours Claim
			want string
		}{{lan, c.lan}, {local, c.local}} {
			for _, got := range []string{p.ours.Against(other), other.Against(p.ours)} {
				if (got == "") != (p.want == "") || !strings.Contains(got, p.want) {
					t.Errorf("%s: %q, want %q", c.name, got, p.want)
				}
			}
		}
	}
}

// The second run is told who is at work, and may begin when that one has ended.
func TestARunIsLockedUntilItIsReleased(t *testing.T) {
	dir := t.TempDir()
	r := &rig.Rig{Name: "studio \x1b[2J", Output: rig.Output{Multicast: true}}
	c := NewClaim(r, "a", []dmx.Universe{1}, time.Now())
	release, err := LockRun(dir, c)
	if err != nil {
		t.Fatal(err)
	}
	_, err = LockRun(dir, c)
	if !errors.Is(err, ErrOtherRun) || !strings.Contains(err.Error(), fmt.Sprintf(`(rig "studio \x1b[2J", process %d, since %s, universe 1)`, os.Getpid(), c.Since.Local().Format("15:04:05"))) {
		t.Fatalf("%v", err)
	}
	elsewhere := c
	elsewhere.CID, elsewhere.Universes = "b", []dmx.Universe{2}
	second, err := LockRun(dir, elsewhere)
	if err != nil {
		t.Fatal(err)
	}
	second()
	release()
	release() // once more is no harm
	again, err := LockRun(dir, c)
	if err != nil {
		t.Fatal(err)
	}
	again()
	if left, _ := filepath.Glob(filepath.Join(dir, claimPrefix+"*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

// lockHolder is set in the process that TestTheLockOfADeadRun kills.
const lockHolder = "LOCK_HOLDER_OF_TEST"

// A run that was killed blocks nobody.
func TestTheLockOfADeadRunBlocksNobody(t *testing.T) {
	c := Claim{PID: 1, Rig: "dead", CID: "a", Universes: []dmx.Universe{1}}
	if dir := os.Getenv(lockHolder); dir != "" {
		if _, err := LockRun(dir, c); err != nil {
			t.Fatal(err)
		}
		fmt.Println("locked")
		time.Sleep(time.Minute)
		return
	}
	dir := t.TempDir()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	holder := exec.Command(exe, "-test.run", "^TestTheLockOfADeadRunBlocksNobody$", "-test.v")
	holder.Env = append(os.Environ(), lockHolder+"="+dir)
	out, err := holder.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := holder.Start(); err != nil {
		t.Fatal(err)
	}
	said := ""
	for buf := make([]byte, 100); !strings.Contains(said, "locked"); {
		n, err := out.Read(buf)
		if said += string(buf[:n]); err != nil {
			t.Fatalf("%v after %q", err, said)
		}
	}
	if _, err := LockRun(dir, c); !errors.Is(err, ErrOtherRun) {
		t.Errorf("beside the living one: %v", err)
	}
	holder.Process.Kill()
	holder.Wait()
	release, err := LockRun(dir, c)
	if err != nil {
		t.Fatal(err)
	}
	release()
}

// A gate that leads nowhere is an error, and no hang.
func TestAGateThatCannotBeMadeIsAnError(t *testing.T) {
	dir := t.TempDir()
	if err := os.Symlink(filepath.Join(dir, "nowhere"), filepath.Join(dir, gateName)); err != nil {
		t.Skip(err)
	}
	if _, err := LockRun(dir, Claim{}); err == nil || !strings.Contains(err.Error(), gateName) {
		t.Error(err)
	}
}

// The folder is everybody's: what else lies there, and what it holds, neither
// stops a run nor hangs it nor is followed.
func TestWhatOthersPutIntoTheFolderStopsNoRun(t *testing.T) {
	dir := t.TempDir()
	put := func(name, text string) string {
		path := filepath.Join(dir, claimPrefix+name+".json")
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	put("stale", `{"cid":"a","universes":[1]}`)
	held, err := os.Open(put("nonsense", `{"universes": "all of them"`))
	if err != nil {
		t.Fatal(err)
	}
	defer held.Close()
	if err := lockFile(held); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, claimPrefix+"folder.json"), 0o755); err != nil {
		t.Fatal(err)
	}
	precious := filepath.Join(dir, "precious")
	if err := os.WriteFile(precious, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" {
		if err := os.Symlink(precious, filepath.Join(dir, claimPrefix+"link.json")); err != nil {
			t.Fatal(err)
		}
		if out, err := exec.Command("mkfifo", filepath.Join(dir, claimPrefix+"fifo.json")).CombinedOutput(); err != nil {
			t.Logf("no FIFO here: %v %s", err, out)
		}
	}
	release, err := LockRun(dir, Claim{CID: "a", Universes: []dmx.Universe{1}})
	if err != nil {
		t.Fatal(err)
	}
	release()
	if text, err := os.ReadFile(precious); err != nil || string(text) != "mine" {
		t.Errorf("%q, %v", text, err)
	}
	if _, err := os.Stat(filepath.Join(dir, claimPrefix+"stale.json")); err == nil {
		t.Error("the claim of a dead run was not cleared away")
	}
}
