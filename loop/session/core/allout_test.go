package core

import (
	"slices"
	"testing"

	"trueup/loop/solve"
)

// twoOnSlots are two lamps of two channels, 16 and 8 bit, one behind another at 1/11 and 1/14, with a slot that nobody moves at the end of the first.
func twoOnSlots() []Unit {
	of := func(name, probe string, head, address int, still []byte) Unit {
		s := solve.Spec{Channels: []solve.Channel{{Name: "red", Max: 65535, Hi: 65535, Slots: []int{0, 1}}, {Name: "dimmer", Max: 255, Hi: 255, Slots: []int{2}}},
			Dimmer: &solve.DimmerSpec{Channel: 1}, Address: address}
		return Unit{Info: FixtureInfo{Name: name, Probe: probe}, Head: head, Spec: s, Rest: solve.Drive{0x1234, 0}, Dark: []AxisCode{{Axis: 1}}, Universe: 1, Still: still}
	}
	return []Unit{of("a", "left", 0, 11, []byte{0, 0, 0, 99}), of("b", "right", 1, 15, []byte{0, 0, 0})}
}

// What stands about a lamp's slots is what the run has sent to the lamps beside, and what the rig lets stand in slots that nobody moves.
func TestWhatStandsAboutALampsSlots(t *testing.T) {
	units := twoOnSlots()
	c := &Core{units: []*unit{{Unit: &units[0]}, {Unit: &units[1]}}}
	c.units[0].at.Sent = solve.Drive{0xabcd, 7}
	if got, want := c.around(c.units[1]), []byte{7, 99, 0x12, 0x34, 0, 0, 0, 0, 0, 0}; !slices.Equal(got, want) {
		t.Errorf("about the second: %v, want %v", got, want)
	}
	if got, want := c.around(c.units[0]), []byte{0, 0, 0xab, 0xcd, 7, 99, 0x12, 0x34, 0, 0, 0, 0}; !slices.Equal(got, want) {
		t.Errorf("about the first: %v, want %v", got, want)
	}
	c.units[1].Universe = 0
	if got := c.around(c.units[1]); got != nil {
		t.Errorf("of slots that are not known: %v", got)
	}
}

// All codes of a lamp go down in the dark once its light may be no light of its dimmer, and those of the lamps on the slots beside; the units that the run was given stay
// as they are.
func TestAllCodesGoDownOfALampAndThoseBeside(t *testing.T) {
	units := twoOnSlots()
	a, b := &unit{Unit: &units[0]}, &unit{Unit: &units[1]}
	if !a.besides(b) || !b.besides(a) {
		t.Error("lamps one slot apart are not beside each other")
	}
	if !a.goesAllOut() || a.goesAllOut() {
		t.Error("all codes go down once")
	}
	if got := a.Darkened(solve.Drive{1000, 100}); !slices.Equal(got, solve.Drive{0, 0}) {
		t.Errorf("dark it stands at %v", got)
	}
	if len(units[0].Dark) != 1 {
		t.Error("the unit of the configuration was changed")
	}
	b.Spec.Address = 100
	if a.besides(b) {
		t.Error("lamps far apart are beside each other")
	}
}
