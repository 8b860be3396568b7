package sacn

import (
	"strconv"
	"time"
)

// noticesPerMinute bounds what a network full of strangers can write to a log.
const noticesPerMinute = 20

// notices says in the log what happens to the sources beside an overlay. It is
// used under the receiver's lock.
type notices struct {
	ours   uint8 // the priority that a survey chose; 0: we send nothing yet
	minute time.Time
	said   int
}

// may tells whether one more line is allowed at now.
func (n *notices) may(now time.Time) bool {
	if now.Sub(n.minute) >= time.Minute {
		n.minute, n.said = now, 0
	}
	n.said++
	return n.said <= noticesPerMinute
}

// notice says e, if an overlay is at work and e matters to it.
func (r *Receiver) notice(e Event) {
	r.mu.Lock()
	ours, may := r.notices.ours, r.notices.ours != 0 && r.notices.may(e.At)
	r.mu.Unlock()
	if !may {
		return
	}
	line := r.cfg.Log.Info()
	text := "a source beside us " + e.Kind.String()
	switch {
	case e.Source.Preview:
	case (e.Kind == Appeared || e.Kind == Reranked) && e.Source.Top >= ours:
		line = r.cfg.Log.Warn().Uint8("ours", ours)
		text = "a source at or above our priority: the light is not ours, and readings of it are void"
	case e.Kind == Lost && e.Source.Slots > 0:
		line = r.cfg.Log.Warn()
		text = "a source fell silent; where it was the last one its look is held"
	case e.Kind == Terminated && e.Source.Slots > 0:
		line = r.cfg.Log.Warn()
		text = "a source ended its stream; where it was the last one its look is held"
	}
	line.Uint16("universe", uint16(e.Universe)).Str("source", strconv.Quote(e.Source.Name)).Uint8("priority", e.Source.Top).
		Stringer("from", e.Source.From).Msg(text)
}
