package printable

import (
	"bytes"
	"encoding/json"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf8"
)

// What a hostile name may hold: clear the screen, the same by its single
// character, a title, a line end, an override, isolates, no width, tags.
const hostile = "a\x1b[2Jb\u009b2Jc\x1b]0;owned\x07d\ne\r\u202ef\u2066g\u200bh\u200f\ufeffi\U000e0041j\x00\x7f\xff"

func harmless(t *testing.T, s, allowed string) {
	t.Helper()
	if !utf8.ValidString(s) {
		t.Errorf("%q is not UTF-8", s)
	}
	for _, r := range s {
		if !Rune(r) && !strings.ContainsRune(allowed, r) {
			t.Errorf("%q holds %U", s, r)
		}
	}
}

func TestForeignTextOnlyPrints(t *testing.T) {
	harmless(t, Text(hostile), "")
	if got := Text("Bühne 3 – élan\u00a0ℓ 光"); got != "Bühne 3 – élan\u00a0ℓ 光" {
		t.Errorf("harmless text became %q", got)
	}
	if got := Text("a\x1bb\u202ec"); got != `a\u001bb\u202ec` {
		t.Errorf("got %q", got)
	}
	if n := utf8.RuneCountInString(Text(strings.Repeat("x", 1000))); n != 201 {
		t.Errorf("a long text has %d characters", n)
	}
}

func TestAWriterEscapesAcrossPieces(t *testing.T) {
	for _, whole := range []bool{true, false} {
		var out bytes.Buffer
		from := io.Reader(strings.NewReader(hostile + "é\t光\n"))
		if !whole {
			from = iotest.OneByteReader(from)
		}
		if _, err := io.Copy(struct{ io.Writer }{NewWriter(&out)}, struct{ io.Reader }{from}); err != nil {
			t.Fatal(err)
		}
		harmless(t, out.String(), "\n\t")
		if !strings.HasSuffix(out.String(), "é\t光\n") {
			t.Errorf("ends with %q", out.String())
		}
	}
}

// JSON stays JSON of the same meaning.
func TestJSONKeepsItsMeaning(t *testing.T) {
	var out bytes.Buffer
	if err := json.NewEncoder(NewWriter(&out)).Encode(hostile); err != nil {
		t.Fatal(err)
	}
	harmless(t, out.String(), "\n")
	var back string
	if err := json.Unmarshal(out.Bytes(), &back); err != nil || back != strings.ToValidUTF8(hostile, "\ufffd") {
		t.Errorf("%q, %v", back, err)
	}
}
