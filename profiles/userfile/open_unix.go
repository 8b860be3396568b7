//go:build unix

package userfile

import (
	"os"
	"syscall"
)

// open opens without waiting for a writer, should the name have become a pipe.
func open(path string) (*os.File, error) {
	return os.OpenFile(path, os.O_RDONLY|syscall.O_NONBLOCK|syscall.O_NOCTTY, 0)
}
