package xmltree

import (
	"strings"
	"testing"
)

func TestATreeHasWhatIsNotSkipped(t *testing.T) {
	root, err := Parse(strings.NewReader(`<a k="v"> <skip><b>no</b></skip><b> one <!-- x -->two </b><c/><b>three</b></a>`), "skip")
	if err != nil {
		t.Fatal(err)
	}
	if root.Get("k") != "v" || root.Or("none", "x") != "x" || len(root.Kids()) != 3 || len(root.All("b")) != 2 || root.Value("b") != "one two" {
		t.Errorf("read %+v", root)
	}
	// An element that is not there is one with nothing in it.
	if n := root.Child("z").Child("y"); n != nil || n.Get("k") != "" || n.Value("b") != "" || n.All("b") != nil {
		t.Errorf("nothing is %+v", n)
	}
}

// What is skipped counts and must be well formed too.
func TestSkippedElementsAreBounded(t *testing.T) {
	for text, gist := range map[string]string{
		"<a><skip>" + strings.Repeat("<b>", MaxDepth):                      "deeper",
		"<a><skip>" + strings.Repeat("<b/>", maxSkipped+1) + "</skip></a>": "elements",
		"<a><skip><b></skip></a>":                                          "line 1",
		"<a>\n<b " + strings.Repeat("c", 9) + "='1' ccccccccc='2'/></a>":   "line 2: b has the attribute ccccccccc twice",
		"<a " + func() (s string) {
			for i := range 65 {
				s += "a" + strings.Repeat("b", i) + "='' "
			}
			return
		}() + "/>": "attributes",
	} {
		if _, err := Parse(strings.NewReader(text), "skip"); err == nil || !strings.Contains(err.Error(), gist) {
			t.Errorf("%.40s: error %v, want %q", text, err, gist)
		}
	}
	if n, err := Parse(strings.NewReader("<a>" + strings.Repeat("ä", 10*maxText) + "</a>")); err != nil || len(n.Text) > maxText || !strings.HasPrefix(n.Text, "ää") {
		t.Errorf("%d bytes of text, %v", len(n.Text), err)
	}
}

func TestAClippedTextPrints(t *testing.T) {
	for text, want := range map[string]string{"a\x1b[2J\nb\u202Ec\u00A0\uFFFD": "a [2J b c  ", strings.Repeat("ü", 81): strings.Repeat("ü", 80) + "…", "": ""} {
		if got := Clip(text); got != want {
			t.Errorf("%q became %q, want %q", text, got, want)
		}
	}
}

// No text makes the reading panic.
func FuzzParse(f *testing.F) {
	f.Add(`<a b="c"><skip/>text</a>`)       // the usual
	f.Add(`<!DOCTYPE a [<!ENTITY b "c">]>`) // refused
	f.Add(`<a xmlns:x="y"><x:b x:c="" c=""/></a>`)
	f.Fuzz(func(t *testing.T, text string) {
		if n, err := Parse(strings.NewReader(text), "skip"); (n == nil) != (err != nil) {
			t.Errorf("%v, %v", n, err)
		}
	})
}
