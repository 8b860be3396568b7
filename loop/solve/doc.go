// Package solve holds the numbers of the closed loop: the estimate of a head,
// the damped Newton step, the stopping rule. It is pure: no I/O, no clock, no
// goroutine, no global; the same inputs give the same decisions, bit for bit.
//
// A Match asks ("move there", "read again", "done") and the caller does the
// work:
//
//	m, err := solve.New(spec, target, prior, solve.DefaultOptions())
//	for d := m.Next(t); d.Action != solve.Done; d = m.Next(t) {
//		// send d.Drive if d.Action == solve.Move, wait, read
//		account := m.Observe(reading)
//	}
//
// # The estimate
//
// Emitter modes carry a physical state: u'v' and ln Y of every emitter, a common
// exponent on the response law, the background, the scale between model and
// meter, the warmth, and a local u'v' offset for what the model can not explain.
// The other modes carry the ideal law of the mode with a learnt correction.
// Rival response laws, tighter and wider scatter compete as hypotheses of a
// Gaussian sum (Alspach and Sorenson 1972), each an iterated extended Kalman
// filter (Bell and Cathey 1993) in (u', v', ln Y); weights follow from the
// evidence of every reading. A reading may also be an outlier, or the sign that
// a hypothesis is broken; nothing is decided before later readings say so.
//
// # The step
//
// Newton on the leading hypothesis: for emitters the mixture is solved exactly
// by a small linear program in light (spent on the Wish where more than three
// emitters leave freedom), held on the same three emitters while that works, and
// put on the lattice of codes. Every move adds doubt that grows with the light
// that changes hands: this is the damping and the trust region, because the
// look-ahead takes a move only if, doubt included, the next reading is more
// likely to end the match there than here.
//
// # The stop
//
// Landed: the Gaussian sum, counting only hypotheses that accepted a reading at
// the present drive, holds Options.Confidence within Target.Tol. Out of reach,
// for emitters: of 32 draws of what might be true, 92 % could gain no more than
// a tolerance by moving on. For a lamp's own computer, which bends at its ends as
// no law says: a Gaussian process over all drives read so far sees no drive with
// a fair chance to come a tolerance nearer. Otherwise one more reading, until the
// budget is spent.
package solve
