package table

import (
	"strings"
	"testing"
)

func TestATableGivesItsColumnsByName(t *testing.T) {
	d, err := Read("# power; invented\nwavelength_nm,A,b\n400,1,2\n405,3,4\n410,5,6\n")
	if err != nil {
		t.Fatal(err)
	}
	if d.Source != "power; invented" || d.StartNM != 400 || d.StepNM != 5 || d.Len() != 3 || d.Column("B")[1] != 4 || d.Column("c") != nil {
		t.Errorf("%+v", d)
	}
}

func TestABrokenTableNamesTheLine(t *testing.T) {
	const head = "# s\nnm,a\n"
	for text, want := range map[string]string{
		head + "400,1\n405,x\n":        "line 4",
		head + "400,1\n405,1,2\n":      "line 4",
		head + "400,1\n405,1\n411,1\n": "not even",
		head + "400,1\n395,1\n":        "not even",
		head + "400,1\n405,NaN\n":      "line 4",
		head + "400,1\n":               "two rows",
		"nm,a\n400,1\n405,1\n":         "source line",
		"":                             "source line",
	} {
		if _, err := Read(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	defer func() {
		if recover() == nil {
			t.Error("Must takes a broken table")
		}
	}()
	Must("")
}
