package feed

import (
	"errors"
	"fmt"
	"net"

	"trueup/profiles/oserror"
)

// announce wakes everybody who waits. The lock is held.
func (f *Feed) announce() {
	close(f.changed)
	f.changed = make(chan struct{})
}

func (f *Feed) tell(e Event) {
	if f.hook != nil {
		f.hook(e)
	}
}

func (f *Feed) tellStatus() {
	if f.hook != nil {
		s := f.Status()
		f.hook(Event{Status: &s})
	}
}

// listening tells where a feed that waits to be called can be reached.
func (f *Feed) listening(a net.Addr) {
	f.mu.Lock()
	f.address = a
	f.why = "listening at " + a.String() + "; nothing has come yet"
	f.announce()
	f.mu.Unlock()
}

// Address is where a listening feed can be reached, nil before it listens and
// for feeds that do not.
func (f *Feed) Address() net.Addr {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.address
}

func (f *Feed) linkUp() {
	f.mu.Lock()
	f.links++
	f.linked = true
	f.accept.linkUp()
	if f.state != Live {
		f.state = Waiting
		switch {
		case f.cfg.Kind == "hand":
			f.why = "" // a person is asked when a reading is due: that nothing was read yet is no fault
		case f.address == nil || f.cfg.Kind == "tcp-listen": // the others hear whoever sends
			f.why = "connected; nothing read yet"
		}
	}
	f.announce()
	f.mu.Unlock()
	f.cfg.Log.Info().Str("feed", f.cfg.Name).Str("address", f.cfg.Address).Msg("feed connected")
	f.tellStatus()
}

func (f *Feed) linkDown(err error) {
	err = oserror.Plain(err)
	f.mu.Lock()
	again := f.linked || f.why != err.Error()
	f.linked = false
	f.state, f.why = Waiting, err.Error()
	f.announce()
	f.mu.Unlock()
	if again {
		f.cfg.Log.Warn().Str("feed", f.cfg.Name).Err(err).Msg("no readings from this feed; trying again")
		f.tellStatus()
	}
}

func (f *Feed) refused(err error) {
	err = oserror.Plain(err)
	state, log := Refused, f.cfg.Log.Error()
	if errors.Is(err, ErrEnded) {
		state, log = Ended, f.cfg.Log.Info()
	}
	f.mu.Lock()
	f.state, f.why = state, err.Error()
	f.mu.Unlock()
	f.end(fmt.Errorf("feed %s: %w", f.cfg.Name, err))
	log.Str("feed", f.cfg.Name).Err(err).Msg("feed is done")
	f.tellStatus()
}

func (f *Feed) end(err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.ended == nil {
		f.ended = err
		f.announce()
	}
}
