package rig

import (
	"strconv"
	"strings"
	"testing"
)

// A range whose desk channels are far enough apart has one for every slot.
func TestDeskChannelsOfARangeMayHaveAStep(t *testing.T) {
	r, err := parseText(strings.Replace(goodRig, "desk_channel: 101", "desk_channel: 101\n    desk_step: 20", 1))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{"101", "121", "141"} {
		if got := r.Fixtures[i].DeskChannel; got != want {
			t.Errorf("%s has desk channel %s, want %s", r.Fixtures[i].Name, got, want)
		}
	}
	_, err = parseText(strings.Replace(goodRig, "desk_channel: 101", "desk_step: 20", 1))
	if err == nil || !strings.Contains(err.Error(), "no desk channel") {
		t.Errorf("a step without a channel: %v", err)
	}
}

// What a match of an example leaves can become a cue: the desk has a channel of
// its own for every slot of every fixture that names one.
func TestTheExamplesHaveRoomAtTheDesk(t *testing.T) {
	for _, name := range []string{"demo", "beside-a-desk", "theatre-cyc"} {
		r, err := Load("../../../examples/" + name + "/rig.yaml")
		if err != nil {
			t.Fatal(err)
		}
		whose := map[int]string{}
		for i := range r.Fixtures {
			f := &r.Fixtures[i]
			first, err := strconv.Atoi(f.DeskChannel)
			if err != nil {
				continue // none, as for what is only measured
			}
			for ch := first; ch < first+f.Mode.Footprint; ch++ {
				if other := whose[ch]; other != "" {
					t.Errorf("%s: desk channel %d is of %s and of %s", name, ch, other, f.Name)
					break
				}
				whose[ch] = f.Name
			}
		}
		if len(whose) == 0 {
			t.Errorf("%s names no desk channel", name)
		}
	}
}
