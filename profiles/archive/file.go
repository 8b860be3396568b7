package archive

import (
	"fmt"
	"io"

	"trueup/profiles/userfile"
)

// ReadFile opens a file of a kind and reads it as read does an archive. An error of opening it says what it should have been; one of reading it
// says the path.
func ReadFile[T any](path string, k userfile.Kind, what string, read func(r io.ReaderAt, size int64) (*T, error)) (*T, error) {
	f, err := userfile.Open(path, k)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", what, err)
	}
	out, err := read(f, st.Size())
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return out, nil
}
