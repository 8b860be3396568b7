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
	resize(t, s, 240) // tests look for what is said, not for where it was folded
	return m, s
}

// resize gives a terminal so many columns.
func resize(t *testing.T, terminal *os.File, columns uint16) {
	t.Helper()
	if err := unix.IoctlSetWinsize(int(terminal.Fd()), unix.TIOCSWINSZ, &unix.Winsize{Row: 40, Col: columns}); err != nil {
		t.Fatal(err)
	}
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

// handRig writes a rig of three lamps with knobs and a meter with only a display, and says what the lamps are.
func handRig(t *testing.T, dir string) (rigFile string, lamps map[string]*knobLamp) {
	t.Helper()
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
	rigFile = filepath.Join(dir, "rig.yaml")
	if err := os.WriteFile(rigFile, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return rigFile, lamps
}

// handPerson sits at a terminal, turns the knobs and reads the display as it rounds.
type handPerson struct {
	t        *testing.T
	lamps    map[string]*knobLamp
	slips    bool // mistypes once before and once after saying yes
	killAt   int  // the answer at which the power goes; 0: never
	shown    bytes.Buffer
	at       string
	answers  int
	undone   bool
	terminal *os.File
}

func (p *handPerson) say(s string) { io.WriteString(p.terminal, s+"\n") }

func (p *handPerson) shows() string {
	xy := p.lamps[p.at].xy(p.t)
	return fmt.Sprintf("%.4f %.4f", xy.X, xy.Y)
}

// reads takes in a whole line.
func (p *handPerson) reads(l string) {
	if m := setHead.FindStringSubmatch(l); m != nil {
		p.at = m[1]
	} else if m := setLine.FindStringSubmatch(l); m != nil && p.at != "" {
		v, _ := strconv.ParseFloat(m[2], 64)
		switch m[1] {
		case "CCT":
			p.lamps[p.at].kelvin = v
		case "G/M":
			p.lamps[p.at].tint = v
		}
	}
}

// answer answers a question, and tells whether it was one.
func (p *handPerson) answer(l string) bool {
	switch {
	case strings.HasSuffix(l, "or none if it has no figures; skip or undo):"):
		p.answers++
		if !strings.HasPrefix(l, p.at+": the meter shows (") {
			p.t.Errorf("%q is asked where the light of %s is to be read", l, p.at)
		}
		switch {
		case p.slips && p.answers == 1:
			p.say("0.3142 0.3553") // a slip of the finger, seen at once
		case p.slips && p.answers == 4:
			p.say("0.3600 0.3700") // and one that is said yes to
		case p.slips && p.answers == 5 && !p.undone:
			p.undone = true
			p.say("undo")
		default:
			p.say(p.shows())
		}
	case strings.HasSuffix(l, "or type it again:"):
		if p.slips && p.answers == 1 {
			p.answers = 2
			p.say(p.shows())
		} else {
			p.say("")
		}
	case strings.HasSuffix(l, "value was wrong):"):
		if p.slips && p.answers == 4 && !p.undone {
			p.undone, p.answers = true, 5
			p.say("undo")
		} else {
			p.say("")
		}
	default:
		return false
	}
	return true
}

// works runs the program with a person at its terminal, to its end or until the power goes.
func (p *handPerson) works(dir string, args ...string) error {
	p.t.Helper()
	master, slave := openPTY(p.t)
	p.terminal = master
	exe, err := os.Executable()
	if err != nil {
		p.t.Fatal(err)
	}
	cmd := exec.Command(exe, args...)
	cmd.Args[0] = "trueup"
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = slave, slave, slave
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := cmd.Start(); err != nil {
		p.t.Fatal(err)
	}
	slave.Close()
	done := make(chan struct{})
	timer := time.AfterFunc(longWait, func() { cmd.Process.Kill() })
	defer timer.Stop()
	go func() {
		defer close(done)
		var line strings.Builder
		b := make([]byte, 1)
		for {
			if _, err := master.Read(b); err != nil {
				return // the program has ended
			}
			p.shown.Write(b)
			if b[0] == '\n' || b[0] == '\r' {
				p.reads(strings.TrimSpace(line.String()))
				line.Reset()
				continue
			}
			line.WriteByte(b[0])
			l := strings.TrimSpace(line.String())
			if p.killAt > 0 && p.answers == p.killAt && strings.HasSuffix(l, ":") {
				cmd.Process.Kill()
				continue
			}
			if p.answer(l) {
				line.Reset()
			}
		}
	}()
	err = cmd.Wait()
	<-done
	return err
}

// handRun is a run by hand, with a person who mistypes twice.
func handRun(t *testing.T) (dir, said string, lamps map[string]*knobLamp) {
	t.Helper()
	dir = t.TempDir()
	rigFile, lamps := handRig(t, dir)
	p := &handPerson{t: t, lamps: lamps, slips: true}
	if err := p.works(dir, "byhand", rigFile, "--out", filepath.Join(dir, "out")); err != nil {
		t.Fatalf("%v\n%s", err, p.shown.String())
	}
	return dir, p.shown.String(), lamps
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

// A run by hand that loses its power in the middle of a question is gone on with: lamps that had landed are not asked
// about again, and all of them land.
func TestByHandRunIsResumed(t *testing.T) {
	target, err := colorcalc.Daylight(5600)
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []int{1, 3, 5} {
		dir := t.TempDir()
		rigFile, lamps := handRig(t, dir)
		p := &handPerson{t: t, lamps: lamps, killAt: at}
		if err := p.works(dir, "byhand", rigFile, "--out", filepath.Join(dir, "out")); err == nil {
			t.Fatalf("it was not killed at answer %d:\n%s", at, p.shown.String())
		}
		before := p.shown.String()
		p.killAt = 0
		p.shown.Reset()
		if err := p.works(dir, "resume", "--out", filepath.Join(dir, "out")); err != nil {
			t.Fatalf("killed at answer %d: %v\n%s\n---\n%s", at, err, before, p.shown.String())
		}
		after := p.shown.String()
		for name, l := range lamps {
			if d := l.xy(t).UV().Dist(target.UV()); !(d <= 0.0020) {
				t.Errorf("killed at answer %d: %s stands %.4f off\n%s", at, name, d, after)
			}
			if strings.Contains(before, name+": landed, ") && strings.Contains(after, name+": set\r\n") {
				t.Errorf("killed at answer %d: %s had landed and was begun again\n%s", at, name, after)
			}
		}
		found, _ := filepath.Glob(filepath.Join(dir, "out", "*", "journal.jsonl"))
		if len(found) != 1 {
			t.Fatalf("journals: %v", found)
		}
		_, s, err := readRun(filepath.Dir(found[0]))
		if err != nil || !s.Complete {
			t.Errorf("%v; complete: %v", err, s != nil && s.Complete)
		}
	}
}
