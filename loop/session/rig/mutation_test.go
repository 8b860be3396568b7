package rig

import (
	"errors"
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"trueup/profiles"
	"trueup/profiles/yamlfile"
)

// pair is one "key: value" of a file, found by its looks and not by our own
// reading.
type pair struct {
	key, value string
	from, to   int // of the whole pair in the text
	valueAt    int
	line       int
	path       string // keys of the groups that it stands in: "output", "fixtures"
	flow       bool
}

var pairRE = regexp.MustCompile(`(?m)(^ *(?:- *)?\{?|[{,] *)([a-z_0-9]+):( +|\n|$)`)

// pairs finds what a text says, in either style of YAML.
func pairs(text string) []pair {
	var all []pair
	top := ""
	for _, m := range pairRE.FindAllStringSubmatchIndex(text, -1) {
		from := m[4]
		lineStart := strings.LastIndex(text[:from], "\n") + 1
		before := text[lineStart:from]
		if strings.Contains(before, "#") {
			continue // a comment
		}
		p := pair{key: text[m[4]:m[5]], from: from, line: strings.Count(text[:from], "\n") + 1}
		if before == "" {
			top = p.key
		}
		p.path = top
		p.flow = strings.ContainsAny(before, "{[")
		p.valueAt = m[5] + 1
		for p.valueAt < len(text) && text[p.valueAt] == ' ' {
			p.valueAt++
		}
		p.to = valueEnd(text, p.valueAt, p.flow)
		p.value = strings.TrimRight(text[p.valueAt:p.to], " ")
		p.to = p.valueAt + len(p.value)
		all = append(all, p)
	}
	return all
}

// valueEnd finds where a value on one line ends.
func valueEnd(text string, at int, flow bool) int {
	depth := 0
	for i := at; i < len(text); i++ {
		switch c := text[i]; {
		case c == '\n', c == '#' && i > 0 && text[i-1] == ' ':
			return i
		case c == '[' || c == '{':
			depth++
		case (c == ']' || c == '}') && depth > 0:
			depth--
		case flow && depth == 0 && (c == ',' || c == '}'):
			return i
		}
	}
	return len(text)
}

// wrongValues are values that no key of that name may have.
var wrongValues = map[string][]string{
	"rise":          {"0 %/s", "-5 %/s", "500 %/s", "50 %", "50", "NaN %/s", "fast", "0,5 %/s", "50 %/min"},
	"fall":          {"0 %/s", "-5 %/s", "401 %/s", "50 %", "Inf %/s"},
	"level_cap":     {"0 %", "-1 %", "101 %", "60", "60 s", "full"},
	"level":         {"0 %", "101 %", "40", "none"},
	"tolerance":     {"0", "-0.001", "0.5", "1 step", "0,001"},
	"priority":      {"201", "-1", "1.5", "high"},
	"source_name":   {strings.Repeat("x", 64)},
	"address":       {"0/1", "1/0", "64000/1", "1/513", "1", "1.1", "one", "1/", "-1/1", "1/1/1"},
	"step":          {"0", "-1", "513", "1", "two", "2.5"},
	"desk_step":     {"0", "-1", "10001", "two", "2.5"},
	"heads":         {"0", "-1", "9", "x"},
	"col":           {"0", "-1", "1001", "left"},
	"row":           {"0", "1.5", "1001"},
	"columns":       {"0", "-4", "1001"},
	"kind":          {"pigeon"},
	"reference":     {"nobody"},
	"color":         {"mauve", "99 K", "xy 0.9 0.9"},
	"profile":       {"nosuch.yaml", ".", "rig.yaml"},
	"fixed":         {"perhaps", "1", "yes"},
	"by_hand":       {"perhaps", "0"},
	"people_aloft":  {"maybe", "1"},
	"latency":       {"200", "-1 ms", "2 h"},
	"unicast":       {"[localhost]", "[10.0.0]", `["10.0.0.7:0"]`, `["10.0.0.7:70000"]`, `["10.0.0.7", "10.0.0.7:5568"]`, "[]"},
	"locked":        {"[400]", "[1/0]", "[1/400..399]", "[1/400..513]"},
	"desk_channel":  {`" "`, `"\t"`},
	"max_full_time": {"0 s", "25 h", "forever"},
}

