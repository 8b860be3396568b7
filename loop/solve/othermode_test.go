package solve

import (
	"slices"
	"strings"
	"testing"
	"time"
)

// found is what a head of n channels takes from slots of its own width each, in the order in which the rig has them: a lamp of 8 bit where the rig has 16, or the
// other way round. Written out byte by byte, nothing beyond the rig's slots.
func found(s *Spec, width int, sent Drive) Drive {
	var wire []byte
	order := make([]int, len(s.Channels))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return s.Channels[a].Slots[0] - s.Channels[b].Slots[0] })
	for _, i := range order {
		if len(s.Channels[i].Slots) == 2 {
			wire = append(wire, byte(sent[i]/256))
		}
		wire = append(wire, byte(sent[i]%256))
	}
	wire = append(wire, make([]byte, len(wire))...)
	out := make(Drive, len(sent))
	for k, i := range order {
		part := float64(wire[k]) / 255
		if width == 2 {
			part = (float64(wire[2*k])*256 + float64(wire[2*k+1])) / 65535
		}
		out[i] = uint32(part*float64(s.Channels[i].Max) + 0.5)
	}
	return out
}

// A lamp in a mode of 8 bit where the rig has 16, or the other way round, is named within eight readings, with its dimmer before its colours and without; a sound one
// never is. Before, these were called two emitters exchanged, one that is dead, or a lamp that jumps.
func TestALampInAnotherModeIsNamed(t *testing.T) {
	const runs = 20
	for _, c := range []struct {
		most   uint32
		dimmer bool
		width  int
		words  string
	}{
		{65535, false, 1, "mode of 8 bit"}, {65535, true, 1, "mode of 8 bit"}, {255, false, 2, "mode of 16 bit"}, {255, true, 2, "mode of 16 bit"},
	} {
		named, wrong := 0, 0
		for k := range uint64(2 * runs) {
			d, n := playTaking(t, 9100+k, c.most, c.dimmer, func(s *Spec, d Drive) Drive {
				if k < runs {
					return found(s, c.width, d)
				}
				return d
			})
			switch {
			case k >= runs && d.Cause == AnotherMode:
				t.Errorf("sound lamp %d: %s", k, d.Reason)
			case k >= runs:
			case d.Cause == AnotherMode && n <= 8 && strings.Contains(d.Reason, c.words):
				named++
			default:
				if d.Cause == AnotherMode && !strings.Contains(d.Reason, c.words) || d.Outcome == Landed {
					wrong++
				}
				t.Logf("%+v lamp %d: %s, cause %q after %d: %s", c, k, d.Outcome, d.Cause, n, d.Reason)
			}
		}
		if t.Logf("%+v: named in %d of %d", c, named, runs); named < runs*9/10 || wrong > 0 {
			t.Errorf("%+v: named in %d of %d, wrongly in %d", c, named, runs, wrong)
		}
	}
}

// A lamp that is set to a mode of another kind, which its profile lists, is told so by the name of that mode: here it takes four emitters from the slots of a colour temperature and a
// tint. One that is in its mode never is, whatever other modes its profile lists.
func TestALampInAModeOfAnotherKindIsNamed(t *testing.T) {
	const runs = 20
	engine := cctSpecFor(65535)
	for i := range engine.Channels {
		engine.Channels[i].Slots = []int{2 * i, 2*i + 1}
	}
	for _, channels := range []int{3, 4} {
		mix := slotted(sevenSpec(channels, 255), false)
		mix.Name = "direct"
		named := 0
		for k := range uint64(runs) {
			s := engine
			s.Address, s.Modes = 11, []Spec{mix}
			l := unit(mix, 9400+k, 1)
			d, n := playBy(start(t, s, warmWhite, nil), func(_ int, d Drive, at time.Duration) Reading {
				wire := []byte{byte(d[0] >> 8), byte(d[0]), byte(d[1] >> 8), byte(d[1])}
				var takes Drive
				for i := range channels {
					takes = append(takes, uint32(wire[i]))
				}
				r := l.read(takes, at)
				r.Drive = d
				return r
			})
			if d.Cause == AnotherMode && n <= 8 && strings.Contains(d.Reason, `its mode "direct"`) {
				named++
			} else {
				t.Logf("%d emitters, lamp %d: %s, cause %q after %d: %s", channels, k, d.Outcome, d.Cause, n, d.Reason)
			}
		}
		if t.Logf("%d emitters: named in %d of %d", channels, named, runs); named < runs*8/10 {
			t.Errorf("%d emitters: named in %d of %d", channels, named, runs)
		}
		for k := range uint64(2 * runs) {
			s := slotted(sevenSpec(channels, 255), false)
			s.Modes = []Spec{engine}
			if d, _ := play(start(t, s, warmWhite, nil), unit(s, 9500+k, 1)); d.Cause == AnotherMode {
				t.Errorf("sound lamp %d: %s", k, d.Reason)
			}
		}
	}
}
