package sacn

import (
	"sync"
	"time"
)

// LateBounds part how late frames left, for [Lateness]: the middle ones are a fifth of a frame and a whole one at 44 a second.
var LateBounds = [...]time.Duration{time.Millisecond, 2 * time.Millisecond, 5 * time.Millisecond, 10 * time.Millisecond, 23 * time.Millisecond, 50 * time.Millisecond,
	100 * time.Millisecond, time.Second}

// Lateness tells how long after it was due each frame had left: a frame is all packets of one tick, on every way out.
type Lateness struct {
	Frames uint64
	Within [len(LateBounds)]uint64 // frames that were late by no more than each of LateBounds
	Sum    time.Duration
	Worst  time.Duration
}

func (l *Lateness) add(late time.Duration) {
	l.Frames++
	l.Sum += late
	l.Worst = max(l.Worst, late)
	for i, b := range LateBounds {
		if late <= b {
			l.Within[i]++
		}
	}
}

// lateness is a Lateness that is read while it grows.
type lateness struct {
	mu sync.Mutex
	l  Lateness
}

func (l *lateness) add(late time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.l.add(late)
}

// Lateness tells how late the frames so far have left. It may be called from any goroutine.
func (s *Sender) Lateness() Lateness {
	s.late.mu.Lock()
	defer s.late.mu.Unlock()
	return s.late.l
}
