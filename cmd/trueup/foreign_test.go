package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"trueup/profiles/printable"
)

// Names as a hostile instrument or network may give them.
var hostileNames = []string{"\x1b[2Jcleared", "a\nfeed meter: 9 readings", "\u202etsew", "ma\u200brk", "\u009b31m", "a\rb", "\u2066x", strings.Repeat("long ", 12)}

// What a person is shown of them only prints.
func onlyPrints(t *testing.T, what, out string) {
	t.Helper()
	for i, line := range strings.Split(out, "\n") {
		if !utf8.ValidString(line) {
			t.Errorf("%s: line %d is not UTF-8: %q", what, i+1, line)
		}
		for _, r := range line {
			if r != '\t' && !printable.Rune(r) {
				t.Errorf("%s: line %d holds %U: %q", what, i+1, r, line)
			}
		}
	}
}

func TestNamesFromAnInstrumentOnlyPrint(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("HOME", dir)
	t.Setenv("XDG_CONFIG_HOME", dir)
	var lines, traffic strings.Builder
	for i, name := range hostileNames {
		b, _ := json.Marshal(name)
		line := fmt.Sprintf(`{"probe":%s,"serial":%s,"seq":%d,"x":0.3127,"y":0.3290,"lux":100}`, b, b, i)
		fmt.Fprintln(&lines, line)
		from, _ := json.Marshal(line)
		fmt.Fprintf(&traffic, "{\"ms\":%d,\"from\":%s,\"topic\":%s}\n", i, from, b)
		bad, _ := json.Marshal("\x1b[2J" + name + "\x07")
		fmt.Fprintf(&traffic, "{\"ms\":%d,\"from\":%s,\"topic\":%s}\n", i, bad, b)
	}
	recording := filepath.Join(dir, "r.jsonl")
	if err := os.WriteFile(recording, []byte(traffic.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"read"}, {"read", "--json"}, {"feed", "try"}, {"feed", "try", "--log-level", "trace"}, {"feed", "try", "--from", recording},
		{"feed", "replay", recording}, {"feed", "check", "--readings", "4"}, {"color", "\u202e\x1b[2J"}, {"read", "\x1b[2J.yaml"}, {"\x1b[2J"}} {
		var out, errs strings.Builder
		run(args, strings.NewReader(lines.String()), &out, &errs)
		onlyPrints(t, fmt.Sprintf("trueup %q", args), out.String()+errs.String())
		if strings.Contains(out.String()+errs.String(), "\nfeed meter: 9 readings") {
			t.Errorf("trueup %q: a name makes a line of its own: %s", args, out.String())
		}
		if len(out.String()+errs.String()) == 0 {
			t.Errorf("trueup %q says nothing: this test has lost what it watches", args)
		}
	}
}
