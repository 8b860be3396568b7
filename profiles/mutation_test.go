package profiles

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"trueup/profiles/yamlfile"
)

// A mutation breaks one line of a good file. The error must name that line, or
// one of those that its group of keys begins on.
type mutation struct {
	what string
	line int   // the line that was broken, from 1
	also []int // other lines that an error may rightly name instead
	text string
}

var (
	pairRE  = regexp.MustCompile(`([a-z_]+):( [^#,{}\[\]]+| \[[^#{}]*?\](?:\])?|(?: *$))`)
	itemRE  = regexp.MustCompile(`^(\s*)- (.*)$`)
	indexed = regexp.MustCompile(`slots: \[(\d+)((?:, \d+)*)\]`)
)

// required keys, by what their value looks like in the examples.
var required = []string{"profile", "modes", "mode", "kind", "name", "to", "open", "safe", "shows", "from", "step", "count", "stride"}

// mutations breaks a text in every way it knows, one thing at a time.
func mutations(text string) []mutation {
	var all []mutation
	lines := strings.Split(text, "\n")
	with := func(i int, line string) string {
		c := append([]string(nil), lines...)
		c[i] = line
		return strings.Join(c, "\n")
	}
	for i, line := range lines {
		code, _, _ := strings.Cut(line, "#")
		if strings.TrimSpace(code) == "" {
			continue
		}
		for _, at := range pairRE.FindAllStringSubmatchIndex(code, -1) {
			key, value := code[at[2]:at[3]], strings.TrimSpace(code[at[4]:at[5]])
			head, tail := line[:at[2]], line[at[3]:]
			change := func(what, line string) {
				all = append(all, mutation{what: key + ": " + what, line: i + 1, text: with(i, line)})
			}
			replace := func(v string) string { return line[:at[4]] + " " + v + line[at[5]:] }
			change("misspelt", head+key+"q"+tail)
			change("letters swapped", head+"x"+key+tail)
			change("capital", head+strings.ToUpper(key)+tail)
			if value == "" {
				continue // a group of keys: its lines are broken one by one
			}
			if !has([]string{"note", "why"}, key) { // a text with a comma goes on after it
				change("empty", replace(""))
			}
			change("a group instead", replace("{zz: 1}"))
			switch {
			case strings.HasPrefix(value, "["):
				change("a word instead of a list", replace("word"))
				change("a list of words", replace("[a, b]"))
				change("empty list", replace("[]"))
				if !has([]string{"percent_green", "degrees"}, key) {
					change("negative", replace("[-1, -2]"))
				}
				change("huge", replace("[99999999, 999999999]"))
			case regexp.MustCompile(`^-?[0-9.]+$`).MatchString(value):
				change("a word instead of a number", replace("word"))
				change("in quotes", replace(`"`+value+`"`))
				change("with a unit", replace(value+" kg"))
				change("huge", replace("1e12"))
				change("far below", replace("-1e12"))
				change("not a number", replace(".nan"))
				change("infinite", replace(".inf"))
				change("leading zero", replace("0"+strings.TrimPrefix(value, "-")+"7"))
				change("a list instead", replace("["+value+"]"))
			case value == "true" || value == "false":
				change("yes for true", replace("yes"))
				change("a number for true", replace("1"))
			default:
				change("a list instead", replace("[a]"))
				if has([]string{"kind", "scale", "toward", "space", "curve"}, key) {
					change("another word", replace("wroong"))
				}
			}
			if !strings.Contains(code[:at[2]], "{") && !strings.HasPrefix(strings.TrimSpace(code), "- ") {
				doubled := append(append(append([]string(nil), lines[:i+1]...), strings.Replace(line, "- ", "  ", 1)), lines[i+1:]...)
				if strings.TrimSpace(value) != "" {
					all = append(all, mutation{what: key + ": twice", line: i + 2, text: strings.Join(doubled, "\n")})
				}
			}
			if has(required, key) {
				dropped := strings.TrimRight(head, " ") + strings.TrimPrefix(line[at[5]:], ",")
				if !strings.Contains(head, "{") {
					dropped = head + "note: dropped" + line[at[5]:]
				}
				all = append(all, mutation{what: key + ": dropped", line: i + 1, also: groupLines(lines, i), text: with(i, strings.Replace(dropped, "{,", "{", 1))})
			}
		}
		if m := indexed.FindStringSubmatchIndex(code); m != nil {
			all = append(all, mutation{what: "slot beyond the footprint", line: i + 1, text: with(i, line[:m[2]]+"512"+line[m[3]:])})
			all = append(all, mutation{what: "slot 0", line: i + 1, text: with(i, line[:m[2]]+"0"+line[m[3]:])})
			if m[5] > m[4] {
				first := line[m[2]:m[3]]
				all = append(all, mutation{what: "coarse and fine the same", line: i + 1, text: with(i, line[:m[4]]+", "+first+line[m[5]:])})
			}
		}
		if m := itemRE.FindStringSubmatch(code); m != nil && strings.HasPrefix(m[2], "{name") {
			twice := append(append(append([]string(nil), lines[:i+1]...), line), lines[i+1:]...)
			// The same slots again: the second one overlaps, on its own line,
			// unless something further down is found on them first.
			all = append(all, mutation{what: "entry twice", line: i + 2, also: []int{i + 1}, text: strings.Join(twice, "\n")})
		}
		all = append(all, mutation{what: "a tab for indentation", line: i + 1, also: []int{i, i + 2}, text: with(i, "\t"+line)})
		if at := strings.Index(code, ": "); at > 0 {
			all = append(all, mutation{what: "an open quote", line: i + 1, also: following(lines, i), text: with(i, code[:at]+`: "`+code[at+2:])})
			all = append(all, mutation{what: "an open bracket", line: i + 1, also: following(lines, i), text: with(i, code[:at]+": ["+code[at+2:])})
		}
	}
	return all
}

