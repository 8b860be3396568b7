package userfile

import (
	"errors"
	"fmt"
	"io/fs"
)

// NotThere is the error for a name that nothing stands behind. It wraps
// fs.ErrNotExist and knows what was looked for, so that whoever shows it can
// say how to come by one.
type NotThere struct {
	Path string
	Kind Kind
}

func (e *NotThere) Error() string {
	return fmt.Sprintf("there is no file %s, where %s should be; look at the name and at the folder", e.Path, e.Kind.Name)
}

// Unwrap makes it an fs.ErrNotExist.
func (e *NotThere) Unwrap() error { return fs.ErrNotExist }

// inWords says of a file that could not be opened what a person can do.
func inWords(path string, k Kind, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &NotThere{path, k}
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s, %s, is not open to this user; change its permissions: %w", path, k.Name, fs.ErrPermission)
	}
	return err
}
