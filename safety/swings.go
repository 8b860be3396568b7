package safety

// trackers follow the light of a head for the flash rules, under each law that its
// response may have.
type trackers struct {
	light [laws]turns
	red   [laws]reds
}

// begin forgets all that was seen and stands on the codes of the wire.
func (h *head) begin() {
	for i := range h.axes {
		h.axes[i].next = h.axes[i].code
	}
	h.seen = trackers{}
	for k, l := range h.lights() {
		h.seen.light[k].reset(l)
	}
	h.seen, _ = h.watch() // the red rule's first state
}

// lights of the head at the candidates, by law.
func (h *head) lights() (sum [laws]float64) {
	dim := [laws]float64{1, 1, 1, 1, 1}
	if !h.mixes {
		sum = dim
	}
	for i := range h.axes {
		a := &h.axes[i]
		if a.rule.Kind != Dimmer && a.rule.Kind != Emitter {
			continue
		}
		if !a.bent || a.bentAt != a.next {
			a.bends, a.bentAt, a.bent = a.bend(a.light(a.next)), a.next, true
		}
		if a.rule.Kind == Dimmer {
			dim = a.bends
			continue
		}
		for k, l := range a.bends {
			sum[k] += a.weight * l
		}
	}
	for k := range sum {
		sum[k] *= dim[k]
	}
	return sum
}

// watch looks at the candidates with the flash rules. It returns the trackers as
// they will be if the candidates are sent, and the swings under each law: a jump of
// one code of a coarse slot counts as the light that it makes.
func (h *head) watch() (t trackers, s [laws]swings) {
	t = h.seen
	for k, l := range h.lights() {
		threshold := SwingLight - near
		if k == 0 {
			threshold = h.swing
		}
		d := t.light[k].see(l, threshold)
		s[k].lightUp, s[k].lightDown = d > 0, d < 0
		if h.mixes && l >= darkBelow {
			d = t.red[k].see(h.mixture(k))
			s[k].redUp, s[k].redDown = d > 0, d < 0
		}
	}
	if h.reddens {
		h.turning(&s)
	}
	return t, s
}

// mixture is the tristimulus values of the candidates under a law, after lights.
func (h *head) mixture(k int) (x, y, z float64) {
	for i := range h.axes {
		if a := &h.axes[i]; a.rule.Kind == Emitter {
			e := a.bends[k]
			x, y, z = x+e*a.x, y+e*a.y, z+e*a.z
		}
	}
	return x, y, z
}

// turning adds the swings of the colour parameters that can reach saturated red.
func (h *head) turning(s *[laws]swings) {
	for i := range h.axes {
		a := &h.axes[i]
		if a.rule.Kind != Colour || !a.rule.Red {
			continue
		}
		t := a.seen
		d := t.see(a.share(a.next), SwingLight-near)
		for k := range s {
			s[k].redUp, s[k].redDown = s[k].redUp || d > 0, s[k].redDown || d < 0
		}
	}
}
