package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/rs/zerolog"
	"golang.org/x/sys/unix"

	"trueup/loop/rehearse"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
	"trueup/loop/solve"
	"trueup/profiles/printable"
	"trueup/safety"
)

// screenModel is a terminal as far as a block in place needs one: rows of cells, a cursor, and what scrolled away
// at the top. It knows the few controls of ECMA-48 that are used (CUU, EL, ED), and wraps at the last column.
type screenModel struct {
	width, height int
	rows          [][]rune
	x, y          int
	scrolled      []string
}

func newScreen(width, height int) *screenModel {
	return &screenModel{width: width, height: height, rows: make([][]rune, height)}
}

func (s *screenModel) feed(t *testing.T, text string) {
	t.Helper()
	for len(text) > 0 {
		if rest, ok := strings.CutPrefix(text, "\x1b["); ok {
			n, k := 0, 0
			for k < len(rest) && rest[k] >= '0' && rest[k] <= '9' {
				n, k = n*10+int(rest[k]-'0'), k+1
			}
			switch rest[k] {
			case 'A':
				s.y = max(0, s.y-max(n, 1))
			case 'K':
				s.rows[s.y] = s.rows[s.y][:min(s.x, len(s.rows[s.y]))]
			case 'J':
				s.rows[s.y] = s.rows[s.y][:min(s.x, len(s.rows[s.y]))]
				for y := s.y + 1; y < s.height; y++ {
					s.rows[y] = nil
				}
			default:
				t.Fatalf("a control that this terminal does not know: %q", rest[:k+1])
			}
			text = rest[k+1:]
			continue
		}
		r, n := utf8.DecodeRuneInString(text)
		text = text[n:]
		switch r {
		case '\r':
			s.x = 0
		case '\n':
			s.line()
		case '\a':
		default:
			if s.x == s.width {
				s.x = 0
				s.line()
			}
			for len(s.rows[s.y]) <= s.x {
				s.rows[s.y] = append(s.rows[s.y], ' ')
			}
			s.rows[s.y][s.x] = r
			s.x++
		}
	}
}

func (s *screenModel) line() {
	if s.y++; s.y == s.height {
		s.scrolled = append(s.scrolled, string(s.rows[0]))
		s.rows = append(s.rows[1:], nil)
		s.y--
	}
}

// resize changes the window; lines stay where they are, as in terminals that do not wrap anew. A cursor below the
// new last row scrolls.
func (s *screenModel) resize(width, height int) {
	for s.height > height {
		if s.y == s.height-1 {
			s.scrolled = append(s.scrolled, string(s.rows[0]))
			s.rows, s.y = s.rows[1:], s.y-1
		} else {
			s.rows = s.rows[:s.height-1]
		}
		s.height--
	}
	for s.height < height {
		s.rows, s.height = append(s.rows, nil), s.height+1
	}
	s.width = width
	for i := range s.rows {
		s.rows[i] = s.rows[i][:min(len(s.rows[i]), width)]
	}
}

func (s *screenModel) String() string {
	var b strings.Builder
	for _, r := range s.rows {
		b.WriteString("|" + strings.TrimRight(string(r), " ") + "\n")
	}
	return b.String()
}

// sixtyPanels is the journal of a run on sixty panels, in virtual time.
var sixtyPanels = sync.OnceValues(func() ([]session.Entry, error) {
	dir, err := os.MkdirTemp("", "trueup-progress-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	profile, err := filepath.Abs("../../examples/profiles/orchardlight-panel-kelvin.yaml")
	if err != nil {
		return nil, err
	}
	text := "rig: wall\noutput: {mode: own, unicast: [\"127.0.0.1:5568\"]}\nfeeds: [{name: meter, kind: tcp, address: \"127.0.0.1:7311\"}]\n" +
		"target: {color: 5600K, level: 50 %}\nfixtures:\n" + fmt.Sprintf("  - {name: panel 1..60, profile: %q, address: 1/1, probe: mark}\n", profile)
	path := filepath.Join(dir, "rig.yaml")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		return nil, err
	}
	j := rehearse.Job{Seed: 2}
	if j.Rig, err = rig.Load(path); err != nil {
		return nil, err
	}
	j.Work, j.Log = core.Match, zerolog.Nop()
	if j.Plan, err = session.PlanFor(j.Rig); err != nil {
		return nil, err
	}
	if j.Compiled, err = session.Compile(j.Rig); err != nil {
		return nil, err
	}
	p, err := j.Play()
	if err != nil {
		return nil, err
	}
	return p.Entries, p.Err
})