// groupLines gives the lines on which the groups around line i begin.
func groupLines(lines []string, i int) (starts []int) {
	indent := func(s string) int { return len(s) - len(strings.TrimLeft(s, " -")) }
	depth := indent(lines[i])
	for k := i; k >= 0; k-- {
		if t := strings.TrimSpace(lines[k]); t == "" || strings.HasPrefix(t, "#") {
			continue
		}
		if d := indent(lines[k]); d <= depth {
			starts = append(starts, k+1)
			if d < depth {
				depth = d
			}
		}
	}
	return starts
}

// following gives all lines below i: an open quote or bracket is found where
// something no longer fits.
func following(lines []string, i int) (all []int) {
	for k := i; k <= len(lines); k++ {
		all = append(all, k+1)
	}
	return append(all, i)
}

func TestEveryBreakageIsFoundOnItsLine(t *testing.T) {
	total, seen, every := 0, 0, 5 // one in so many; all of them where time allows
	if os.Getenv("TRUEUP_LONG") != "" {
		every = 1
	}
	for _, path := range examplePaths(t) {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		dir := filepath.Dir(path)
		for _, m := range mutations(string(data)) {
			if seen++; seen%every != 0 {
				continue
			}
			total++
			_, err := parse("f", []byte(m.text), func(name string) ([]byte, error) { return os.ReadFile(filepath.Join(dir, name)) })
			if err == nil {
				t.Errorf("%s:%d: %s: accepted silently", path, m.line, m.what)
				continue
			}
			var all yamlfile.Errors
			if !errors.As(err, &all) {
				t.Errorf("%s:%d: %s: %T", path, m.line, m.what, err)
				continue
			}
			if !names(all, m) {
				t.Errorf("%s:%d: %s: the error stands elsewhere: %v", path, m.line, m.what, err)
			}
		}
	}
	if total < 1000 {
		t.Errorf("only %d breakages were tried", total)
	}
	t.Logf("%d breakages", total)
}

func names(all yamlfile.Errors, m mutation) bool {
	for _, e := range all {
		if e.Line == m.line {
			return true
		}
		for _, also := range m.also {
			if e.Line == also {
				return true
			}
		}
	}
	return false
}

