package solve

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"trueup/profiles/law"
)

// slotted gives a spec its slots, one channel behind another from address 11 on, a dimmer at half before all of them where it is to have one.
func slotted(s Spec, dimmer bool) Spec {
	most, at := s.Channels[0].Max, 0
	next := func() (slots []int) {
		for m := most; m > 0; m >>= 8 {
			slots = append(slots, at)
			at++
		}
		return slots
	}
	s.Address, s.Channels = 11, slices.Clone(s.Channels)
	if dimmer {
		n := len(s.Channels)
		s.Channels = append(s.Channels, Channel{Name: "dimmer", Max: most, Hi: most, Slots: next()})
		s.Dimmer = &DimmerSpec{Channel: n, Level: law.Level{Range: law.Whole(most)}}
		s.Start = make(Drive, n+1)
		s.Start[n] = most * 6 / 10
	}
	for i := range s.Emitters {
		s.Channels[i].Slots = next()
	}
	return s
}

// elsewhere is what a lamp takes that listens off slots above where the rig has it, and nothing beside its own slots: written out slot by slot.
func elsewhere(s *Spec, off int, sent Drive) Drive {
	wire := map[int]byte{}
	for i, c := range s.Channels {
		if len(c.Slots) == 2 {
			wire[c.Slots[0]], wire[c.Slots[1]] = byte(sent[i]/256), byte(sent[i]%256)
		} else {
			wire[c.Slots[0]] = byte(sent[i])
		}
	}
	out := make(Drive, len(sent))
	for i, c := range s.Channels {
		out[i] = uint32(wire[c.Slots[0]+off])
		if len(c.Slots) == 2 {
			out[i] = out[i]*256 + uint32(wire[c.Slots[1]+off])
		}
	}
	return out
}

// playTaking plays a lamp of four emitters, and a dimmer where it is to have one, that takes other codes than were sent, as takes has it.
func playTaking(t *testing.T, seed uint64, most uint32, dimmer bool, takes func(s *Spec, sent Drive) Drive) (Decision, int) {
	t.Helper()
	s := slotted(sevenSpec(4, most), dimmer)
	l := unit(s, seed, 1)
	if dimmer {
		l.dimmed = func(d Drive) float64 { return float64(d[4]) / float64(most) }
	}
	return playBy(start(t, s, warmWhite, nil), func(_ int, d Drive, at time.Duration) Reading {
		r := l.read(takes(&s, d), at)
		r.Drive = d
		return r
	})
}

// A lamp whose address is a slot or two off is named within eight readings, with which way and where to set it, in 8 bit and in 16, with a dimmer before its
// colours and without; a sound one never is. Before, these were called two emitters exchanged, one that is dead, or another mode.
func TestAnAddressThatIsOffIsNamed(t *testing.T) {
	const runs = 20
	for _, c := range []struct {
		most   uint32
		dimmer bool
		off    int
		words  string
	}{
		{65535, false, 1, "1 slot too high"}, {65535, false, -1, "1 slot too low"}, {65535, false, 2, "2 slots too high"}, {65535, false, -2, "2 slots too low"},
		{255, false, 1, "1 slot too high"}, {255, false, -1, "1 slot too low"}, {65535, true, 1, "1 slot too high"},
	} {
		named, wrong := 0, 0
		for k := range uint64(2 * runs) {
			d, n := playTaking(t, 7300+k, c.most, c.dimmer, func(s *Spec, d Drive) Drive {
				if k < runs {
					return elsewhere(s, c.off, d)
				}
				return d
			})
			switch {
			case k >= runs && d.Cause == WrongAddress:
				t.Errorf("sound lamp %d: %s", k, d.Reason)
			case k >= runs:
			case d.Cause == WrongAddress && n <= 8 && strings.Contains(d.Reason, c.words) && strings.Contains(d.Reason, "set the lamp to address 11") && strings.Contains(d.Reason, fmt.Sprintf("or the rig to %d", 11+c.off)):
				named++
			case d.Cause == WrongAddress && !strings.Contains(d.Reason, c.words):
				wrong++
				t.Logf("%+v lamp %d: %s", c, k, d.Reason)
			default:
				t.Logf("%+v lamp %d: %s, cause %q after %d: %s", c, k, d.Outcome, d.Cause, n, d.Reason)
			}
		}
		if named < runs*9/10 || wrong > 0 {
			t.Errorf("%+v: named in %d of %d, by another step in %d", c, named, runs, wrong)
		}
	}
}

// What stands in the slots beside counts: a lamp that takes its dimmer from the slot before its own is foretold by what that carries.
func TestASlotBesideIsTaken(t *testing.T) {
	s := slotted(sevenSpec(3, 255), true)
	down, up := shifted(&s, -1), shifted(&s, 1)
	got := finds(&down, &s, Drive{10, 20, 30, 40}, []byte{0, 77, 0, 0, 0, 0, 55, 0})
	if want := (Drive{40, 10, 20, 77}); !slices.Equal(got, want) {
		t.Errorf("one slot down it takes %v, not %v", got, want)
	}
	got = finds(&up, &s, Drive{10, 20, 30, 40}, []byte{0, 77, 0, 0, 0, 0, 55, 0})
	if want := (Drive{20, 30, 55, 10}); !slices.Equal(got, want) {
		t.Errorf("one slot up it takes %v, not %v", got, want)
	}
}
