package mvrtest

import (
	"archive/zip"
	"bytes"
	"io"
	"math/rand/v2"
)

// Entry is a file of an archive; Store leaves it unpacked.
type Entry struct {
	Name  string
	Data  []byte
	Store bool
}

// Pack makes an archive. Its errors are a programmer's, and panic.
func Pack(entries ...Entry) []byte {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range entries {
		must(add(w, e, bytes.NewReader(e.Data)))
	}
	must(w.Close())
	return b.Bytes()
}

func add(w *zip.Writer, e Entry, data io.Reader) error {
	h := &zip.FileHeader{Name: e.Name, Method: zip.Deflate}
	if e.Store {
		h.Method = zip.Store
	}
	f, err := w.CreateHeader(h)
	if err == nil {
		_, err = io.Copy(f, data)
	}
	return err
}

func must(err error) {
	if err != nil {
		panic(err)
	}
}

// WriteWithMeshes writes a plan with meshes of so many bytes beside the entries:
// half of them random and stored, half all zero and deflated.
func WriteWithMeshes(w io.Writer, bytes int64, entries ...Entry) error {
	z := zip.NewWriter(w)
	const each = 10 << 20
	for i := int64(0); i < bytes/each; i++ {
		name := string(rune('a'+i%26)) + "-mesh.3ds"
		var data io.Reader = zeros{}
		if i%2 == 0 {
			data = rand.NewChaCha8([32]byte{byte(i)})
		}
		if err := add(z, Entry{Name: name, Store: i%2 == 0}, io.LimitReader(data, each)); err != nil {
			return err
		}
	}
	for _, e := range entries {
		f, err := z.CreateHeader(&zip.FileHeader{Name: e.Name, Method: zip.Deflate})
		if err != nil {
			return err
		}
		if _, err := f.Write(e.Data); err != nil {
			return err
		}
	}
	return z.Close()
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }
