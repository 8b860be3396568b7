package site

import (
	"encoding/json"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trueup/cmd/trueup/page"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/core"
)

// broker is a real broker on a port of its own, which can die and come back.
type broker struct {
	t          *testing.T
	conf, port string
	run        *exec.Cmd
}

func newBroker(t *testing.T) *broker {
	t.Helper()
	for _, name := range []string{"mosquitto", "mosquitto_pub", "mosquitto_sub"} {
		if _, err := exec.LookPath(name); err != nil {
			if os.Getenv("TRUEUP_CI") == "1" {
				t.Fatalf("%s is not installed", name)
			}
			t.Skipf("%s is not installed", name)
		}
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	l.Close()
	b := &broker{t: t, port: port, conf: filepath.Join(t.TempDir(), "broker.conf")}
	if err := os.WriteFile(b.conf, []byte("listener "+port+" 127.0.0.1\nallow_anonymous true\npersistence false\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(b.die)
	return b
}

func (b *broker) live() {
	b.t.Helper()
	b.run = exec.Command("mosquitto", "-c", b.conf)
	if err := b.run.Start(); err != nil {
		b.t.Fatal(err)
	}
	for end := time.Now().Add(10 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		if c, err := net.Dial("tcp", "127.0.0.1:"+b.port); err == nil {
			c.Close()
			return
		} else if time.Now().After(end) {
			b.t.Fatal(err)
		}
	}
}

func (b *broker) die() {
	if b.run != nil {
		b.run.Process.Kill()
		b.run.Wait()
		b.run = nil
	}
}

// kept is what a stranger who asks now is given of a topic.
func (b *broker) kept(topic string) string {
	out, _ := exec.Command("mosquitto_sub", "-h", "127.0.0.1", "-p", b.port, "-t", topic, "-C", "1", "-W", "5").Output()
	return strings.TrimSpace(string(out))
}

func (b *broker) say(topic, text string) {
	b.t.Helper()
	c := exec.Command("mosquitto_pub", "-h", "127.0.0.1", "-p", b.port, "-r", "-q", "1", "-t", topic, "-s")
	c.Stdin = strings.NewReader(text)
	if out, err := c.CombinedOutput(); err != nil {
		b.t.Fatal(err, string(out))
	}
}

// machine is a place on the broker with a board that shows the others.
func (b *broker) machine(name string) (*Site, *page.Board) {
	b.t.Helper()
	at, err := feed.NewBroker("mqtt://127.0.0.1:"+b.port+"/hall/trueup", feed.Secret{})
	if err != nil {
		b.t.Fatal(err)
	}
	s, err := Open(b.t.Context(), Config{Broker: at, Machine: name})
	if err != nil {
		b.t.Fatal(err)
	}
	board := page.NewBoard("rig of "+name, "e", nil)
	s.Show(board)
	return s, board
}

// until waits for what a board shows of the others.
func until(t *testing.T, b *page.Board, what string, is func([]page.Elsewhere) bool) {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		all := b.Now().Top.Elsewhere
		if is(all) {
			return
		}
		if time.Now().After(end) {
			t.Fatalf("%s: never; it shows %+v", what, all)
		}
	}
}

// Machines of a site hear how the runs of the others go, though the broker comes late, dies and returns without
// its memory; one that leaves, or is cut off, is seen to be gone; and no run ever waits for the broker.
func TestMachinesOfASiteHearOfEachOther(t *testing.T) {
	b := newBroker(t)
	left, board := b.machine("left")
	began := time.Now()
	for i := range 2000 { // no broker is there, and it holds nobody up
		left.Entry(session.Entry{Kind: core.KindReading, Fixture: fmt.Sprint(i)})
	}
	if d := time.Since(began); d > 2*time.Second {
		t.Errorf("2000 entries without a broker took %v", d)
	}
	right, other := b.machine("right")
	for life := range 2 {
		b.live()
		board.Top(func(t *page.Top) { t.Phase, t.Done, t.Of = page.Working, life+1, 9 })
		until(t, other, "left works", func(all []page.Elsewhere) bool {
			return len(all) == 1 && all[0].Online && all[0].Machine == "left" && all[0].Phase == page.Working && all[0].Done == life+1 && all[0].Rig == "rig of left"
		})
		until(t, board, "right is idle", func(all []page.Elsewhere) bool { return len(all) == 1 && all[0].Online && all[0].Phase == page.Idle })
		if got := b.kept("hall/trueup/left/online"); got != "online" {
			t.Errorf("online says %q", got)
		}
		var top page.Top
		if err := json.Unmarshal([]byte(b.kept("hall/trueup/left/run")), &top); err != nil || top.Done != life+1 || top.Elsewhere != nil {
			t.Errorf("run says %+v, %v", top, err)
		}
		if life == 0 {
			b.die()
		}
	}
	left.Close()
	until(t, other, "left has gone", func(all []page.Elsewhere) bool { return len(all) == 1 && !all[0].Online })
	if got := b.kept("hall/trueup/left/online"); got != "offline" {
		t.Errorf("after closing, online says %q", got)
	}
	right.Close()
}

// What strangers put on the broker is bounded and made printable, and moves nothing.
func TestStrangersOnTheBrokerAreOnlyShown(t *testing.T) {
	b := newBroker(t)
	b.live()
	s, board := b.machine("here")
	b.say("hall/trueup/evil/run", `{"rig":"\u001b[2Jboo\u202e","phase":"working","done":3,"of":1,"question":{"id":1},"operator":{"id":"x"}}`)
	b.say("hall/trueup/junk/run", `{"rig":`)
	b.say("hall/trueup/long/run", `{"rig":"`+strings.Repeat("x", mostSaid)+`"}`)
	b.say("hall/trueup/here/run", `{"rig":"not mine"}`)
	for i := range mostMachines + 10 {
		b.say(fmt.Sprintf("hall/trueup/m%d/online", i), "online")
	}
	until(t, board, "strangers", func(all []page.Elsewhere) bool { return len(all) == mostMachines })
	for _, e := range board.Now().Top.Elsewhere {
		if strings.ContainsAny(e.Rig, "\x1b\u202e") || len(e.Rig) > 100 || e.Machine == "here" || e.Rig == "not mine" {
			t.Errorf("%+v", e)
		}
	}
	if top := board.Now().Top; top.Rig != "rig of here" || top.Phase != page.Idle || top.Question != nil || top.Operator != nil {
		t.Errorf("a stranger changed what this machine shows of itself: %+v", top)
	}
	s.Close()
}

// Names that would change where things are published are refused.
func TestNamesAndRootsThatAreNone(t *testing.T) {
	for _, name := range []string{"", "a/b", "a+", "#", "$SYS", "a\nb", strings.Repeat("x", 81)} {
		if err := (Config{Machine: name}).Check(); err == nil {
			t.Errorf("machine %q is taken", name)
		}
	}
	for _, root := range []string{"a/#", "+/b", "a/", "$SYS/x"} {
		if err := (Config{Machine: "m", Broker: feed.Broker{Topic: root}}).Check(); err == nil {
			t.Errorf("root %q is taken", root)
		}
	}
}
