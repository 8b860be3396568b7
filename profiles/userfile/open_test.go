package userfile

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func write(t *testing.T, name string, size int64) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := f.Truncate(size); err != nil { // takes no room on the disk
		t.Fatal(err)
	}
	return path
}

func TestAFileOfItsKindIsRead(t *testing.T) {
	path := write(t, "rig.yaml", 100)
	for _, p := range []string{path, link(t, path)} {
		data, err := Read(p, Rig)
		if err != nil || len(data) != 100 {
			t.Errorf("%s: %d bytes, %v", p, len(data), err)
		}
	}
	if data, err := Read(write(t, "most", Rig.Max), Rig); err != nil || int64(len(data)) != Rig.Max {
		t.Errorf("the largest that is allowed: %d bytes, %v", len(data), err)
	}
}

func link(t *testing.T, to string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(to, path); err != nil {
		t.Skip("no links here: ", err)
	}
	return path
}

func TestWhatIsNoFileOfItsKindSaysWhatToDo(t *testing.T) {
	for _, c := range []struct {
		name, path string
		words      []string
	}{
		{"one byte more than allowed", write(t, "rig.yaml", Rig.Max+1), []string{"rig.yaml", "too large", "a rig has at most 256 KiB", "is it the right file?"}},
		{"100 MB", write(t, "film.yaml", 100<<20), []string{"too large"}},
		{"a folder", t.TempDir(), []string{"a folder", "a rig is wanted", "name the file in it"}},
	} {
		_, err := Read(c.path, Rig)
		if !errors.Is(err, ErrKind) {
			t.Errorf("%s: %v, want ErrKind", c.name, err)
			continue
		}
		for _, w := range c.words {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %v: does not say %q", c.name, err, w)
			}
		}
	}
	if _, err := Read(filepath.Join(t.TempDir(), "none.yaml"), Rig); !errors.Is(err, fs.ErrNotExist) || errors.Is(err, ErrKind) {
		t.Errorf("a missing file: %v, want fs.ErrNotExist", err)
	}
}
