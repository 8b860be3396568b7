package feed

import (
	"fmt"
	"strings"
	"time"
)

// oscView is a message taken apart.
type oscView struct{ args []oscArg }

func (v oscView) get(p *place) (string, bool) {
	if p.column < 1 || p.column > len(v.args) {
		return "", false
	}
	s := v.args[p.column-1].text
	return s, s != ""
}

// list takes all arguments from the given one on.
func (v oscView) list(p *place) ([]string, bool) {
	if p.column < 1 || p.column > len(v.args) {
		return nil, false
	}
	var out []string
	for _, a := range v.args[p.column-1:] {
		out = append(out, a.text)
	}
	return out, true
}

// decodeOSC reads a datagram.
func (d *instrumentDecoder) decodeOSC(m message, now time.Time) ([]draft, []Aside) {
	messages, err := parseOSC(m.data)
	if err != nil {
		return nil, []Aside{{Unreadable, err.Error(), fmt.Sprintf("%d bytes", len(m.data))}}
	}
	var drafts []draft
	var asides []Aside
	for _, o := range messages {
		if d.ins.address != "" && !oscMatch(d.ins.address, o.address) {
			continue
		}
		m := message{data: []byte(o.String()), topic: o.address}
		ds, as := d.build(oscView{o.args}, m, now)
		drafts, asides = append(drafts, ds...), append(asides, as...)
	}
	return drafts, asides
}

// String shows a message on one line.
func (o oscMessage) String() string {
	var b strings.Builder
	b.WriteString(o.address)
	for _, a := range o.args {
		fmt.Fprintf(&b, " %c:%s", a.tag, a.text)
	}
	return b.String()
}
