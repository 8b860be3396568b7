package solve

import (
	"encoding/json"
	"reflect"
	"testing"

	"trueup/profiles/law"
)

// Units of a tight batch teach each other: later ones take fewer readings, and
// the knowledge survives JSON.
func TestBatchTeaches(t *testing.T) {
	const units = 30
	taught, alone := 0, 0
	s := sevenSpec(4, 65535)
	b, err := NewBatch(s)
	if err != nil {
		t.Fatal(err)
	}
	off := unit(s, 4242, 1) // the whole batch is off by this
	for k := range uint64(units) {
		l := func() *lamp {
			l := unit(s, 900+k, 0.2)
			for i := range l.uv {
				l.uv[i].U += off.uv[i].U - s.Emitters[i].UV.U
				l.uv[i].V += off.uv[i].V - s.Emitters[i].UV.V
				l.flux[i] *= off.flux[i] / s.Emitters[i].Flux
			}
			return l
		}
		p, err := b.Prior(s)
		if err != nil {
			t.Fatal(err)
		}
		m := start(t, s, warmWhite, p)
		d, n := play(m, l())
		if e := l().light(d.Drive).UV().Dist(warmWhite); d.Outcome != Landed || e > 0.0015 {
			t.Errorf("unit %d: %s, %.4f off", k, d.Outcome, e)
		}
		b.Learn(s, m.Posterior())
		_, plain := play(start(t, s, warmWhite, nil), l())
		if k >= 10 {
			taught += n
			alone += plain
		}
	}
	if taught >= alone {
		t.Errorf("units 11 to %d: %d readings taught, %d alone", units, taught, alone)
	}
	raw, _ := json.Marshal(b)
	var c Batch
	if err := json.Unmarshal(raw, &c); err != nil || !reflect.DeepEqual(*b, c) {
		t.Errorf("JSON changed the batch: %v", err)
	}
}

// A unit led by another law teaches nothing: the batch stays as it was.
func TestOddUnitDoesNotDragTheBatch(t *testing.T) {
	s := sevenSpec(4, 65535)
	b, _ := NewBatch(s)
	was, _ := json.Marshal(b)
	odd := s
	odd.Curve = law.Curve{Law: law.Square}
	p, _ := b.Prior(s)
	m := start(t, s, warmWhite, p)
	play(m, unit(odd, 3, 1))
	if m.sum.Lead().Law == 0 && !m.sum.Lead().Wide {
		t.Skip("this unit did not look odd")
	}
	if b.Learn(s, m.Posterior()) {
		t.Error("learnt from an odd unit")
	}
	if now, _ := json.Marshal(b); string(now) != string(was) {
		t.Error("the batch changed")
	}
	if _, err := b.Prior(sevenSpec(5, 65535)); err == nil {
		t.Error("a batch of another profile was taken")
	}
}

// A posterior from a damaged file, with a scatter that there is none of, teaches
// nothing and is no prior.
func TestDamagedScatterTeachesNothing(t *testing.T) {
	s := sevenSpec(4, 65535)
	b, err := NewBatch(s)
	if err != nil {
		t.Fatal(err)
	}
	p, err := b.Prior(s)
	if err != nil {
		t.Fatal(err)
	}
	p.Hypotheses[0].Scale = -1
	if b.Learn(s, *p) {
		t.Error("learnt from it")
	}
	if _, err := New(s, Target{UV: warmWhite}, p, DefaultOptions()); err == nil {
		t.Error("taken as a prior")
	}
	short, err := NewBatch(s)
	if err != nil {
		t.Fatal(err)
	}
	short.PMu = short.PMu[1:]
	good, err := b.Prior(s)
	if err != nil {
		t.Fatal(err)
	}
	if short.Learn(s, *good) {
		t.Error("a damaged batch learnt")
	}
}
