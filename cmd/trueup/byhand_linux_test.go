package main

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"trueup/colorcalc"
)

// openPTY makes a pseudo-terminal.
func openPTY(t *testing.T) (master, slave *os.File) {
	t.Helper()
	m, err := os.OpenFile("/dev/ptmx", os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Skipf("no pseudo-terminals here: %v", err)
	}
	t.Cleanup(func() { m.Close() })
	raw, err := m.SyscallConn()
	if err != nil {
		t.Fatal(err)
	}
	var n int
	var cerr error
	if err := raw.Control(func(fd uintptr) {
		if cerr = unix.IoctlSetPointerInt(int(fd), unix.TIOCSPTLCK, 0); cerr == nil {
			n, cerr = unix.IoctlGetInt(int(fd), unix.TIOCGPTN)
		}
	}); err != nil || cerr != nil {
		t.Fatal(err, cerr)
	}
	s, err := os.OpenFile("/dev/pts/"+strconv.Itoa(n), os.O_RDWR|unix.O_NOCTTY, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return m, s
}

// knobLamp is a lamp that is not what its knobs say: its own white lies off, and
// the tint knob moves the temperature a little.
type knobLamp struct {
	kelvin, tint         float64 // as dialled
	gain, offset         float64 // of mired
	green, step, crossed float64 // Duv at 0, Duv a step, mired a step
}

func (l knobLamp) xy(t *testing.T) colorcalc.XY {
	t.Helper()
	mired := l.gain*1e6/l.kelvin + l.offset + l.crossed*l.tint
	xy, err := colorcalc.White(colorcalc.Mired(mired).Kelvin(), colorcalc.Duv(l.green+l.step*l.tint))
	if err != nil {
		t.Fatal(err)
	}
	return xy
}

var (
	setHead = regexp.MustCompile(`^(\w+): set$`)
	setLine = regexp.MustCompile(`^(CCT|G/M|INT) (?:\S+(?: K| %)? -> )?(-?[\d.]+)(?: K| %)?$`)
)

// handRun is a run by hand: three lamps with knobs and a person at a terminal, who
// mistypes once before and once after saying yes, and reads the display as it rounds.
func handRun(t *testing.T) (dir, said string, lamps map[string]*knobLamp) {
	t.Helper()
	master, slave := openPTY(t)
	dir = t.TempDir()
	profile := filepath.Join(moduleRoot(t), "examples/profiles/rushwimble-knob-panel.yaml")
	text := "rig: Interview\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\nfeeds: [{name: hand meter, kind: hand}]\n" +
		"target: {color: D5600, level: 40 %}\ntolerance: 0.0020\nfixtures:\n"
	lamps = map[string]*knobLamp{
		"key":  {gain: 1.03, offset: 5, green: 0.004, step: 0.0003, crossed: 0.10},
		"fill": {gain: 0.97, offset: -4, green: -0.003, step: 0.00025, crossed: -0.05},
		"back": {gain: 1.00, offset: 9, green: 0.002, step: 0.0004, crossed: 0.02},
	}
	for _, n := range []string{"key", "fill", "back"} {
		text += fmt.Sprintf("  - {name: %s, profile: %q, mode: knobs, by_hand: true}\n", n, profile)
	}
	rigFile := filepath.Join(dir, "rig.yaml")
	if err := os.WriteFile(rigFile, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(exe, "byhand", rigFile, "--out", filepath.Join(dir, "out"))
	cmd.Args[0] = "trueup"
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = slave, slave, slave
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	slave.Close()
	var shown bytes.Buffer
	done := make(chan struct{})
	timer := time.AfterFunc(90*time.Second, func() { cmd.Process.Kill() })
	defer timer.Stop()
	go func() { // the person
		defer close(done)
		var line strings.Builder
		var at string
		answers, undone := 0, false
		shows := func() string {
			xy := lamps[at].xy(t)
			return fmt.Sprintf("%.4f %.4f", xy.X, xy.Y)
		}
		say := func(s string) { io.WriteString(master, s+"\n") }
		b := make([]byte, 1)
		for {
			if _, err := master.Read(b); err != nil {
				return // the program has ended
			}
			shown.Write(b)
			if b[0] == '\n' || b[0] == '\r' {
				l := strings.TrimSpace(line.String())
				line.Reset()
				if m := setHead.FindStringSubmatch(l); m != nil {
					at = m[1]
				} else if m := setLine.FindStringSubmatch(l); m != nil && at != "" {
					v, _ := strconv.ParseFloat(m[2], 64)
					switch m[1] {
					case "CCT":
						lamps[at].kelvin = v
					case "G/M":
						lamps[at].tint = v
					}
				}
				continue
			}
			line.WriteByte(b[0])
			switch l := strings.TrimSpace(line.String()); {
			case strings.HasSuffix(l, "x and y):"):
				line.Reset()
				answers++
				switch {
				case answers == 1:
					say("0.3142 0.3553") // a slip of the finger, seen at once
				case answers == 4:
					say("0.3600 0.3700") // and one that is said yes to
				case answers == 5 && !undone:
					undone = true
					say("undo")
				default:
					say(shows())
				}
			case strings.HasSuffix(l, "or type it again:"):
				line.Reset()
				if answers == 1 {
					answers = 2
					say(shows())
				} else {
					say("")
				}
			case strings.HasSuffix(l, "value was wrong):"):
				line.Reset()
				if answers == 4 && !undone {
					undone, answers = true, 5
					say("undo")
				} else {
					say("")
				}
			}
		}
	}()
	err = cmd.Wait()
	<-done
	if err != nil {
		t.Fatalf("%v\n%s", err, shown.String())
	}
	return dir, shown.String(), lamps
}

// Three lamps with knobs and a meter with only a display are matched by a person
// at a terminal, who mistypes once before and once after saying yes, and reads
// the display as it rounds.
func TestByHandRunLands(t *testing.T) {
	dir, said, lamps := handRun(t)
	target, err := colorcalc.Daylight(5600)
	if err != nil {
		t.Fatal(err)
	}
	for name, l := range lamps {
		if d := l.xy(t).UV().Dist(target.UV()); !(d <= 0.0020) || math.IsNaN(d) {
			t.Errorf("%s stands %.4f off\n%s", name, d, said)
		}
	}
	if out := said; strings.Count(out, ": landed, ") != 3 || !strings.Contains(out, "begun anew") {
		t.Errorf("want three landed lamps and one undo:\n%s", out)
	}
	if m, _ := filepath.Glob(filepath.Join(dir, "out", "*", "journal.jsonl")); len(m) != 1 {
		t.Errorf("journals: %v", m)
	}
}
