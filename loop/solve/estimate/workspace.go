package estimate

// Workspace is the memory that the sums of one match take turns to work in. A reading makes some twenty components of several
// kilobytes each, for every story that is told of the head, and drops most of them at once: taken from here they cost nothing after
// the first readings. It holds no knowledge. It is not safe for concurrent use.
type Workspace struct {
	spare []*Component // no longer used, for their memory
	kids  []child
	zs    [][3]float64
}

// NewWorkspace is empty, with room for what a reading usually makes.
func NewWorkspace() *Workspace {
	return &Workspace{kids: make([]child, 0, 3*maxComponents), zs: make([][3]float64, 0, 2*maxComponents), spare: make([]*Component, 0, 4*maxComponents)}
}

// atOnce is how many components are made together when none is spare.
const atOnce = 8

// copyOf clones a component into one that is no longer used.
func (w *Workspace) copyOf(h *Component) *Component {
	n := len(h.X)
	k := len(w.spare)
	if k == 0 || cap(w.spare[k-1].X) < n { // a match's stories have states of one size
		w.spare = blank(w.spare[:0], n)
		k = len(w.spare)
	}
	c := w.spare[k-1]
	w.spare = w.spare[:k-1]
	x, p, sx, sp := c.X, c.P, c.at.x, c.at.p
	*c = *h
	c.X, c.P = append(x[:0], h.X...), append(p[:0], h.P...)
	c.at.x, c.at.p = append(sx[:0], h.at.x...), append(sp[:0], h.at.p...)
	return c
}

// blank adds components with room for n states.
func blank(to []*Component, n int) []*Component {
	all := make([]Component, atOnce)
	room := make([]float64, atOnce*2*(n+n*n))
	take := func(k int) []float64 {
		out := room[:0:k]
		room = room[k:]
		return out
	}
	for i := range all {
		c := &all[i]
		c.X, c.P, c.at.x, c.at.p = take(n), take(n*n), take(n), take(n*n)
		to = append(to, c)
	}
	return to
}

// drop keeps a component's memory for later.
func (w *Workspace) drop(c ...*Component) { w.spare = append(w.spare, c...) }
