//go:build !unix

package userfile

import "os"

func open(path string) (*os.File, error) { return os.Open(path) }
