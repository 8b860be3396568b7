package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"trueup/dmx/sacn"
	"trueup/loop/session/rig"
	"trueup/safety"
)

// readmeFigures are the sentences of README that hold a figure, and what proves
// each: the name of a test that fails where it is not so, or the standard that it
// is quoted from. A sentence with a date was measured then, and needs no test.
var readmeFigures = []struct{ says, proof string }{
	{"Go 1.26 or later do everything", "TestReadmeFiguresOfTheProgram"},
	{"Go 1.26 or later.", "TestReadmeFiguresOfTheProgram"},
	{"nine fixtures, one meter", "TestReadmeFiguresOfTheProgram"},
	{"0.0011 is about one just visible step", "CIE TN 001:2014"},
	{"## Ten minutes for each of three people", "TestReadmeWalks"},
	{"The simulated twelve took 58 s", "TestReadmeFiguresOfTheProgram"}, // the twelve; the time is dated
	{"about 1 is just seen", "ISO/CIE 11664-6:2022"},                    // CIEDE2000 is scaled so
	{"| 0 | done", "TestReadmeFiguresOfTheProgram"},
	{"| 1 | a fault, or something did not land |", "TestReadmeFiguresOfTheProgram"},
	{"| 2 | wrong command line |", "TestReadmeFiguresOfTheProgram"},
	{"| 3 | stopped by a person or a signal |", "TestReadmeFiguresOfTheProgram"},
	{"100 ms or more if you do not know them", "TestReadmeFiguresOfTheProgram"},
	{"at UDP port 5568", "TestReadmeFiguresOfTheProgram"},
	{"another program has port 5568 to itself", "TestReadmeFiguresOfTheProgram"},
	{"| rise and fall of light | 50 % of full per second |", "TestReadmeLimitsAreTheDefaults"},
	{"| level | 100 % of full", "TestReadmeLimitsAreTheDefaults"},
	{"| flashes | at most 3 in any second", "TestReadmeLimitsAreTheDefaults"},
	{"| UV, violet and unknown emitters | 10 % of their level |", "TestReadmeLimitsAreTheDefaults"},
	{"| at its cap | at most 10 min, then as long at three quarters of it |", "TestAHeadThatStoodTooLongAtItsCapComesDownAndRests"},
	{"| large steps of one fixture | at least 1.1 s apart |", "TestReadmeLimitsAreTheDefaults"},
	{"| colour parameters | their whole range in 1 s |", "TestReadmeLimitsAreTheDefaults"},
	{"hands the fixtures back after 5 s", "TestReadmeLimitsAreTheDefaults"},
	{"may drive fixtures to full light", "TestReadmeLimitsAreTheDefaults"},
	{"a dimming curve more than a tenth of an exponent off its profile's", "TestALampWhoseExponentIsATenthOffKeepsTheLimit"},
	{"after 2.5 s the fixtures are handed back", "TestReadmeLimitsAreTheDefaults"},
	{"after the standard's 2.5 s, in one jump", "TestAfterKillMinusNineTheDeskHasTheStage"},
}

var (
	readmeCode     = regexp.MustCompile("(?s)`[^`\n]+`|\\]\\([^)]*\\)")
	readmeCommands = regexp.MustCompile(`(?m)^    (?:trueup|go)[^#\n]*`)
	readmeStandard = regexp.MustCompile(`(?:ANSI(?:/IES)?|CIE(?: TN)?|IEC|DIN SPEC|EBU Tech|USITT ASCII|TM-|C78|E1\.|Apache-|CIEDE)[ \d.:-]*(?:\(R?\d+\))?(?:, \d+:[\d-]+)?`)
	readmeDate     = regexp.MustCompile(`\b\d{4}-\d\d-\d\d\b`)
	readmeFigure   = regexp.MustCompile(`\d[\d.,]*|\b(?i:nine|ten|twelve|third|tenth|three quarters|three times|half)\b`)
	// A sentence that ends in a colon goes with what follows, and so does its date.
	readmeParts = regexp.MustCompile(`(?s)[^\n].*?(?:[^:]\n\n|\n- |\n[|#] ?|\n    |\z)`)
)

