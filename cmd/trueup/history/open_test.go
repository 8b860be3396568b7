package history

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// An index that somebody does not wait for any longer stays: what it has taken in counts the next time.
func TestAnIndexThatIsNotWaitedForStays(t *testing.T) {
	root := folder(t)
	x, err := Open(t.Context(), root, false)
	if err != nil {
		t.Fatal(err)
	}
	x.Close()
	path := filepath.Join(root, FileName)
	before, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	over, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Open(over, root, false); !errors.Is(err, context.Canceled) {
		t.Errorf("opened when nobody waits any more: %v", err)
	}
	after, err := os.Stat(path)
	if err != nil || !os.SameFile(before, after) || after.Size() != before.Size() {
		t.Errorf("the index is gone, or another: %v", err)
	}
}

// An address without its slashes is none: what follows would be taken for anything but the password that it holds.
func TestAnAddressHasItsSlashes(t *testing.T) {
	for _, address := range []string{"postgres:hall:sesame@host/lamps", "POSTGRES:hall:sesame@host/lamps", "hall:sesame@host/lamps"} {
		if err := CheckAddress(address); err == nil {
			t.Errorf("%s is taken", address)
		}
	}
	if err := CheckAddress("postgres://hall@host:5432/lamps"); err != nil {
		t.Error(err)
	}
}
