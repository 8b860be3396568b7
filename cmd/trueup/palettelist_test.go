package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trueup/colorcalc/expr"
)

// A list of colours says each of them as it would be typed; a fault in it is told with line and column.
func TestAPaletteList(t *testing.T) {
	got, err := readPaletteList("../../examples/palettes/whites.txt")
	if err != nil || len(got) != 8 || got[0] != "2700 K" || got[5] != "5600 K duv +0.004" {
		t.Errorf("%q: %v", got, err)
	}
	for name, c := range map[string]struct{ text, want string }{
		"byte order and line ends": {"\uFEFF3200 K\r\nD65 # noon\r\n", ""},
		"no such colour":           {"3200 K\n\n   mauveish\n", "list.txt:3:4: "},
		"nothing but comments":     {"# soon\n\n", "holds no colour"},
		"no text":                  {"3200 K\n\xff\xfe", "is no text"},
		"without end":              {strings.Repeat("D65\n", mostColours+1), "more than 500 colours"},
	} {
		path := filepath.Join(t.TempDir(), "list.txt")
		if err := os.WriteFile(path, []byte(c.text), 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := readPaletteList(path)
		switch {
		case c.want == "" && (err != nil || !slices.Equal(got, []string{"3200 K", "D65"})):
			t.Errorf("%s: %q, %v", name, got, err)
		case c.want != "" && (err == nil || !strings.Contains(err.Error(), c.want)):
			t.Errorf("%s: %v; want %q", name, err, c.want)
		}
	}
}

// Whatever a list holds, what is read of it are colours, and a fault names the file.
func FuzzPaletteList(f *testing.F) {
	f.Add("3200 K\nD65 # noon\n")
	f.Add("x 0.3 y 0.3\n  mauve\n#")
	path := filepath.Join(f.TempDir(), "list.txt")
	f.Fuzz(func(t *testing.T, text string) {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := readPaletteList(path)
		if err != nil {
			if !strings.Contains(err.Error(), path) {
				t.Errorf("%q: %v", text, err)
			}
			return
		}
		for _, c := range got {
			if _, err := expr.Parse(c); err != nil {
				t.Errorf("%q: %v", c, err)
			}
		}
	})
}
