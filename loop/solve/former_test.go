package solve

import (
	"hash/crc32"
	"math"
	"slices"
	"testing"
	"time"

	"trueup/colorcalc"
)

// wavy moves the light of each setting by up to 0.0008, another way for each: curves that no model knows.
func wavy(uv colorcalc.UV, d Drive) colorcalc.UV {
	var key []byte
	for _, c := range d {
		key = append(key, byte(c))
	}
	h := crc32.ChecksumIEEE(key)
	a, r := 2*math.Pi*float64(h&0xffff)/65536, 0.0008*float64(h>>16)/65536
	return colorcalc.UV{U: uv.U + r*math.Cos(a), V: uv.V + r*math.Sin(a)}
}

// A head that had landed ends at another setting only where it was read nearer to the target than where
// it had landed, or after that was read again.
func TestATrimIsKeptOnlyWhereItWasReadNearer(t *testing.T) {
	trims, back := 0, 0
	for k := range uint64(60) {
		s := sevenSpec(3+int(k%5), 255)
		l := unit(s, k, 1)
		first := start(t, s, warmWhite, nil)
		if d, _ := play(first, l); d.Outcome != Landed {
			continue
		}
		known := first.Posterior()
		known.IdleSeconds = 120
		former := known.Drive
		opt := DefaultOptions()
		opt.Former = true
		m, err := New(s, Target{UV: warmWhite}, &known, opt)
		if err != nil {
			t.Fatal(err)
		}
		stays, end := secondVisit(m, l, former)
		if slices.Equal(end.Drive, former) {
			continue
		}
		trims++
		if len(stays) > 2 {
			back++
			continue
		}
		if a, b := stays[0].uv.Dist(warmWhite), stays[1].uv.Dist(warmWhite); end.Outcome != Landed || b >= a {
			t.Errorf("lamp %d: %s at another setting, read %.4f off there and %.4f off where it had landed: %s", k, end.Outcome, b, a, end.Reason)
		}
	}
	if trims < 5 || back < 1 {
		t.Errorf("%d trims of which %d went back: not enough to tell", trims, back)
	}
}

// stay is the mean of the readings between two moves.
type stay struct {
	uv colorcalc.UV
	n  float64
}

// secondVisit reads a wavy lamp where it had landed, then plays the match to its end.
func secondVisit(m *Match, l *lamp, now Drive) (stays []stay, end Decision) {
	read := func(at time.Duration, anew bool) {
		r := l.read(now, at)
		r.UV = wavy(r.UV, now)
		if anew {
			stays = append(stays, stay{})
		}
		s := &stays[len(stays)-1]
		s.n++
		s.uv.U += (r.UV.U - s.uv.U) / s.n
		s.uv.V += (r.UV.V - s.uv.V) / s.n
		m.Observe(r)
	}
	read(0, true)
	for at := time.Second; ; at += time.Second {
		d := m.Next(at)
		if d.Action == Done || at > time.Minute {
			return stays, d
		}
		if d.Action == Move {
			now = d.Drive
		}
		read(at, d.Action == Move)
	}
}
