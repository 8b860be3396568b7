// Package core is the heart of a run: a state machine that owns all that a run
// knows and does nothing by itself. No goroutine, clock, socket or file is in it.
//
// The shell around it (package session) tells it what happened with Step: a lamp
// has arrived, a reading came, time passed, a person pressed a key. Step
// returns what to do: entries for the journal first, then wishes for lamps and
// readings to ask for. The shell writes the entries to disk, then does the
// rest, then waits for the next event.
//
// The same events give the same answers, bit for bit. Events are kept in the
// journal, so a run can be played again from it (Replay).
//
// The words: a lane is one line of work that goes on by itself: the main one, and where the
// rig has several probes one for each of them or each group. It works through tasks: read the background, read the reference, warm up, visit a
// fixture for the first or the second time. A task is told what came of its last
// want and returns the next one.
package core