// Breakages that only show between several keys: each with the line to name.
func TestEveryContradictionIsFoundOnItsLine(t *testing.T) {
	const good = `profile: A
modes:
  - mode: m
    kind: emitters
    slots: 12
    dimmer: {slots: [1, 2]}
    emitters:
      - {name: red, slots: [3, 4]}
      - {name: green, slots: [5, 6]}
      - {name: blue, slots: [7, 8]}
    shutter: {slots: [9], open: 255, closed: [[0, 9]], strobe: [[10, 200]]}
    set:
      - {name: macro, slots: [10], to: 0}
    never_touch:
      - {name: reset, slots: [11], safe: 0}
  - mode: white
    kind: cct
    slots: 4
    cct: {slots: [1, 2], kelvin: [2700, 6500]}
    tint: {slots: [3], duv: [-0.02, 0.02]}
    dimmer: {slots: [4]}
  - mode: hand
    kind: cct
    by_hand: true
    cct: {knob: {shows: CCT, unit: K, from: 2700, to: 6500, step: 100}}
`
	if _, err := Parse("f", []byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		from, to string
		line     int
		gist     string
	}{
		{"red, slots: [3, 4]", "red, slots: [2, 4]", 8 + 0, "dimmer"},
		{"macro, slots: [10]", "macro, slots: [9]", 13, "shutter already"},
		{"reset, slots: [11]", "reset, slots: [10]", 15, "slot 10, which is macro already"},
		{"reset, slots: [11]", "reset, slots: [13]", 15, "the mode has 12 slots"},
		{"name: green", "name: red", 9, "there already"},
		{"mode: white", "mode: m", 16, "there already"},
		{"open: 255", "open: 100", 11, "strobing (levels 10 to 200)"},
		{"open: 255", "open: 5", 11, "closed (levels 0 to 9)"},
		{"strobe: [[10, 200]]", "strobe: [[9, 200]]", 11, "overlap"},
		{"strobe: [[10, 200]]", "strobe: [[200, 10]]", 11, "lower one first"},
		{"macro, slots: [10], to: 0", "macro, slots: [10], to: 256", 13, "at most 255"},
		{"kind: cct\n    slots: 4", "kind: xy\n    slots: 4", 17, "needs \"x:\""},
		{"kind: cct\n    slots: 4", "kind: fixed\n    slots: 4", 19, "does not belong"},
		{"kelvin: [2700, 6500]", "kelvin: [2700, 2700]", 19, "ends where it begins"},
		{"kelvin: [2700, 6500]", "levels: [200, 100], kelvin: [2700, 6500]", 19, "lower one first"},
		{"kelvin: [2700, 6500]", "levels: [0, 65536], kelvin: [2700, 6500]", 19, "from 0 to 65535"},
		{", kelvin: [2700, 6500]", "", 19, "needs \"kelvin:"},
		{"kelvin: [2700, 6500]", "kelvin: [2700, 6500], start: 70000", 19, "from 0 to 65535"},
		{"duv: [-0.02, 0.02]", "duv: [-0.02, 0.02], toward: green", 20, "given twice"},
		{"step: 100", "step: 70", 25, "whole steps"},
		{"step: 100}", "step: 100}, slots: [1]", 25, "set by hand"},
		{"step: 100}", "step: 100}, start: 2750", 25, "does not show"},
		{"from: 2700", "from: 100", 25, "1000 to 25000"},
		{"by_hand: true", "by_hand: true\n    slots: 3", 25, "no slots"},
		{"by_hand: true", "by_hand: false", 22, "slots"},
		{"slots: 12", "slots: 12\n    heads: {count: 2, stride: 12}", 6, "do not fit"},
		{"slots: 12", "slots: 12\n    heads: {count: 2, stride: 3}", 9, "slot"},
		{"name: red", "name: rad", 8, `did you mean "red"`},
		{"name: red", "name: glow", 8, "with one of red"},
		{"name: red", "name: glow, colour: limee", 8, `did you mean "lime"`},
		{"name: red", "name: red, xy: [0.6, 0.3], kelvin: 3000", 8, "twice"},
		{"name: red", "name: red, xy: [0.6, 0.5]", 8, "no possible light"},
		{"name: red", "name: red, duv: 0.01", 8, "kelvin"},
		{"name: red", "name: red, spectrum: nothing.csv", 8, "nothing.csv"},
		{"name: red", "name: red, curve: {gamma: 2, table: [0, 1]}", 8, "either"},
		{"name: red", "name: red, curve: {table: [0, 0.5, 0.4, 1]}", 8, "falls"},
		{"name: red", "name: red, curve: {table: [0, 0.5]}", 8, "0 to 1"},
		{"name: red", "name: red, curve: gamma", 8, "figures"},
		{"name: red", "name: red, common: true", 8, "several heads"},
		{"name: red", "name: red, knob: {shows: R, from: 0, to: 1, step: 1}", 8, "by_hand"},
		{"name: red, slots: [3, 4]", "name: red", 8, `no "slots:"`},
	} {
		text := strings.Replace(good, c.from, c.to, 1)
		if text == good {
			t.Errorf("%q is not in the file", c.from)
			continue
		}
		_, err := Parse("f", []byte(text))
		if err == nil {
			t.Errorf("%q: accepted silently", c.to)
			continue
		}
		found := false
		for _, l := range strings.Split(err.Error(), "\n") {
			found = found || strings.HasPrefix(l, fmt.Sprintf("f:%d:", c.line)) && strings.Contains(l, c.gist)
		}
		if !found {
			t.Errorf("%q: want line %d and %q, got\n%v", c.to, c.line, c.gist, err)
		}
	}
}