// Break one thing at a time in every example, hundreds of times: each must be
// an error that names the line.
func TestOneThingWrongIsAlwaysFound(t *testing.T) {
	known := map[string]bool{}
	for _, m := range regexp.MustCompile(`yaml:"(\w+)`).FindAllStringSubmatch(readFile(t, "file.go"), -1) {
		known[m[1]] = true
	}
	cases := 0
	try := func(path, what, text string, line int) {
		t.Helper()
		cases++
		_, err := Parse(path, []byte(text), cachedProfile)
		var all yamlfile.Errors
		if err == nil {
			t.Errorf("%s: %s: accepted", path, what)
		} else if !errors.As(err, &all) {
			t.Errorf("%s: %s: an error without a place: %v", path, what, err)
		} else if !slices.ContainsFunc(all, func(e *yamlfile.Error) bool { return e.Line == line && e.Msg != "" }) {
			t.Errorf("%s: %s: no error names line %d:\n%v", path, what, line, err)
		}
	}
	for _, path := range exampleRigs(t) {
		text := readFile(t, path)
		if _, err := Parse(path, []byte(text), cachedProfile); err != nil {
			t.Fatal(err)
		}
		ps := pairs(text)
		if len(ps) < 15 {
			t.Fatalf("%s: only %d keys found", path, len(ps))
		}
		for _, p := range ps {
			if !known[p.key] {
				continue // a name that the person chose
			}
			with := func(value string) string { return text[:p.valueAt] + value + text[p.to:] }
			at := fmt.Sprintf("line %d, %s", p.line, p.key)
			for _, bad := range []string{p.key + "z", "x" + p.key, p.key[1:], strings.ToUpper(p.key)} {
				if !known[bad] {
					try(path, at+" misspelt "+bad, text[:p.from]+bad+text[p.from+len(p.key):], p.line)
				}
			}
			if p.value == "" {
				continue // a block follows
			}
			try(path, at+" empty", with(""), p.line)
			switch p.value[0] {
			case '[', '{':
				try(path, at+" no list or group", with("5"), p.line)
			default:
				try(path, at+" a list", with("[1, 2]"), p.line)
				try(path, at+" a group", with("{a: 1}"), p.line)
			}
			for _, bad := range wrongValues[p.key] {
				if p.key == "address" && p.path == "feeds" {
					continue // host and port, or a path: the feed's to judge
				}
				if p.key == "level" && p.path == "fixtures" && bad == "none" {
					continue
				}
				try(path, at+" is "+bad, with(bad), p.line)
			}
			if p.flow {
				try(path, at+" twice", text[:p.from]+p.key+": "+p.value+", "+text[p.from:], p.line)
			} else if i := strings.LastIndex(text[:p.from], "\n") + 1; strings.TrimSpace(text[i:p.from]) == "" {
				whole := text[i:p.to] + "\n"
				try(path, at+" twice", text[:i]+whole+text[i:], p.line+1)
			}
			if p.path == "output" && p.key == "mode" {
				try(path, at+" sideways", with("sideways"), p.line)
			}
			if p.path == "fixtures" && p.key == "mode" {
				try(path, at+" unknown", with("no such mode"), p.line)
			}
		}
		mutateFixtures(t, path, text, ps, try)
	}
	if cases < 800 {
		t.Errorf("only %d cases", cases)
	}
	t.Logf("%d cases", cases)
}

// mutateFixtures makes fixtures that are good by themselves clash.
func mutateFixtures(t *testing.T, path, text string, ps []pair, try func(path, what, text string, line int)) {
	var addresses, names []pair
	for _, p := range ps {
		if p.path != "fixtures" {
			continue
		}
		switch p.key {
		case "address":
			addresses = append(addresses, p)
		case "name":
			names = append(names, p)
		}
	}
	set := func(p pair, value string) string { return text[:p.valueAt] + value + text[p.to:] }
	for i, a := range addresses {
		for j, b := range addresses {
			if i < j {
				try(path, fmt.Sprintf("line %d on the slots of line %d", b.line, a.line), set(b, a.value), b.line)
			}
		}
		try(path, fmt.Sprintf("line %d past the end", a.line), set(a, "1/512"), a.line)
	}
	for i, a := range names {
		for j, b := range names {
			if i < j {
				try(path, fmt.Sprintf("line %d has the name of line %d", b.line, a.line), set(b, a.value), b.line)
			}
		}
		for _, bad := range []string{`""`, `" x"`, "x 3..1", "x 1..", `"` + strings.Repeat("x", 64) + `"`, `"a\nb"`} {
			try(path, fmt.Sprintf("line %d is called %s", a.line, bad), set(a, bad), a.line)
		}
	}
}

var profileCache = map[string]loaded{}

// cachedProfile reads each profile of the examples once.
func cachedProfile(path string) (*profiles.Profile, error) {
	l, ok := profileCache[path]
	if !ok {
		l.profile, l.err = profiles.Load(path)
		profileCache[path] = l
	}
	return l.profile, l.err
}

func readFile(t testing.TB, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
