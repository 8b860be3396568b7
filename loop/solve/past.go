package solve

import "slices"

// Past is what earlier visits of one head have read. Two laws of a scale part little over what one visit reads, and more over
// all of it: what is kept of a head, a [Prior], is by one law alone and does not tell. It is kept where stories need it, and not for JSON.
type Past struct {
	prior  *Prior // of units of the type, that the first of the visits began from; nil: none
	visits []heard
	worst  float64 // squared Mahalanobis distance of the reading that fitted worst
}

// heard is what one visit read.
type heard struct {
	idle  float64 // seconds since the last reading of the visit before
	taken []taken
}

// Past is what this match and those before it read of the head; nil where its stories do without.
func (m *Match) Past() *Past {
	if m.spec.Kind != CCT {
		return nil
	}
	p := &Past{prior: m.prior, worst: m.worst()}
	if m.opt.Past != nil {
		p.prior, p.visits = m.opt.Past.prior, slices.Clone(m.opt.Past.visits)
	}
	p.visits = append(p.visits, heard{m.idle(), m.log.taken})
	return p
}

// idle is for how long the head was left before this match, seconds.
func (m *Match) idle() float64 {
	if m.own == nil {
		return 0
	}
	return m.own.IdleSeconds
}

// worst is the squared Mahalanobis distance of the reading that fitted worst, on this visit or one before.
func (m *Match) worst() float64 {
	if m.opt.Past == nil {
		return m.fault.worst
	}
	return max(m.fault.worst, m.opt.Past.worst)
}

// recall tells a match under another story what visits before that of now have read.
func (m *Match) recall(now *Match) {
	p := now.opt.Past
	if p == nil {
		return
	}
	for i := range p.visits {
		if i > 0 {
			m.sum.Rest(p.visits[i].idle)
		}
		for k := range p.visits[i].taken {
			m.take(&p.visits[i].taken[k])
		}
	}
	m.recalled = len(m.log.taken)
	m.sum.Rest(now.idle())
}

// readings goes through all readings of the head, those of earlier visits first.
func (m *Match) readings(yield func(*taken) bool) {
	all := []heard{{taken: m.log.taken}}
	if m.opt.Past != nil {
		all = append(slices.Clone(m.opt.Past.visits), all...)
	}
	for i := range all {
		for k := range all[i].taken {
			if !yield(&all[i].taken[k]) {
				return
			}
		}
	}
}

// read tells whether an earlier visit read a drive.
func (p *Past) read(d Drive) bool {
	return p != nil && slices.ContainsFunc(p.visits, func(h heard) bool {
		return slices.ContainsFunc(h.taken, func(t taken) bool { return slices.Equal(t.r.Drive, d) })
	})
}

// elsewhere tells whether an earlier visit read another drive than this.
func (p *Past) elsewhere(d Drive) bool {
	return p != nil && slices.ContainsFunc(p.visits, func(h heard) bool {
		return slices.ContainsFunc(h.taken, func(t taken) bool { return !slices.Equal(t.r.Drive, d) })
	})
}
