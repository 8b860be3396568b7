package looptest

import (
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
)

// Usual lists the usual methods. Each works in the plane of the profile: it
// asks the profile's law for a chromaticity q, reads what comes, and moves q.
// Where the profile is right q is the light; where it is wrong the method has
// to find out how. They hold the profile's inverse fixed, so they differ only
// in what they believe of the plane: that is what sets them apart.
func Usual() []Method {
	return []Method{
		{"person, axis by axis", plane(func() planner { return &person{} }, false)},
		{"Nelder-Mead", plane(func() planner { return &simplex{} }, false)},
		{"finite-difference Newton, each step", plane(func() planner { return &newton{each: true} }, false)},
		{"finite-difference Newton, once", plane(func() planner { return &newton{} }, false)},
		{"fixed Jacobian", plane(func() planner { return &chord{} }, false)},
		{"Broyden", plane(func() planner { return &chord{learn: true} }, false)},
		{"fixed Jacobian, naive stop", plane(func() planner { return &chord{} }, true)},
	}
}

type vec = colorcalc.UV

func sub(a, b vec) vec                  { return vec{U: a.U - b.U, V: a.V - b.V} }
func along(a vec, k float64, b vec) vec { return vec{U: a.U + k*b.U, V: a.V + k*b.V} }

// planner says where to ask next, after a station whose mean is read.
type planner interface {
	// start is told the target and the tolerance.
	start(target vec, tol float64)
	// next gives the point to ask after q gave mean, n readings behind it.
	next(q, mean vec) vec
	// probing says that the present point was asked to learn, not to land.
	probing() bool
}

// usual is one of the usual methods at work.
type usual struct {
	nom    *nominal
	t      solve.Target
	o      solve.Options
	plan   planner
	naive  bool
	q      vec
	drive  solve.Drive
	st     station
	begun  bool
	mean   vec
	idle   int
	best   float64
	bestAt solve.Drive
}

func plane(mk func() planner, naive bool) func(solve.Spec, solve.Target, solve.Options) (Controller, error) {
	return func(s solve.Spec, t solve.Target, o solve.Options) (Controller, error) {
		p := mk()
		p.start(t.UV, t.Tol)
		return &usual{nom: newNominal(s, o.Level), t: t, o: o, plan: p, naive: naive, best: math.Inf(1)}, nil
	}
}

// giveUp is how many moves without getting nearer count as "out of reach".
const giveUp = 8

// Next implements Controller.
func (u *usual) Next(time.Duration) solve.Decision {
	if !u.begun {
		u.begun = true
		return u.move(u.t.UV)
	}
	v, m := u.st.judge(u.t, u.o, u.naive)
	u.mean = m
	if v != readOn && u.plan.probing() && v != landed {
		v = moveOn
	} else if v == readOn && u.plan.probing() && len(u.st.reads) >= 2 {
		v = moveOn // a probe is worth two readings
	}
	switch v {
	case landed:
		return solve.Decision{Action: solve.Done, Outcome: solve.Landed, Drive: u.drive}
	case readOn:
		return solve.Decision{Action: solve.Again, Drive: u.drive}
	}
	if d := m.Dist(u.t.UV); d < u.best*0.9 {
		u.best, u.idle, u.bestAt = d, 0, u.drive
	} else if !u.plan.probing() {
		u.idle++
	}
	if u.idle > giveUp && u.best > 2*u.t.Tol {
		return solve.Decision{Action: solve.Done, Outcome: solve.OutOfReach, Drive: u.drive, Distance: u.best}
	}
	return u.move(u.plan.next(u.q, m))
}

func (u *usual) move(q vec) solve.Decision {
	// No step leaves the neighbourhood of the target: a person would not either.
	if d := q.Dist(u.t.UV); d > 0.06 {
		q = along(u.t.UV, 0.06/d, sub(q, u.t.UV))
	}
	q.V, q.U = max(q.V, 0.01), max(q.U, 0.001)
	u.q = q
	u.drive = u.nom.drive(q)
	u.st.moved()
	return solve.Decision{Action: solve.Move, Drive: u.drive}
}

// Observe implements Controller.
func (u *usual) Observe(r solve.Reading) solve.Account {
	if !u.st.take(r) {
		return solve.Account{Verdict: solve.Stale}
	}
	return solve.Account{}
}
