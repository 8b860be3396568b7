package solve

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"trueup/colorcalc"
)

// A match that goes on makes next to no garbage: a step, Next and Observe, allocates what it hands out and what it keeps of the
// reading, ten pieces at most once the match has its memory. Whoever sends light beside it has no collector to wait for.
func TestAStepMakesLittleGarbage(t *testing.T) {
	for _, emitters := range []int{3, 4, 6, 7, 12} {
		s := sevenSpec(emitters, 65535)
		l := unit(s, uint64(emitters), 1)
		l.sigma = 0.002 // so that many readings are needed
		makesLittleGarbage(t, fmt.Sprintf("%d emitters", emitters), s, l.read)
	}
	rng := rand.New(rand.NewPCG(1, 4))
	makesLittleGarbage(t, "cct and tint", cctSpecFor(65535), func(d Drive, at time.Duration) Reading {
		kelvin, duv := 2750+3800*float64(d[0])/65535, -0.015+0.03*float64(d[1])/65535
		uv := whiteAt(t, colorcalc.Kelvin(kelvin), colorcalc.Duv(duv))
		uv.U, uv.V = uv.U+0.002*rng.NormFloat64(), uv.V+0.002*rng.NormFloat64()
		return Reading{UV: uv, SigmaUV: 0.002, At: at, Drive: d}
	})
}

func makesLittleGarbage(t *testing.T, name string, s Spec, read func(Drive, time.Duration) Reading) {
	t.Helper()
	const warm, steps, most = rivalTo, 40, 10.0 // its stories are told up to there
	o := DefaultOptions()
	o.Budget, o.Confidence = 200, 0.9999
	m, err := New(s, Target{UV: warmWhite, Tol: 0.0005}, nil, o)
	if err != nil {
		t.Fatal(err)
	}
	var now Drive
	at := time.Duration(0)
	step := func() {
		d := m.Next(at)
		if d.Action == Done {
			t.Fatalf("%s: %s", name, d.Reason)
		}
		if d.Action == Move {
			now = d.Drive
		}
		at += time.Second
		m.Observe(read(now, at))
	}
	for range warm {
		step()
	}
	n := testing.AllocsPerRun(steps, step)
	if t.Logf("%s: %.0f allocations a step", name, n); n > most {
		t.Errorf("%s: %.0f allocations a step", name, n)
	}
}
