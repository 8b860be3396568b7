package feed

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"trueup/loop/feed/instrument"
	"trueup/profiles/printable"
)

// unanswered polls in a row after which a link counts as dead.
const unanswered = 3

// stream talks with an instrument over a byte stream until it breaks or ctx
// ends: the start dialogue, then lines as they come or one for every request,
// at the end the stop dialogue. It closes rw.
func stream(ctx context.Context, rw io.ReadWriteCloser, l *link) error {
	ins := l.f.cfg.Instrument
	if ins == nil || !ins.Talks() {
		stop := context.AfterFunc(ctx, func() { rw.Close() })
		defer rw.Close()
		defer stop()
		l.up()
		return lines(rw, l.f.cfg.end(), l.f.cfg.MaxLine, func(b []byte) error {
			if err := l.flooded(); err != nil {
				return err
			}
			l.heard(b, "")
			l.line(b, time.Time{})
			return nil
		}, l.tooLong)
	}
	d := &dialogue{ins: ins, l: l, w: rw, in: make(chan []byte), done: make(chan struct{})}
	ended := make(chan error, 1)
	go func() {
		ended <- lines(rw, lineEnd(ins.End), l.f.cfg.MaxLine, func(b []byte) error {
			if err := l.flooded(); err != nil {
				return err
			}
			l.heard(b, "")
			select {
			case d.in <- bytes.Clone(b):
				return nil
			case <-d.done:
				return io.ErrClosedPipe
			}
		}, l.tooLong)
		close(d.in)
	}()
	err := d.talk(ctx)
	close(d.done)
	if ctx.Err() != nil {
		d.stopDialogue()
	}
	rw.Close()
	if e := <-ended; errors.Is(err, errStreamEnded) && e != nil {
		err = e
	}
	return err
}

var errStreamEnded = errors.New("the meter closed the connection: it was switched off, or serves another program")

// dialogue is the conversation of one link.
type dialogue struct {
	ins  *instrument.Instrument
	l    *link
	w    io.Writer
	in   chan []byte
	done chan struct{}
	last []byte // what was sent last, to know its echo
}

func (d *dialogue) send(b []byte) error {
	if len(b) == 0 {
		return nil
	}
	if w, ok := d.w.(interface{ SetWriteDeadline(time.Time) error }); ok {
		w.SetWriteDeadline(time.Now().Add(5 * time.Second))
	}
	d.last = bytes.TrimSpace(b)
	d.l.sent(b)
	_, err := d.w.Write(b)
	return err
}

func (d *dialogue) isEcho(line []byte) bool {
	return d.ins.Echo && len(d.last) > 0 && bytes.Equal(bytes.TrimSpace(line), d.last)
}

func (d *dialogue) talk(ctx context.Context) error {
	for i := range d.ins.Start {
		if err := d.step(ctx, &d.ins.Start[i]); err != nil {
			return fmt.Errorf("start, step %d: %w", i+1, err)
		}
	}
	d.l.up()
	if d.ins.Poll != nil {
		return d.ask(ctx)
	}
	for {
		select {
		case line, ok := <-d.in:
			if !ok {
				return errStreamEnded
			}
			if !d.isEcho(line) {
				d.l.line(line, time.Time{})
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// step sends and waits for the answer; whatever else comes is chatter.
func (d *dialogue) step(ctx context.Context, s *instrument.Step) error {
	if err := d.send(s.Send); err != nil {
		return err
	}
	if s.Expect != nil {
		late := time.NewTimer(s.Within)
		defer late.Stop()
		for answered := false; !answered; {
			select {
			case line, ok := <-d.in:
				if !ok {
					return errStreamEnded
				}
				answered = !d.isEcho(line) && s.Expect.Match(line)
			case <-late.C:
				return fmt.Errorf("no answer like %q within %s", s.Expect, printable.Span(s.Within))
			case <-ctx.Done():
				return ctx.Err()
			}
		}
	}
	return d.rest(ctx, s.Pause)
}

// rest waits while lines keep coming; they are chatter.
func (d *dialogue) rest(ctx context.Context, wait time.Duration) error {
	if wait <= 0 {
		return ctx.Err()
	}
	t := time.NewTimer(wait)
	defer t.Stop()
	for {
		select {
		case _, ok := <-d.in:
			if !ok {
				return errStreamEnded
			}
		case <-t.C:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// ask polls for one reading after the other.
func (d *dialogue) ask(ctx context.Context) error {
	p := d.ins.Poll
	missed := 0
	for {
		begin := time.Now()
		if err := d.send(p.Send); err != nil {
			return err
		}
		asked := time.Time{}
		if p.Triggers {
			asked = begin
		}
		late := time.NewTimer(p.Within)
		answered := false
		for !answered {
			select {
			case line, ok := <-d.in:
				if !ok {
					late.Stop()
					return errStreamEnded
				}
				answered = !d.isEcho(line) && d.l.line(line, asked).ended
				continue
			case <-late.C:
			case <-ctx.Done():
				late.Stop()
				return ctx.Err()
			}
			break
		}
		late.Stop()
		if answered {
			missed = 0
		} else if missed++; missed >= unanswered {
			return fmt.Errorf("%d requests in a row without an answer within %s", missed, printable.Span(p.Within))
		}
		if err := d.rest(ctx, max(p.Every-time.Since(begin), minPoll-time.Since(begin))); err != nil {
			return err
		}
	}
}

// minPoll keeps an instrument that answers at once from being asked without a
// pause.
const minPoll = 10 * time.Millisecond

// stopDialogue sends the stop dialogue without waiting for answers: the program is
// ending.
func (d *dialogue) stopDialogue() {
	for i := range d.ins.Stop {
		if d.send(d.ins.Stop[i].Send) != nil {
			return
		}
	}
}
