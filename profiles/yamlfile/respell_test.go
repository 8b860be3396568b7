package yamlfile_test

import (
	"strings"
	"testing"

	"trueup/profiles/yamlfile"
)

// A key may be written colour or color, whichever the format has; errors stand at
// the line that was written. Both at once is an error.
func TestBothSpellingsOfColourAreRead(t *testing.T) {
	type file struct {
		Color string `yaml:"color"`
		Lamp  struct {
			Colour string `yaml:"colour"`
		} `yaml:"lamp"`
	}
	read := func(text string) (file, *yamlfile.Doc, error) {
		var f file
		d, err := yamlfile.Decode("f.yaml", []byte(text), &f)
		if err == nil {
			err = d.Err()
		}
		return f, d, err
	}
	f, d, err := read("lamp:\n  color: red\ncolour: D65\n")
	if err != nil || f.Color != "D65" || f.Lamp.Colour != "red" {
		t.Fatalf("%+v, %v", f, err)
	}
	if line, _ := d.Place("$.color"); line != 3 {
		t.Errorf("an error of the colour would stand in line %d, want 3", line)
	}
	if _, _, err := read("color: D65\ncolour: D50\n"); err == nil || !strings.Contains(err.Error(), "colour") {
		t.Errorf("two colours were taken: %v", err)
	}
}
