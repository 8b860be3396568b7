package looptest

import (
	"runtime"
	"sync"
)

// PlayAll plays one method on the first n cases of a class, on all processors.
// The order of the result is that of the cases.
func (cl Class) PlayAll(m Method, seed uint64, n int) []Run {
	out := make([]Run, n)
	each(n, func(i int) { out[i] = cl.NewCase(seed, i).Play(m) })
	return out
}

// each calls f for 0..n-1 on all processors.
func each(n int, f func(i int)) {
	var all sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	all.Wait()
}
