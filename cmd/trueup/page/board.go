package page

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
	"time"

	"trueup/loop/session"
)

const (
	// pace is the least time between two messages to the pages: as often as an eye sees a list change.
	pace = 50 * time.Millisecond
	// gather is waited for before a message: what comes together, of many fixtures, is told, drawn and
	// laid out once.
	gather = 4 * time.Millisecond
	// kept are the messages that a page which was away can still be sent; one that was away longer
	// is sent the whole state.
	kept = 512
	// keptBytes bounds them too: with hundreds of fixtures at work a message is tens of kilobytes, and a phone that was away
	// for half a minute is sent the whole state sooner than all that it has missed.
	keptBytes = 4 << 20
)

// Board is what all pages of a program show. Its methods may be called from any goroutine, and none waits
// for a page: one that reads slowly misses messages and is then sent the whole state.
type Board struct {
	mu    sync.Mutex
	fold  fold
	epoch string // tells messages of this program from those of an earlier one

	// wholeNow is the state as JSON, made when somebody needed it after the message wholeAt; nil: not yet. It holds all
	// that was told up to that message, and what comes after it is told by the next. So pages that ask for
	// everything over and over do not hold up the run, which waits for this lock with every entry.
	wholeNow []byte
	wholeAt  uint64

	first uint64    // number of ring[0]
	ring  []message // the last ones
	bytes int       // of them
	news  chan struct{}

	wake chan struct{}
}

// message is one event as the pages get it.
type message struct {
	whole bool // a State, not a Change
	data  []byte
}

// NewBoard makes an empty board for a rig. words gives the plain line of an entry, "" for none. epoch must
// differ from that of every earlier board which a page may remember.
func NewBoard(rig, epoch string, words func(session.Entry) string) *Board {
	b := &Board{epoch: epoch, news: make(chan struct{}), wake: make(chan struct{}, 1), first: 1}
	b.fold = fold{words: words, rows: map[int]bool{}, index: map[string]int{}}
	b.fold.state = State{Top: Top{Rig: rig, Phase: Idle, At: []int{}, Health: []Health{}}, Fixtures: []Fixture{}, Rows: []Row{}, Paths: [][]Point{}, Log: []Line{}}
	return b
}

// Run passes changes on until ctx ends.
func (b *Board) Run(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-b.wake:
		}
		if !waited(ctx, gather) {
			return
		}
		b.flush()
		if !waited(ctx, pace-gather) {
			return
		}
	}
}

// waited tells whether d has passed before ctx ended.
func waited(ctx context.Context, d time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-time.After(d):
		return true
	}
}

// flush makes a message of what has changed, once for all pages.
func (b *Board) flush() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fold.catchUp()
	if !b.fold.changed() {
		return
	}
	m := message{whole: b.fold.fresh}
	var err error
	if m.whole {
		m.data, err = json.Marshal(b.fold.state)
	} else {
		m.data, err = json.Marshal(b.fold.change())
	}
	b.fold.settled()
	if err != nil { // only a figure that is no number could do that, and the journal refuses those
		return
	}
	b.keep(m)
	close(b.news)
	b.news = make(chan struct{})
}

// keep adds a message to the last ones. Where they are too many the older half goes.
func (b *Board) keep(m message) {
	b.ring = append(b.ring, m)
	if b.bytes += len(m.data); len(b.ring) <= kept && b.bytes <= keptBytes {
		return
	}
	old := 0
	for old < len(b.ring)-1 && (len(b.ring)-old > kept/2 || b.bytes > keptBytes/2) {
		b.bytes -= len(b.ring[old].data)
		old++
	}
	b.ring = slices.Clone(b.ring[old:]) // so that what went is not held
	b.first += uint64(old)
}

// Entry takes in an entry of a run's journal; it is what a Job's Listen calls.
func (b *Board) Entry(e session.Entry) { b.do(func(f *fold) { f.entry(e) }) }

// Say adds a line to the log.
func (b *Board) Say(text string, loud bool) {
	now := time.Now()
	b.do(func(f *fold) { f.say(now, text, loud) })
}

// Top changes what is said of the whole.
func (b *Board) Top(set func(*Top)) {
	b.do(func(f *fold) {
		f.catchUp() // what is set comes after the entries before it
		set(&f.state.Top)
		f.top = true
	})
}

func (b *Board) do(what func(*fold)) {
	b.mu.Lock()
	what(&b.fold)
	b.mu.Unlock()
	select {
	case b.wake <- struct{}{}:
	default:
	}
}

// Now is what the pages show, as it is at this moment.
func (b *Board) Now() State {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fold.catchUp()
	s := b.fold.state // what its pointers lead to is replaced, never changed
	s.Rows, s.Log, s.Paths = slices.Clone(s.Rows), slices.Clone(s.Log), slices.Clone(s.Paths)
	for i, p := range s.Paths {
		s.Paths[i] = append([]Point{}, p...)
	}
	return s
}

// Phase is how far the run has come.
func (b *Board) Phase() Phase {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.fold.state.Top.Phase
}

// id names the n-th message.
func (b *Board) id(n uint64) string { return fmt.Sprintf("%s-%d", b.epoch, n) }

// since gives the messages after the one with an id, the number of the last, and a channel that is closed
// when there are more. An id that is not known, or too old, gets the whole state first.
func (b *Board) since(n uint64, known bool) (all []message, last uint64, more <-chan struct{}, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	last = b.first + uint64(len(b.ring)) - 1
	if known && n >= b.first-1 && n <= last {
		return b.ring[n-(b.first-1):], last, b.news, nil
	}
	if b.wholeNow != nil && b.wholeAt == last && !b.fold.fresh {
		return []message{{true, b.wholeNow}}, last, b.news, nil
	}
	// What has changed since the last message comes with the next one again, which does no harm but for
	// lines of the log; those are left out here.
	b.fold.catchUp()
	s := b.fold.state
	s.Log = s.Log[:len(s.Log)-b.fold.added]
	data, err := json.Marshal(s)
	if b.wholeNow, b.wholeAt = data, last; err != nil {
		b.wholeNow = nil
	}
	return []message{{true, data}}, last, b.news, err
}

// numberOf reads an id that this board gave out.
func (b *Board) numberOf(id string) (n uint64, ok bool) {
	var rest string
	if len(id) <= len(b.epoch)+1 || id[:len(b.epoch)] != b.epoch || id[len(b.epoch)] != '-' {
		return 0, false
	}
	rest = id[len(b.epoch)+1:]
	if _, err := fmt.Sscanf(rest, "%d", &n); err != nil || fmt.Sprint(n) != rest {
		return 0, false
	}
	return n, true
}
