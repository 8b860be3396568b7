package main

import (
	"archive/zip"
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// gdtfFile packs one of our own descriptions as a GDTF file.
func gdtfFile(t *testing.T, name string) string {
	t.Helper()
	xml, err := os.ReadFile(filepath.Join(moduleRoot(t), "testdata", "gdtf", name))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "x.gdtf")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z := zip.NewWriter(f)
	w, err := z.Create("description.xml")
	if err == nil {
		_, err = w.Write(xml)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// From an archive to a profile that check takes, without a file being
// overwritten on the way.
func TestDraftFromTheCommandLine(t *testing.T) {
	quietMachine(t)
	src, dst := gdtfFile(t, "wash.xml"), filepath.Join(t.TempDir(), "draft.yaml")
	var out, errs bytes.Buffer
	if code := run([]string{"profile", "draft", src, "-o", dst}, nil, &out, &errs); code != exitLanded {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	if code := run([]string{"profile", "check", dst}, nil, &out, &errs); code != exitLanded {
		t.Errorf("the draft is no profile: %s", errs.String())
	}
	before, err := os.ReadFile(dst)
	if err != nil {
		t.Fatal(err)
	}
	errs.Reset()
	if code := run([]string{"profile", "draft", src, "-o", dst}, nil, &out, &errs); code != exitNotAll || !strings.Contains(errs.String(), "exists already") {
		t.Errorf("exit code %d: %s", code, errs.String())
	}
	if after, _ := os.ReadFile(dst); !bytes.Equal(before, after) {
		t.Error("the file was overwritten")
	}
	out.Reset()
	if code := run([]string{"profile", "draft", src}, nil, &out, &errs); code != exitLanded || !bytes.Equal(out.Bytes(), before) {
		t.Errorf("printed and written drafts differ:\n%s", out.String())
	}
	errs.Reset()
	if code := run([]string{"profile", "draft", dst}, nil, &out, &errs); code != exitNotAll || !strings.Contains(errs.String(), "not a GDTF archive") {
		t.Errorf("exit code %d: %s", code, errs.String())
	}
}
