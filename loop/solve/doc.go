// Package solve is the policy of one match: whether to step or to read again,
// when to stop, what to do where the target is out of reach, which fault is likely,
// and the words for all of it. It is pure: no I/O, no clock, no goroutine, no
// global; the same inputs give the same decisions, bit for bit.
//
// Below it: package model says what a head may be, estimate what is known of it,
// plan which codes to send, num holds the small numbers.
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
// Rival response laws, tighter and wider scatter compete as components of a
// Gaussian sum (Alspach and Sorenson 1972), each an iterated extended Kalman
// filter (Bell and Cathey 1993) in (u', v', ln Y); weights follow from the
// evidence of every reading. A reading may also be an outlier, or the sign that
// a component is broken; nothing is decided before later readings say so.
//
// Beside the profile's own story others compete: an emitter that gives no light, a tint that works the
// other way round, kelvin for mired, the two parameters of a colour or two emitters on each other's slots, a lamp
// whose address is a slot or two off. Each is the same head by another
// Spec, told the same readings from the beginning; one that explains all of them and has e^7 times the
// evidence is believed, named, and matched by. It is given up again the same way.
//
// # The step
//
// Newton on the leading component: for emitters the mixture is solved exactly
// by a small linear program in light (spent on the Wish where more than three
// emitters leave freedom), held on the same three emitters while that works, and
// put on the lattice of codes. Every move adds process noise that grows with the light
// that changes hands: this is the damping and the trust region, because the
// look-ahead takes a move only if, noise included, the next reading is more
// likely to end the match there than here.
//
// # The stop
//
// Landed: the Gaussian sum, counting only components that accepted a reading at
// the present drive, holds Options.Confidence within Target.Tol. Out of reach,
// for emitters: of 32 draws of what might be true, 92 % could neither land nor gain more than
// a tolerance by moving on. For a lamp's own computer, which bends at its ends as
// no law says: a Gaussian process over all drives read so far sees no drive with
// a fair chance to land or to come a tolerance nearer, nor, on a coarse lattice, one within two codes. In either case only
// where readings accepted there leave a chance of 5 % to be inside, and no other story would reach the target:
// else it is unsettled, and says why. Otherwise one more reading, until the
// budget is spent.
package solve
