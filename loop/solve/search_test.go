package solve

import "testing"

// A search ends: no event leads to an earlier phase, and only looking elsewhere, steps without an answer or
// a lamp that jumps leads to a later one.
func TestNoEventLeadsBack(t *testing.T) {
	for e := range events {
		for p := range phases {
			to := transitions[e][p]
			if to < p {
				t.Errorf("event %d leads from phase %d back to %d", e, p, to)
			}
			if to != p && e != looked && e != past && e != jumped {
				t.Errorf("event %d leads from phase %d to %d", e, p, to)
			}
		}
	}
	var s search
	for _, e := range []event{stayed, looked, wentMiddle, looked, jumped, stayed} {
		s.on(e)
	}
	if s.phase != confirming || s.count[looked] != 2 || s.count[stayed] != 2 {
		t.Errorf("%+v", s)
	}
}
