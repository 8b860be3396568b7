package profiles

import (
	"math"

	"trueup/profiles/law"
)

// maxKnob bounds the steps of a knob; nobody dials finer.
const maxKnob = 1_000_000

// param reads what all parameters have.
func (r *reader) param(at, name string, m *Mode, raw *fileBase) Param {
	d := r.doc
	p := Param{Name: name, Slots: raw.Slots, Common: raw.Common, Path: at, Range: law.Whole(255)}
	if n := len(p.Slots); n >= 1 && n <= 3 {
		p.Range = law.Whole(1<<(8*n) - 1)
	}
	switch {
	case m.ByHand && raw.Slots != nil:
		d.Errorf(at+".slots", "the mode is set by hand: %s has a knob, not slots", name).Advise("give \"knob:\" instead")
	case m.ByHand && raw.Knob == nil:
		d.Errorf(at, "%s has no \"knob:\"; the mode is set by hand", name).Advise("say what the knob shows: knob: {shows: CCT, unit: K, from: 2700, to: 6500, step: 50}")
	case !m.ByHand && raw.Knob != nil:
		d.Errorf(at+".knob", "a knob is for modes with \"by_hand: true\"").Advise("give slots, or add by_hand to the mode")
	case !m.ByHand && raw.Slots == nil:
		d.Errorf(at, "%s has no \"slots:\"", name).Advise("give its slot, or coarse and fine: slots: [1, 2]")
	}
	if raw.Common && m.Heads.Count == 1 && !d.Has(atMode(at)+".heads") {
		d.Errorf(at+".common", "common is for modes with several heads").Advise("take it out, or add \"heads:\"")
	}
	if raw.Knob != nil && m.ByHand {
		r.knob(at, &p, raw)
		return p
	}
	if lo, hi, ok := r.pair(at+".levels", raw.Levels, p.Max); ok {
		p.Lo, p.Hi = lo, hi
	}
	if s := raw.Start; s != nil && !d.Failed(at+".start") {
		if *s < float64(p.Lo) || *s > float64(p.Hi) || *s != math.Trunc(*s) {
			d.Errorf(at+".start", "start is %g: want a whole level from %d to %d", *s, p.Lo, p.Hi)
		} else {
			code := uint32(*s)
			p.Start = &code
		}
	}
	return p
}

func atMode(at string) string {
	n := len("$.modes[")
	for n < len(at) && at[n] != ']' {
		n++
	}
	return at[:min(n+1, len(at))]
}

func (r *reader) knob(at string, p *Param, raw *fileBase) {
	d, k := r.doc, raw.Knob
	if raw.Levels != nil {
		d.Errorf(at+".levels", "levels are for slots; a knob has from and to")
	}
	if d.Failed(at + ".knob") {
		return
	}
	steps := math.Abs(k.To-k.From) / k.Step
	switch {
	case k.From == k.To:
		d.Errorf(at+".knob.to", "the knob ends where it begins, at %g", k.To)
		return
	case !whole(steps) || steps > maxKnob:
		d.Errorf(at+".knob.step", "steps of %g do not lead from %g to %g in whole steps", k.Step, k.From, k.To)
		return
	}
	kn := &law.Knob{Label: k.Shows, Unit: k.Unit, From: k.From, To: k.To, Step: k.Step}
	if k.To < k.From {
		kn.Step = -k.Step
	}
	p.Knob, p.Range = kn, kn.Codes()
	if s := raw.Start; s != nil && !d.Failed(at+".start") {
		code := (*s - kn.From) / kn.Step
		if !whole(code) || code < -1e-6 || code > float64(p.Max)+1e-6 {
			d.Errorf(at+".start", "start is %g, which the knob does not show: it goes from %g to %g in steps of %g", *s, k.From, k.To, k.Step)
			return
		}
		c := uint32(math.Round(code))
		p.Start = &c
	}
}

// pair reads a range of levels.
func (r *reader) pair(at string, levels []int, most uint32) (lo, hi uint32, ok bool) {
	if len(levels) != 2 || r.doc.Failed(at) {
		return 0, 0, false
	}
	switch a, z := levels[0], levels[1]; {
	case a < 0 || z < 0 || z > int(most) || a > int(most):
		r.doc.Errorf(at, "levels are %d to %d: with these slots they go from 0 to %d", a, z, most)
	case a >= z:
		r.doc.Errorf(at, "the range of levels goes from %d to %d: want the lower one first", a, z)
	default:
		return uint32(a), uint32(z), true
	}
	return 0, 0, false
}

// Dial gives what a person dials for a code, such as "CCT 4300 K". It is empty
// for a parameter with slots.
func (p *Param) Dial(code uint32) string {
	if p.Knob == nil {
		return ""
	}
	return p.Knob.Dial(code)
}
