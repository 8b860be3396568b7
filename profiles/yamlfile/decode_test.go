package yamlfile

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

type lampFile struct {
	Name   string             `yaml:"name" need:"yes" help:"What it is called."`
	Mode   string             `yaml:"mode" one:"own overlay"`
	Slots  []int              `yaml:"slots" min:"1" max:"512" items:"1 3"`
	Range  *float64           `yaml:"range" min:"-1" max:"1.5"`
	Fixed  bool               `yaml:"fixed"`
	Caps   map[string]string  `yaml:"caps"`
	Parts  []partFile         `yaml:"parts"`
	Either Node               `yaml:"either"`
	Points map[string]float64 `yaml:"points" min:"0"`
	Place  *partFile          `yaml:"place"`
}

type partFile struct {
	X int   `yaml:"x" need:"yes"`
	Y uint8 `yaml:"y"`
}

func TestAGoodFileIsRead(t *testing.T) {
	var f lampFile
	text := "\uFEFFname: Über # note\r\nmode: overlay\r\nslots: [1, 2]\r\nrange: -0.5\r\nfixed: true\r\ncaps: {wash: 60 %, 'a.b': 40}\r\n" +
		"parts:\r\n  - x: 1\r\n    y: 255\r\n  - {x: -2}\r\neither:\r\n  x: 9\r\nplace:\r\n  x: 3\r\n"
	doc, err := Decode("lamp.yaml", []byte(text), &f)
	if err != nil {
		t.Fatal(err)
	}
	if f.Name != "Über" || f.Mode != "overlay" || len(f.Slots) != 2 || *f.Range != -0.5 || !f.Fixed || f.Caps["wash"] != "60 %" ||
		f.Caps["a.b"] != "40" || len(f.Parts) != 2 || f.Parts[0].Y != 255 || f.Parts[1].X != -2 || f.Place.X != 3 {
		t.Errorf("read %+v", f)
	}
	var p partFile
	if f.Either.Kind() != Map || !f.Either.Decode(&p) || p.X != 9 {
		t.Errorf("either: %v %+v", f.Either.Kind(), p)
	}
	for path, want := range map[string][2]int{
		"$.parts[1].x": {10, 9}, "$.parts[1]": {10, 5}, "$.parts": {7, 1}, "$.caps['a.b']": {6, 27}, "$.parts[0].z": {8, 5},
		"$.nothing": {1, 1}, "$.either.x": {12, 6},
	} {
		if line, col := doc.Place(path); line != want[0] || col != want[1] {
			t.Errorf("Place(%s) = %d:%d, want %d:%d", path, line, col, want[0], want[1])
		}
	}
	if doc.Has("$.parts[2]") || !doc.Has("$.parts[0].y") || doc.Has("nonsense") {
		t.Error("Has is wrong")
	}
}

