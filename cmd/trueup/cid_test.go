package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
)

// An installation keeps one identity, and twenty programs that start for the
// first time together agree on it.
func TestCIDIsOneForAnInstallation(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "config", "trueup")
	var wg sync.WaitGroup
	got := make([][16]byte, 20)
	for i := range got {
		wg.Go(func() {
			cid, err := installationCID(dir)
			if err != nil {
				t.Error(err)
			}
			got[i] = cid
		})
	}
	wg.Wait()
	for i := range got {
		if got[i] != got[0] || got[i] == ([16]byte{}) {
			t.Fatalf("program %d has %x, program 0 has %x", i, got[i], got[0])
		}
	}
	text, err := os.ReadFile(filepath.Join(dir, "cid"))
	if err != nil {
		t.Fatal(err)
	}
	// The form of a version 4 UUID, RFC 9562 sections 4 and 5.4.
	form := regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}\n$`)
	if !form.Match(text) {
		t.Errorf("file holds %q, which is not a version 4 UUID", text)
	}
	left, _ := filepath.Glob(filepath.Join(dir, "*"))
	if len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
	other, err := installationCID(filepath.Join(t.TempDir(), "trueup"))
	if err != nil || other == got[0] {
		t.Errorf("another installation has the same identity %x (%v)", other, err)
	}
}

func TestSpoiltCIDFileIsSaidAndNotReplaced(t *testing.T) {
	for _, text := range []string{"", "hello", "00000000-0000-0000-0000-000000000000", strings.Repeat("f", 36), "6ba7b810-9dad-11d1-80b4-00c04fd430cg"} {
		dir := t.TempDir()
		path := filepath.Join(dir, "cid")
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		_, err := installationCID(dir)
		if err == nil || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "delete the file") {
			t.Errorf("%q: error %v does not say where and what to do", text, err)
		}
		if after, _ := os.ReadFile(path); string(after) != text {
			t.Errorf("%q was replaced by %q", text, after)
		}
	}
}
