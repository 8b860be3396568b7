package yamlfile

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A path made with Key finds its value, however the key is spelt.
func TestPathsFindKeysOfAnySpelling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		key := rapid.StringMatching(`[ -~äß]{1,12}`).Draw(t, "key")
		if strings.TrimSpace(key) != key {
			return
		}
		text := fmt.Sprintf("first: 1\n%s: {inner: [1, 2]}\n", "'"+strings.ReplaceAll(key, "'", "''")+"'")
		var out struct {
			First int `yaml:"first"`
		}
		doc, _ := Decode("f", []byte(text), &out) // the key is unknown, its place is known
		if doc == nil || key == "first" {
			return
		}
		path := "$" + Key(key) + ".inner[1]"
		if line, col := doc.Place(path); !doc.Has(path) || line != 2 || col < 5 {
			t.Fatalf("%s is at %d:%d", path, line, col)
		}
		if doc.Has("$" + Key(key) + ".inner[2]") {
			t.Fatal("found what is not there")
		}
	})
}

func TestWrongPathsPointAtTheFile(t *testing.T) {
	var out struct {
		A int `yaml:"a"`
	}
	doc, err := Decode("f", []byte("a: 1\n"), &out)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range []string{"", "a", "$.", "$[", "$[x]", "$[-1]", "$['a'", "$['a", "$['']", "$..a", "$a", "$.a[0].b"} {
		if doc.Has(p) {
			t.Errorf("%q was found", p)
		}
		if line, col := doc.Place(p); line != 1 || col < 1 {
			t.Errorf("%q is at %d:%d", p, line, col)
		}
	}
}

func TestExcerptsShowNothingThatATerminalActsOn(t *testing.T) {
	got := excerpt([]string{"a\x1b[31m\tb\u202e" + strings.Repeat("x", 500)}, 1, 300)
	if strings.ContainsAny(got, "\x1b\u202e") || len([]rune(got)) > 300 {
		t.Errorf("excerpt %q", got)
	}
	lines := strings.Split(got, "\n")
	if len(lines) != 2 || !strings.HasSuffix(lines[1], "^") {
		t.Errorf("excerpt %q", got)
	}
	if excerpt([]string{"a"}, 2, 1) != "" || excerpt([]string{"a"}, 0, 1) != "" {
		t.Error("an excerpt of a line that is not there")
	}
}
