package rehearse

import (
	"container/heap"
	"time"
)

// queue keeps what is going to happen in order of time; at the same moment, in the
// order in which it was put in.
type queue struct {
	items items
	seq   uint64
}

type item struct {
	at  time.Duration
	seq uint64
	do  func()
}

func (q *queue) put(at time.Duration, do func()) {
	q.seq++
	heap.Push(&q.items, item{at, q.seq, do})
}

// next takes the earliest out; ok is false when nothing is left.
func (q *queue) next() (it item, ok bool) {
	if len(q.items) == 0 {
		return it, false
	}
	return heap.Pop(&q.items).(item), true
}

type items []item

func (s items) Len() int { return len(s) }
func (s items) Less(i, j int) bool {
	return s[i].at < s[j].at || s[i].at == s[j].at && s[i].seq < s[j].seq
}
func (s items) Swap(i, j int) { s[i], s[j] = s[j], s[i] }
func (s *items) Push(x any)   { *s = append(*s, x.(item)) }
func (s *items) Pop() any {
	old := *s
	x := old[len(old)-1]
	*s = old[:len(old)-1]
	return x
}
