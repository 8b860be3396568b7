package rig

import (
	"maps"
	"slices"
	"strconv"
)

func keys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func percent(v float64) string { return strconv.FormatFloat(v*100, 'g', 4, 64) + " %" }
