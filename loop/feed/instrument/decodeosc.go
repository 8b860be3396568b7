package instrument

import (
	"fmt"
	"time"

	"trueup/loop/feed/osc"
)

// oscArgs are the arguments of a message.
type oscArgs []osc.Arg

func (v oscArgs) get(p *fieldPath) (string, bool) {
	if p.column < 1 || p.column > len(v) {
		return "", false
	}
	s := v[p.column-1].Text
	return s, s != ""
}

// list takes all arguments from the given one on.
func (v oscArgs) list(p *fieldPath) ([]string, bool) {
	if p.column < 1 || p.column > len(v) {
		return nil, false
	}
	var out []string
	for _, a := range v[p.column-1:] {
		out = append(out, a.Text)
	}
	return out, true
}

// decodeOSC reads a datagram.
func (d *instrumentDecoder) decodeOSC(m Message, now time.Time) ([]Draft, []Aside) {
	messages, err := osc.Parse(m.Data)
	if err != nil {
		return nil, []Aside{{Unreadable, err.Error(), fmt.Sprintf("%d bytes", len(m.Data))}}
	}
	var drafts []Draft
	var asides []Aside
	for _, o := range messages {
		if d.ins.address != "" && !osc.Match(d.ins.address, o.Address) {
			continue
		}
		m := Message{Data: []byte(o.String()), Topic: o.Address}
		ds, as := d.build(oscArgs(o.Args), m, now)
		drafts, asides = append(drafts, ds...), append(asides, as...)
	}
	return drafts, asides
}