// Each case has exactly one thing wrong; the place and the gist of the message
// must be right.
func TestEveryErrorSaysWhereAndWhatToDo(t *testing.T) {
	for _, c := range []struct{ text, at, gist string }{
		{"name: a\nmodee: own\n", "2:1", `did you mean "mode"?`},
		{"name: a\nzzz: own\n", "2:1", "known here: name, mode"},
		{"mode: own\n", "1:1", `"name" is missing`},
		{"name: a\nmode: overlai\n", "2:7", `did you mean "overlay"?`},
		{"name: a\nmode: [own]\n", "2:7", "own or overlay, not a list"},
		{"name: a\nname: b\n", "2:1", "second time (first on line 1)"},
		{"name: \"a\nmode: own\nnote: \"b\"\n", "1:7", "this quote is not closed in its line"},
		{"name: a\nslots: 5\n", "2:8", "must be a list of 1 to 3, each a whole number from 1 to 512"},
		{"name: a\nslots: [0]\n", "2:9", "slots, entry 1 is 0"},
		{"name: a\nslots: [1, 2, 3, 4]\n", "2:8", "has 4 entries: want 1 to 3"},
		{"name: a\nslots: [010]\n", "2:9", "without leading zeros"},
		{"name: a\nslots: [0x1F]\n", "2:9", "want a whole number"},
		{"name: a\nslots: [1.5]\n", "2:9", "want a whole number"},
		{"name: a\nslots: [\"5\"]\n", "2:9", "without quotes"},
		{"name: a\nrange: 0,5\n", "2:8", "the decimal sign is a point: write 0.5"},
		{"name: a\nrange: 1 %\n", "2:8", `without "%"`},
		{"name: a\nrange: 1.6\n", "2:8", "from -1 to 1.5"},
		{"name: a\nrange: .nan\n", "2:8", "want a number"},
		{"name: a\nrange: .inf\n", "2:8", "want a number"},
		{"name: a\nrange: 1e999\n", "2:8", "want a number"},
		{"name: a\nrange:\n", "2:1", "has no value"},
		{"name: ''\n", "1:7", "is empty"},
		{"name: a\nfixed: yes\n", "2:8", "want true or false"},
		{"name: a\nparts:\n  - y: 1\n", "3:5", `"x" is missing`},
		{"name: a\nparts:\n  - {x: 1, y: 256}\n", "3:15", "y is 256"},
		{"name: a\nparts: {x: 1}\n", "2:8", "not a group of keys"},
		{"name: a\npoints: {p: -1}\n", "2:13", "from 0 up"},
		{"name: a\nplace: 3\n", "2:8", "a group of keys, not a single value"},
		{"name: &x a\n", "1:7", "anchors"},
		{"name: *x\n", "1:7", "aliases"},
		{"name: !!str a\n", "1:7", "tags"},
		{"<<: {a: 1}\n", "1:1", "merge"},
		{"name: a\n---\nname: b\n", "3:1", "second document"},
		{"name: a: b\n", "1:7", "indentation"},
		{"name: a\nplace:\n\tx: 1\n", "3:1", "spaces, not with a tab"},
		{"\tname: a\n", "1:1", "spaces, not with a tab"},
		{"- a\n", "1:1", "begin with a key"},
		{"", "1:1", "empty"},
		{"# only words\n", "1:1", "empty"},
		{"name: \"a\n", "1:7", "close the quote"},
		{"name: a\xff\n", "1:1", "UTF-8"},
		{"name: a\nslots: " + strings.Repeat("[", 5000), "2:40", "deep"},
		{"name: a\nslots: " + strings.Repeat("- ", 5000), "2:", ""},
		{"name: a\nslots: [" + strings.Repeat("1, ", 60_000) + "1]\n", "2:", "too long"},
		{"name: a\nslots: [" + strings.Repeat("1 ,", 30_000) + "1]\n", "2:", "too long"},
		{"name: a\nplace: {" + manyKeys("x%d: 1, ") + "}\n", "2:", "more than 4000 keys"},
		{"name: a\nplace:\n" + manyKeys("  x%d: 1\n"), "4003:", "more than 4000 keys"},
		{"name: a\n" + strings.Repeat("#", 2<<20), " ", "bytes"},
	} {
		var f lampFile
		_, err := Decode("f.yaml", []byte(c.text), &f)
		var all Errors
		if !errors.As(err, &all) || len(all) != 1 {
			t.Errorf("%.40q: want one error, got %v", c.text, err)
			continue
		}
		if !strings.HasPrefix(err.Error(), "f.yaml:"+strings.TrimSpace(c.at)) || !strings.Contains(err.Error(), c.gist) {
			t.Errorf("%.40q: got %v\nwant f.yaml:%s … %s", c.text, err, c.at, c.gist)
		}
		if missing := map[string]string{`"name" is missing`: "$.name", `"x" is missing`: "$.parts[0].x"}[c.gist]; all[0].Missing != missing {
			t.Errorf("%.40q: %q is missing, want %q", c.text, all[0].Missing, missing)
		}
	}
}

