package stage

import (
	"hash/fnv"
	"math/rand/v2"
)

// source makes the random source of one thing: the same seed and name give the
// same lamp whatever else stands on the stage.
func source(seed uint64, name string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(name))
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// spread draws uniformly from -w..w: lamps are sorted into bins, and a bin has
// edges, not a bell.
func spread(r *rand.Rand, w float64) float64 { return w * (2*r.Float64() - 1) }