// Sixty panels fit any window, and nothing scrolls away, also where the window changes its size in the middle.
func TestTheProgressOfSixtyPanelsFitsAnyWindow(t *testing.T) {
	entries, err := sixtyPanels()
	if err != nil {
		t.Fatal(err)
	}
	for _, sizes := range [][][2]int{{{80, 24}}, {{40, 12}}, {{200, 60}}, {{20, 4}}, {{80, 24}, {40, 12}, {200, 60}, {60, 20}}} {
		t.Run(fmt.Sprint(sizes), func(t *testing.T) {
			master, slave := openPTY(t)
			size := func(s [2]int) {
				if err := unix.IoctlSetWinsize(int(slave.Fd()), unix.TIOCSWINSZ, &unix.Winsize{Col: uint16(s[0]), Row: uint16(s[1])}); err != nil {
					t.Fatal(err)
				}
			}
			size(sizes[0])
			screen := newScreen(sizes[0][0], sizes[0][1])
			show := newProgress(slave)
			if !show.inPlace() {
				t.Fatal("a terminal is not known for one")
			}
			texts := make(chan string, 1<<16)
			go func() { // a terminal reads while it is written to; this ends with the master
				buf := make([]byte, 1<<12)
				for {
					n, err := master.Read(buf)
					if err != nil {
						return
					}
					texts <- string(buf[:n])
				}
			}()
			// All that was written is read up to a marker that a terminal does not show.
			seen := func() {
				fmt.Fprint(slave, "\a\a")
				var text strings.Builder
				for !strings.HasSuffix(text.String(), "\a\a") {
					select {
					case part := <-texts:
						text.WriteString(part)
					case <-t.Context().Done():
						t.Fatal("the terminal does not answer")
					}
				}
				screen.feed(t, text.String())
			}
			worst := 0
			for i, e := range entries {
				if k := i * len(sizes) / len(entries); i > 0 && k != (i-1)*len(sizes)/len(entries) {
					seen() // what was drawn for the window as it was
					size(sizes[k])
					screen.resize(sizes[k][0], sizes[k][1])
				}
				show.Entry(e)
				if i%7 == 0 {
					seen()
				}
				if worst = max(worst, len(screen.scrolled)); i == len(entries)*2/3 {
					show.draw(e.Time)
					seen()
					t.Logf("two thirds through:\n%v", screen)
					if text := screen.String(); !strings.Contains(text, "60 done") || !strings.Contains(text, "left") && sizes[0][0] > 20 {
						t.Errorf("how far it is does not show:\n%s", text)
					}
					if odd := regexp.MustCompile(`(?m)^\|! panel \d+ +predicted`).FindString(screen.String()); odd != "" {
						t.Errorf("what is still to be read is shown as what wants a person: %q", odd)
					}
				}
			}
			show.close(safety.DefaultLimits(), time.Now())
			seen()
			// Two long lines at the end say what the run took; a window that became lower pushes what did not fit.
			if most := 2 + 400/sizes[0][0] + 60*(len(sizes)-1); len(screen.scrolled) > most {
				t.Errorf("%d lines were scrolled away, the first %q", len(screen.scrolled), screen.scrolled[0])
			}
			if len(sizes) == 1 && worst > 0 {
				t.Errorf("%d lines were scrolled away while it ran", worst)
			}
		})
	}
}

// Where there is no terminal a line comes once a second at the most, but for what came of each fixture.
func TestPlainProgressIsAtMostALineASecond(t *testing.T) {
	entries, err := sixtyPanels()
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	show := newProgress(&out)
	for _, e := range entries {
		show.Entry(e)
	}
	show.asked = entries[0].Time.Add(-5 * time.Second)
	show.close(safety.DefaultLimits(), entries[len(entries)-1].Time.Add(2*time.Second))
	lines := strings.Count(out.String(), "\n") - strings.Count(out.String(), "verified:") - strings.Count(out.String(), ": predicted")
	took := entries[len(entries)-1].Time.Sub(entries[0].Time)
	t.Logf("%d lines in %v\n%s", lines, took.Round(time.Second), out.String()[len(out.String())-600:])
	if lines > int(took.Seconds()) {
		t.Errorf("%d lines in %v", lines, took)
	}
	if n := strings.Count(out.String(), "verified:"); n != 60 {
		t.Errorf("%d of 60 ends were said", n)
	}
	if whole := "the run took " + printable.Span(took+7*time.Second) + ": "; !strings.Contains(out.String(), whole) || !strings.Contains(out.String(), "; 7 s to listen, to take over and to hand back\n") {
		t.Errorf("what comes before the first entry and after the last is not counted, as in what is predicted; want %q", whole)
	}
	if !strings.Contains(out.String(), "the run took") || !strings.Contains(out.String(), "rise and fall at 100 %/s") {
		t.Errorf("what it took for is not said:\n%s", out.String())
	}
}

// What a wish costs in light is said in a terminal too, above the block; and a fixture that was read on its way, and not
// where it was set last, is not called never read.
func TestATerminalTellsThePriceInLight(t *testing.T) {
	begin := session.Entry{Kind: core.KindRun, Run: &session.RunInfo{Fixtures: []session.FixtureInfo{{Name: "wash"}}}}
	price := session.Entry{Kind: core.KindSpend, Note: "costs 12 % of the light"}
	master, slave := openPTY(t)
	show := newProgress(slave)
	show.Entry(begin)
	show.Entry(price)
	fmt.Fprint(slave, "\a")
	var text []byte
	for buf := make([]byte, 1<<12); !strings.HasSuffix(string(text), "\a"); {
		n, err := master.Read(buf)
		if err != nil {
			t.Fatal(err)
		}
		text = append(text, buf[:n]...)
	}
	if !strings.Contains(string(text), price.Note) {
		t.Errorf("the terminal has %q", text)
	}
	var plain strings.Builder
	lines := newProgress(&plain)
	lines.Entry(begin)
	lines.Entry(session.Entry{Kind: core.KindOutcome, Fixture: "wash", Outcome: &session.Outcome{Result: solve.Predicted, Readings: 2, Reason: "a last step; not read yet"}})
	if !strings.Contains(plain.String(), "not read yet") || strings.Contains(plain.String(), "never") {
		t.Errorf("said: %s", plain.String())
	}
}
