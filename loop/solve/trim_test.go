package solve

import (
	"testing"

	"trueup/colorcalc"
)

// A head that may not become brighter is trimmed on: it is as bright after many steps that each would have made it brighter.
func TestTrimsAtTheMostLightGoOn(t *testing.T) {
	s := sevenSpec(4, 65535)
	stands := Drive{30000, 15000, 20000, 30000}
	trimmer, err := NewTrimmer(s, nil, stands, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range []colorcalc.UV{{U: 0.0002}, {U: -0.0002}, {V: 0.0002}, {V: -0.0002}} {
		at := stands
		for n := range 30 {
			to, moves, ok := trimmer.Step(at, step)
			if !ok || moves.Dist(step) > 0.00002 {
				t.Fatalf("step %d by %+v: %+v %v", n, step, moves, ok)
			}
			at = to
		}
		_, was := trimmer.at(trimmer.fractions(stands))
		if _, ln := trimmer.at(trimmer.fractions(at)); ln > was || ln < was-0.05 {
			t.Errorf("by %+v the light went from %.4f to %.4f, ln", step, was, ln)
		}
	}
}

// Emitters at their ends leave a step to the others.
func TestTrimsGoOnWithEmittersAtTheirEnds(t *testing.T) {
	s := sevenSpec(6, 65535)
	least := uint32(1311) // a fiftieth
	stands := Drive{42000, 1470, least, 65535, 60000, 60500}
	trimmer, err := NewTrimmer(s, nil, stands, 1.2)
	if err != nil {
		t.Fatal(err)
	}
	for _, step := range []colorcalc.UV{{U: 0.0002}, {U: -0.0002}, {V: 0.0002}, {V: -0.0002}, {U: 0.00014, V: 0.00014}, {U: 0.00014, V: -0.00014}} {
		if _, moves, ok := trimmer.Step(stands, step); !ok || moves.Dist(step) > 0.00008 {
			t.Errorf("by %+v: %+v %v", step, moves, ok)
		}
	}
}

// Eight bit heads that are trimmed to and fro at the most light they may give do not fade away, and none of their steps is one that is seen.
func TestCoarseTrimsDoNotFadeAway(t *testing.T) {
	s := sevenSpec(4, 255)
	stands := Drive{120, 60, 80, 120}
	trimmer, err := NewTrimmer(s, nil, stands, 1)
	if err != nil {
		t.Fatal(err)
	}
	at, made := stands, 0
	_, first := trimmer.at(trimmer.fractions(stands))
	for n := range 200 {
		step := colorcalc.UV{U: 0.0005}
		if n%2 == 1 {
			step.U = -step.U
		}
		to, _, ok := trimmer.Step(at, step)
		if !ok {
			continue
		}
		_, was := trimmer.at(trimmer.fractions(at))
		_, ln := trimmer.at(trimmer.fractions(to))
		if ln < first-0.06 || ln < was-0.02 {
			t.Fatalf("step %d: the light went from %.4f to %.4f, ln; %.4f at first", n, was, ln, first)
		}
		at, made = to, made+1
	}
	if made == 0 {
		t.Error("no step was made")
	}
}
