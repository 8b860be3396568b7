package rig

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
)

func keys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func percent(v float64) string { return strconv.FormatFloat(v*100, 'g', 4, 64) + " %" }

func readBounded(f io.Reader) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(f, maxFile+1))
	if err == nil && len(data) > maxFile {
		err = fmt.Errorf("larger than %d MiB: not a rig file", maxFile>>20)
	}
	return data, err
}
