package archive

import (
	"errors"
	"fmt"
	"io"
)

// Budget is the number of bytes that may still be unpacked, from an archive
// and from archives in it together.
type Budget struct{ total, left int64 }

// NewBudget makes a budget of so many bytes.
func NewBudget(bytes int64) *Budget { return &Budget{bytes, bytes} }

// ErrSpent says that an archive and those in it unpack to more than allowed.
var ErrSpent = errors.New("the archive unpacks to too much")

// bounded reads an entry, up to its own bound and the budget's.
type bounded struct {
	io.ReadCloser
	name        string
	bound, left int64
	budget      *Budget
}

// Read fails on the first byte beyond one of the bounds.
func (b *bounded) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	b.left -= int64(n)
	b.budget.left -= int64(n)
	switch {
	case b.left < 0:
		return 0, fmt.Errorf("%s unpacks to more than %s", b.name, size(b.bound))
	case b.budget.left < 0:
		return 0, fmt.Errorf("%w: more than %s in all", ErrSpent, size(b.budget.total))
	case err != nil && err != io.EOF:
		return n, fmt.Errorf("%s: %w", b.name, plain(err))
	}
	return n, err
}

func size(bytes int64) string {
	if bytes < 1<<20 {
		return fmt.Sprintf("%d KiB", bytes>>10)
	}
	return fmt.Sprintf("%d MiB", bytes>>20)
}
