package site

import (
	"encoding/json"
	"slices"
	"strings"
	"time"

	"trueup/cmd/trueup/page"
	"trueup/profiles/printable"
)

// heard takes in what the broker says of another machine. Whatever it says is only shown.
func (s *Site) heard(topic string, text []byte) {
	rest, ours := strings.CutPrefix(topic, s.root+"/")
	name, what, two := strings.Cut(rest, "/")
	if !ours || !two || name == s.cfg.Machine || len(name) > 80 || len(text) > mostSaid {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	e := s.others[name]
	if e == nil {
		if len(s.others) >= mostMachines {
			return
		}
		e = &page.Elsewhere{Machine: printable.Text(name)}
		s.others[name] = e
	}
	switch what {
	case "online":
		e.Online = string(text) == "online"
	case "run":
		var t page.Top
		if json.Unmarshal(text, &t) != nil {
			return
		}
		e.Rig, e.Phase, e.Work, e.Target = printable.Text(t.Rig), page.Phase(printable.Text(string(t.Phase))), printable.Text(t.Work), printable.Text(t.Target)
		e.Done, e.Of, e.Left, e.Paused, e.Lead, e.Fault = t.Done, t.Of, t.Left, printable.Text(t.Paused), printable.Text(t.Lead), printable.Text(t.Fault)
		e.Heard = time.Now()
	default:
		return
	}
	s.tellOthers()
}

// tellOthers passes on what is known of the other machines, in the order of their names. The caller
// holds the lock.
func (s *Site) tellOthers() {
	if s.hear == nil {
		return
	}
	all := make([]page.Elsewhere, 0, len(s.others))
	for _, e := range s.others {
		all = append(all, *e)
	}
	slices.SortFunc(all, func(a, b page.Elsewhere) int { return strings.Compare(a.Machine, b.Machine) })
	s.hear(all)
}
