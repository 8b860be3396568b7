package profiles

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
)

// maxSpectrum bounds a spectrum file.
const maxSpectrum = 1 << 20

func readBounded(path string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxSpectrum+1))
	if err == nil && len(data) > maxSpectrum {
		err = fmt.Errorf("%s: more than %d bytes", path, maxSpectrum)
	}
	return data, err
}

func quoted(words []string) string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = strconv.Quote(w)
	}
	return strings.Join(q, ", ")
}
