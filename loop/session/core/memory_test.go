package core

import (
	"runtime"
	"testing"
)

// What a run keeps of a lamp that it is done with is what it learnt of it: a run of
// hundreds of lamps, over hours, does not fill the machine with finished estimates.
func TestARunKeepsLittleOfALampItIsDoneWith(t *testing.T) {
	b := newBench(t, 60, func(c *Config) { c.Plan.SecondVisit = false })
	b.tell(Event{Kind: Begin})
	heap := func(lamps int) uint64 {
		b.until("lamps have outcomes", func() bool {
			b.log = nil // the shell keeps none of it either
			n := 0
			for _, u := range b.c.units {
				if u.outcome != nil {
					n++
				}
			}
			return n >= lamps
		})
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	early := heap(10)
	late := heap(50)
	each := (int64(late) - int64(early)) / 40
	t.Logf("%d bytes a lamp", each)
	if each > 64<<10 {
		t.Errorf("a finished lamp keeps %d bytes, want at most 64 KiB", each)
	}
	runtime.KeepAlive(b)
}
