package page

import (
	"fmt"
	"testing"
	"time"
)

// halfAnHour are the updates of 30 minutes, at ten a second.
const halfAnHour = 30 * 60 * 10

// A page that shows a long run grows no further once its log and its paths are full, nor does the program: after so many
// updates more, every one drawn or at least taken in, and a line of the log with each, both hold what they held.
func TestAPageThatIsOpenForLongDoesNotGrow(t *testing.T) {
	w := openWall(t)
	const full, end = 420, 840
	w.play(0, full)
	before := w.kept()
	w.play(full, end)
	after := w.kept()
	t.Logf("after %d updates %v; after %d %v", full, before, end, after)
	if n := w.js(`document.getElementById("log").childElementCount`); n != fmt.Sprint(logLines) {
		t.Errorf("the page keeps %s lines of the log, want %d", n, logLines)
	}
	if s := w.board.Now(); len(s.Log) != logLines || len(s.Paths[0]) != pathSteps {
		t.Errorf("the program keeps %d lines and a path of %d steps, want %d and %d", len(s.Log), len(s.Paths[0]), logLines, pathSteps)
	}
	// What is kept of each update, of only one of 400 fixtures, would show.
	if grown := after.nodes - before.nodes; grown > end-full {
		t.Errorf("the page has %.0f nodes more", grown)
	}
	if grown := after.listeners - before.listeners; grown > end-full {
		t.Errorf("the page has %.0f listeners more", grown)
	}
	if grown := after.heap - before.heap; grown > 2 {
		t.Errorf("the page holds %.1f MB more", grown)
	}
	if grown := after.server - before.server; grown > 2*keptBytes/1e6 {
		t.Errorf("the program holds %.1f MB more", grown)
	}
}

// BenchmarkPageOpenForHalfAnHour has a page take in the updates of 30 minutes, 400 fixtures ten times a second, as fast as it can, and
// prints what it and the program hold on the way.
func BenchmarkPageOpenForHalfAnHour(b *testing.B) {
	w := openWall(b)
	const parts = 6
	for k := range parts {
		w.play(k*halfAnHour/parts, (k+1)*halfAnHour/parts)
		b.Logf("after %d updates: %v", (k+1)*halfAnHour/parts, w.kept())
	}
}

// play has the page take in updates, each a message of its own, and waits for it so often that it misses none.
func (w *wallOf) play(from, to int) {
	w.t.Helper()
	for k := from; k < to; k++ {
		w.tell(k)
		if k%50 == 49 || k == to-1 {
			w.until(fmt.Sprintf(`document.querySelector("#log li")?.textContent.endsWith("update %d")`, k+1))
		}
	}
}

// tell sends one update in a message of its own; k counts them.
func (w *wallOf) tell(k int) {
	w.now = w.now.Add(100 * time.Millisecond)
	w.update(k, 0.0001*float64(1+k%9000))
	w.board.Say(fmt.Sprint("update ", k+1), false)
	w.board.flush()
}
