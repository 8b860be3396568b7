package archive

import (
	"archive/zip"
	"compress/flate"
	"errors"
	"fmt"
	"io"
)

// plain says what the libraries' errors about damaged archives mean.
func plain(err error) error {
	var corrupt flate.CorruptInputError
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		// The cause is left out on purpose: io.EOF is what a reader of the entry
		// takes for its regular end.
		return errors.New("it is cut short or damaged; get the file again")
	case errors.As(err, &corrupt):
		return fmt.Errorf("it is damaged at byte %d of its packed data; get the file again", int64(corrupt))
	case errors.Is(err, zip.ErrChecksum):
		return errors.New("it is damaged: its checksum does not fit; get the file again")
	case errors.Is(err, zip.ErrFormat):
		return errors.New("its directory or one of its entries is damaged; get the file again")
	}
	return err
}