func manyKeys(format string) string {
	var b strings.Builder
	for i := range maxKeys + 1 {
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}

// Keys that stand in many groups, as those of a list's entries do, are not
// counted as one group.
func TestAListOfManyGroupsIsRead(t *testing.T) {
	var out struct {
		Lamps []map[string]int `yaml:"lamps"`
	}
	if _, err := Decode("f.yaml", []byte("lamps:\n"+strings.Repeat("  - a: 1\n    b: 2\n", maxKeys+1)), &out); err != nil || len(out.Lamps) != maxKeys+1 {
		t.Errorf("%d lamps, %v", len(out.Lamps), err)
	}
}

func TestAllErrorsComeAtOnceInTheOrderOfTheFile(t *testing.T) {
	var f lampFile
	doc, _ := Decode("f.yaml", []byte("nam: a\nmode: x\nslots: [0, 513]\n"), &f)
	doc.Errorf("$.slots", "the slots overlap").Advise("move %s", "one")
	if !doc.Failed("$.slots") || doc.Failed("$.nothing") {
		t.Error("Failed is wrong")
	}
	err := doc.Err()
	var lines []string
	for _, l := range strings.Split(err.Error(), "\n") {
		lines = append(lines, strings.SplitN(l, " ", 2)[0])
	}
	if got := strings.Join(lines, " "); got != "f.yaml:1:1: f.yaml:1:1: f.yaml:2:7: f.yaml:3:1: f.yaml:3:9: f.yaml:3:12:" {
		t.Errorf("got %s\n%v", got, err)
	}
	if r := Report(err); !strings.Contains(r, "    2 | mode: x\n      |       ^\n") || !strings.Contains(r, "hint: move one") {
		t.Errorf("report:\n%s", r)
	}
}

func TestNearestWord(t *testing.T) {
	words := []string{"dimmer", "emitters", "tint", "cct", "never_touch"}
	for in, want := range map[string]string{
		"dimer": "dimmer", "Dimmer": "dimmer", "emiters": "emitters", "tnit": "tint", "never touch": "never_touch",
		"never-tuch": "never_touch", "ctc": "cct", "emit": "emitters", "gobo": "", "": "", "x": "",
	} {
		if got := Nearest(in, words); got != want {
			t.Errorf("Nearest(%q) = %q, want %q", in, got, want)
		}
	}
}

// FuzzDecode holds that no text makes the reader panic or hang, and that an
// error always has a place within the file.
func FuzzDecode(f *testing.F) {
	f.Add([]byte("name: a\nslots: [1, 2]\nparts:\n  - x: 1\n"))     // a good one
	f.Add([]byte("a: b: c\n- d\n\t{e: [}"))                         // broken syntax of several kinds
	f.Add([]byte("a: &x [*x, *x]\n<<: *x\n"))                       // aliases
	f.Add([]byte("? [a, b]\n: {c: d}\n"))                           // keys that are no words
	f.Add([]byte("name: |\n  text\n   more\nname: >-\n  folded\n")) // blocks
	f.Add([]byte("%YAML 1.2\n---\n!!map {a: !b c}\n...\n"))         // directives and tags
	f.Fuzz(func(t *testing.T, data []byte) {
		var v lampFile
		doc, err := Decode("f", data, &v)
		if doc == nil && err == nil {
			t.Fatal("neither document nor error")
		}
		var all Errors
		if err != nil && (!errors.As(err, &all) || len(all) == 0) {
			t.Fatalf("err is %T", err)
		}
		lines := strings.Count(string(data), "\n") + strings.Count(string(data), "\r") + 1
		for _, e := range all {
			if e.Line < 0 || e.Line > lines || e.Line > 0 && e.Col < 1 {
				t.Fatalf("%v: outside of %d lines", e, lines)
			}
			_ = Errors{e}.Report()
		}
	})
}

func TestAnEmbeddedStructLendsItsKeys(t *testing.T) {
	var f struct {
		partFile
		Z int `yaml:"z"`
	}
	if _, err := Decode("f", []byte("x: 1\nz: 2\n"), &f); err != nil || f.X != 1 || f.Z != 2 {
		t.Errorf("%+v, %v", f, err)
	}
	if _, err := Decode("f", []byte("z: 2\n"), &f); err == nil || !strings.Contains(err.Error(), `"x" is missing`) {
		t.Errorf("err = %v", err)
	}
	if s := Schema("", "", f, nil); s["properties"].(map[string]any)["y"] == nil {
		t.Errorf("schema %v", s)
	}
}