// A figure in README that no test, standard or date stands behind is one that
// nobody would miss when it is no longer true.
func TestEveryFigureOfReadmeIsProven(t *testing.T) {
	text := readme(t)
	blank := func(s string) string { return strings.Repeat(" ", len(s)) }
	bare := text // without what is typed, and without the names of standards; each character keeps its place
	for _, re := range []*regexp.Regexp{readmeCode, readmeCommands, readmeStandard} {
		bare = re.ReplaceAllStringFunc(bare, blank)
	}
	proven := make([]bool, len(text))
	mark := func(from, to int) {
		for i := from; i < to; i++ {
			proven[i] = true
		}
	}
	for _, f := range readmeFigures {
		at := strings.Index(text, f.says)
		if at < 0 {
			t.Errorf("README does not say %q any more: take it out of the table", f.says)
			continue
		}
		mark(at, at+len(f.says))
	}
	for _, part := range readmeParts.FindAllStringIndex(text, -1) {
		if readmeDate.MatchString(text[part[0]:part[1]]) {
			mark(part[0], part[1])
		}
	}
	found := 0
	for _, at := range readmeFigure.FindAllStringIndex(bare, -1) {
		found++
		if line := strings.Count(text[:at[0]], "\n") + 1; !proven[at[0]] && !listNumber(bare, at) {
			t.Errorf("README.md:%d: nothing stands behind the figure %q: name a test in readmeFigures, date it or take it out", line, bare[at[0]:at[1]])
		}
	}
	if found < 20 {
		t.Errorf("only %d figures found", found)
	}
	tests := testNames(t)
	for _, f := range readmeFigures {
		if strings.HasPrefix(f.proof, "Test") && !tests[f.proof] {
			t.Errorf("README says %q, and there is no test %s", f.says, f.proof)
		}
	}
}

// listNumber tells the number of an item in a list from a figure.
func listNumber(text string, at []int) bool {
	return (at[0] == 0 || text[at[0]-1] == '\n') && strings.HasSuffix(text[at[0]:at[1]], ".")
}

// testNames are the names of all tests of this module.
func testNames(t *testing.T) map[string]bool {
	t.Helper()
	names := map[string]bool{}
	err := filepath.WalkDir(moduleRoot(t), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		for _, f := range functionsOf(t, path) {
			names[f.Name.Name] = true
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// What README says in figures of the program itself is so.
func TestReadmeFiguresOfTheProgram(t *testing.T) {
	text := readme(t)
	say := func(format string, args ...any) {
		t.Helper()
		if s := fmt.Sprintf(format, args...); !strings.Contains(text, s) {
			t.Errorf("README does not say %q", s)
		}
	}
	mod, err := os.ReadFile(filepath.Join(moduleRoot(t), "go.mod"))
	if err != nil {
		t.Fatal(err)
	}
	version := regexp.MustCompile(`(?m)^go (\d+\.\d+)`).FindSubmatch(mod)
	say("Go %s or later do everything", version[1])
	say("Linux is tested; for Windows and macOS it is built, and the network and terminal parts have not been tried there. Go %s or later.", version[1])
	for name, want := range map[string]string{"demo": "nine fixtures, one meter", "led-wall": "The simulated twelve took"} {
		r, err := rig.Load(filepath.Join(moduleRoot(t), "examples", name, "rig.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		if n := map[string]int{"demo": 9, "led-wall": 12}[name]; len(r.Fixtures) != n || len(r.Feeds) != 1 {
			t.Errorf("%s has %d fixtures and %d meters, want %d and one", name, len(r.Fixtures), len(r.Feeds), n)
		}
		say("%s", want)
	}
	say("| %d | done", exitLanded)
	say("| %d | a fault, or something did not land |", exitNotAll)
	say("| %d | wrong command line |", exitUsage)
	say("| %d | stopped by a person or a signal |", exitStopped)
	say("at UDP port %d", sacn.Port)
	say("another program has port %d to itself", sacn.Port)
	// Light on the mains swings at twice its frequency: 100 ms are whole swings of both.
	for _, hz := range []float64{50, 60} {
		if swings := 2 * hz * 0.1; swings != float64(int(swings)) {
			t.Errorf("100 ms are %g swings of light at %g Hz", swings, hz)
		}
	}
	if safety.DefaultLimits().LevelCap != 1 {
		t.Error("a rig without safety: does not drive fixtures to full light any more")
	}
}
