package main

import (
	"fmt"
	"io"
	"time"

	"trueup/cmd/trueup/report"
	"trueup/safety"
)

// draw repaints the block.
func (p *progress) draw(now time.Time) {
	if p.paint == nil || len(p.rows) == 0 {
		return
	}
	p.drawn = now
	width, height := p.paint.size()
	p.paint.draw(p.view(width, height, now), width, height)
}

// keepUp draws the block anew now and then, so that the time goes on and a window that changed its size is
// filled, until stop is called.
func (p *progress) keepUp() (stop func()) {
	if p.paint == nil {
		return func() {}
	}
	end, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		t := time.NewTicker(time.Second)
		defer t.Stop()
		for {
			select {
			case now := <-t.C:
				p.mu.Lock()
				if !p.run.Ended {
					p.draw(now)
				}
				p.mu.Unlock()
			case <-end:
				return
			}
		}
	}()
	return func() { close(end); <-ended }
}

// above is a writer for what is said while a run is shown: it stands above the block and stays.
func (p *progress) above() io.Writer { return aboveBlock{p} }

type aboveBlock struct{ p *progress }

// Write implements io.Writer.
func (a aboveBlock) Write(b []byte) (int, error) {
	a.p.mu.Lock()
	defer a.p.mu.Unlock()
	return a.p.putAbove(b, time.Now())
}

func (p *progress) putAbove(b []byte, now time.Time) (int, error) {
	if p.paint == nil {
		return p.w.Write(b)
	}
	p.paint.erase()
	n, err := p.w.Write(b)
	if len(b) > 0 && b[len(b)-1] == '\n' && !p.run.Ended {
		p.draw(now)
	}
	return n, err
}

// call rings the bell of the terminal, past the writer that shows controls as text, and says what wants a person on a line
// that is not drawn over.
func (p *progress) call(note string) {
	p.mu.Lock()
	io.WriteString(p.paint.w, "\a")
	p.mu.Unlock()
	fmt.Fprintln(p.above(), note)
}

// close takes the block away and says what the run took, until its lamps were handed back at rested, and what it waited for. As where it
// was predicted, what comes before its first entry and after its last is of it.
func (p *progress) close(l safety.Limits, rested time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.paint != nil {
		p.paint.erase()
	}
	s := p.run.Waiting.Spent()
	if p.run.Done == 0 || s.Total() < time.Second {
		return
	}
	around := p.began.Sub(p.asked) + rested.Sub(p.run.Now)
	fmt.Fprintf(p.w, "the run took %s: %s; %s to listen, to take over and to hand back\n", report.Roughly(p.run.Now.Sub(p.run.Began)+around), report.SpentWords(s), report.Roughly(around))
	if words := fasterWords(s, l); words != "" {
		fmt.Fprintln(p.w, words)
	}
}
