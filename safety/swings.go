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
// they will be if the candidates are sent, and the swings under any of the laws: a
// jump of one code of a coarse slot counts as the light that it makes.
func (h *head) watch() (t trackers, s swings) {
	t = h.seen
	lights := h.lights()
	for k, l := range lights {
		threshold := SwingLight - near
		if k == 0 {
			threshold = h.swing
		}
		switch t.light[k].see(l, threshold) {
		case 1:
			s.lightUp = true
		case -1:
			s.lightDown = true
		}
		if !h.mixes || l < darkBelow {
			continue
		}
		var x, y, z float64
		for i := range h.axes {
			if a := &h.axes[i]; a.rule.Kind == Emitter {
				e := a.bends[k]
				x, y, z = x+e*a.x, y+e*a.y, z+e*a.z
			}
		}
		switch t.red[k].see(x, y, z) {
		case 1:
			s.redUp = true
		case -1:
			s.redDown = true
		}
	}
	// The laws between these may swing between them: as long as some have, and some
	// have not, whatever leads further the same way counts.
	up, down := t.divided()
	s.lightUp = s.lightUp || up && lights[0] > h.seen.light[0].hi
	s.lightDown = s.lightDown || down && lights[0] < h.seen.light[0].lo
	if h.reddens {
		h.turning(&s)
	}
	return t, s
}

// divided tells whether some of the laws have swung up, or down, and others not.
func (t *trackers) divided() (up, down bool) {
	ups, downs := 0, 0
	for k := range t.light {
		switch t.light[k].dir {
		case 1:
			ups++
		case -1:
			downs++
		}
	}
	return ups > 0 && ups < laws, downs > 0 && downs < laws
}

// turning adds the swings of the colour parameters that can reach saturated red.
func (h *head) turning(s *swings) {
	for i := range h.axes {
		a := &h.axes[i]
		if a.rule.Kind != Colour || !a.rule.Red {
			continue
		}
		t := a.seen
		switch t.see(float64(a.next)/a.max, SwingLight-near) {
		case 1:
			s.redUp = true
		case -1:
			s.redDown = true
		}
	}
}
