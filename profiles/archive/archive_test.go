package archive_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"trueup/profiles/archive"
)

var limits = archive.Limits{Kind: "test archive", Size: 1 << 30, Directory: 1 << 20, Entries: 100}

type entry struct {
	name  string
	data  []byte
	store bool
}

func pack(t testing.TB, entries ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range entries {
		h := &zip.FileHeader{Name: e.name, Method: zip.Deflate}
		if e.store {
			h.Method = zip.Store
		}
		f, err := w.CreateHeader(h)
		if err == nil {
			_, err = f.Write(e.data)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func open(t testing.TB, data []byte, budget int64) *archive.Archive {
	t.Helper()
	a, err := archive.Open(bytes.NewReader(data), int64(len(data)), limits, archive.NewBudget(budget))
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func readAll(a *archive.Archive, name string, bound int64) ([]byte, error) {
	rc, err := a.Open(name, bound)
	if err != nil {
		return nil, err
	}
	defer rc.Close()
	return io.ReadAll(rc)
}

// Names are exact, and those of folders are not the root's.
func TestOnlyTheRootIsLookedAt(t *testing.T) {
	data := pack(t, entry{"a.txt", []byte("one"), false}, entry{"B.txt", []byte("two"), true}, entry{"x/c.txt", nil, false}, entry{"../d.txt", nil, false},
		entry{`x\e.txt`, nil, false}, entry{"/f.txt", nil, false}, entry{"twice", nil, false}, entry{"twice", nil, false}, entry{"u", nil, true}, entry{"U", nil, true})
	a := open(t, data, 100)
	if got, err := readAll(a, "a.txt", 10); err != nil || string(got) != "one" {
		t.Errorf("a.txt is %q, %v", got, err)
	}
	for _, name := range []string{"A.txt", "b.txt", "c.txt", "x/c.txt", "d.txt", "../d.txt", "e.txt", "f.txt", "/f.txt", ""} {
		if _, err := readAll(a, name, 10); !errors.Is(err, archive.ErrMissing) || a.Has(name) {
			t.Errorf("%q: %v", name, err)
		}
	}
	if _, err := readAll(a, "twice", 10); err == nil || !strings.Contains(err.Error(), "which one counts") {
		t.Errorf("twice: %v", err)
	}
	if got := a.Fold("b.TXT"); got != "B.txt" {
		t.Errorf("b.TXT is taken for %q", got)
	}
	if got := a.Fold("U") + a.Fold("none"); got != "" {
		t.Errorf("a guess between two names, or none: %q", got)
	}
}

// The bound of an entry ends a read with an error, and the budget that of all,
// archives in the archive included.
func TestWhatIsUnpackedIsBoundedInSum(t *testing.T) {
	inner := pack(t, entry{"big", make([]byte, 60_000), false})
	data := pack(t, entry{"a", make([]byte, 60_000), false}, entry{"in", inner, false}, entry{"stored", inner, true})
	if _, err := readAll(open(t, data, 1<<20), "a", 59_999); err == nil || !strings.Contains(err.Error(), "a unpacks to more than 58 KiB") {
		t.Errorf("beyond the entry's bound: %v", err)
	}
	budget := archive.NewBudget(130_000)
	outer := bytes.NewReader(data)
	a, err := archive.Open(outer, outer.Size(), limits, budget)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := readAll(a, "a", 60_000); err != nil {
		t.Fatal(err)
	}
	var buf bytes.Buffer
	for i, name := range []string{"in", "stored"} {
		r, n, err := a.Inner(outer, name, 1<<20, &buf)
		if err != nil {
			t.Fatal(name, err)
		}
		b, err := archive.Open(r, n, limits, budget)
		if err != nil {
			t.Fatal(name, err)
		}
		got, err := readAll(b, "big", 60_000)
		if i == 0 && (err != nil || len(got) != 60_000) {
			t.Errorf("%s: %d bytes, %v", name, len(got), err)
		}
		if i == 1 && !errors.Is(err, archive.ErrSpent) {
			t.Errorf("120 000 bytes and more of 130 000 are spent, and 60 000 more: %v", err)
		}
	}
}

func TestWhatCanNotBeUnpackedIsNamed(t *testing.T) {
	good := pack(t, entry{"a", bytes.Repeat([]byte("abc"), 1000), false})
	dir := bytes.LastIndex(good, []byte("PK\x01\x02"))
	change := func(at int, v byte) []byte { b := bytes.Clone(good); b[at] = v; return b }
	for _, c := range []struct {
		name, gist string
		data       []byte
	}{
		{"encrypted", "a is encrypted", change(dir+8, good[dir+8]|1)},
		{"another method", "packed by method 12", change(dir+10, 12)},
		{"damaged", "a: ", change(40, good[40]^0x55)},
		{"wrong sum", "checksum", change(dir+16, good[dir+16]^1)},
	} {
		if _, err := readAll(open(t, c.data, 1<<20), "a", 1<<20); err == nil || !strings.Contains(err.Error(), c.gist) {
			t.Errorf("%s: error %v, want %q", c.name, err, c.gist)
		}
	}
}
