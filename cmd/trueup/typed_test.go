package main

import (
	"bytes"
	"strings"
	"testing"
)

// A path stands in a command so that a shell takes it as one word.
func TestAPathIsTypedAsOneWord(t *testing.T) {
	for _, c := range []struct{ system, path, want string }{
		{"linux", "shows/Bühne 3/rig.yaml", "'shows/Bühne 3/rig.yaml'"},
		{"linux", "shows/Bühne/rig.yaml", "shows/Bühne/rig.yaml"},
		{"linux", "it's.yaml", `'it'\''s.yaml'`},
		{"linux", "$HOME", "'$HOME'"},
		{"windows", `C:\shows\rig.yaml`, `C:\shows\rig.yaml`},
		{"windows", `C:\my shows\rig.yaml`, `"C:\my shows\rig.yaml"`},
	} {
		if got := typedOn(c.system, c.path); got != c.want {
			t.Errorf("%s: %s is typed as %s, want %s", c.system, c.path, got, c.want)
		}
	}
}

// What is said to be typed after an example was copied into a folder with a space in its name can be typed.
func TestACommandToCopyHoldsItsPath(t *testing.T) {
	t.Chdir(t.TempDir())
	var out bytes.Buffer
	if code := run([]string{"rig", "copy-example", "beside-a-desk", "my show"}, nil, &out, &out); code != exitLanded {
		t.Fatal(out.String())
	}
	if want := "trueup stage 'my show/rig.yaml' --desk"; !strings.Contains(out.String(), want) {
		t.Errorf("want %q in\n%s", want, out.String())
	}
}
