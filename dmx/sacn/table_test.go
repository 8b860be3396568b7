package sacn

import (
	"bytes"
	"fmt"
	"net/netip"
	"slices"
	"testing"
	"time"

	"trueup/dmx"
)

// desk makes packets of one source by hand.
type desk struct {
	pkt dataPacket
}

func newDesk(id byte, priority uint8, u dmx.Universe) *desk {
	d := &desk{}
	d.pkt.init(CID{id}, fmt.Sprintf("desk %d", id), priority, 0, u)
	return d
}

func (d *desk) says(levels ...byte) []byte { return d.packet(startLevels, 0, levels) }
func (d *desk) ranks(p ...byte) []byte     { return d.packet(startPerAddress, 0, p) }
func (d *desk) leaves() []byte             { return d.packet(startLevels, optTerminated, []byte{0, 0, 0}) }

func (d *desk) packet(start, options byte, slots []byte) []byte {
	d.pkt.buf[offSequence]++
	d.pkt.buf[offStartCode], d.pkt.buf[offOptions] = start, options
	d.pkt.setSlots(len(slots))
	copy(d.pkt.levels()[:], slots)
	return bytes.Clone(d.pkt.bytes())
}

// hall is a table with a clock that tests turn.
type hall struct {
	*testing.T
	table  *table
	now    time.Time
	events []Event
}

func newHall(t *testing.T, cfg ReceiverConfig) *hall {
	return &hall{T: t, table: newTable(cfg, func(c CID) bool { return c.Ours() && c != cfg.OwnCID }, nil), now: time.Unix(1e9, 0)}
}

var nobody = netip.MustParseAddr("10.0.0.9")

func (h *hall) hears(b []byte) Reason {
	h.Helper()
	var res result
	r := h.table.packet(h.now, nobody, b, &res)
	h.events = append(h.events, res.events...)
	return r
}

// passes lets time go by in the steps of the receiver.
func (h *hall) passes(d time.Duration) {
	for end := h.now.Add(d); h.now.Before(end); {
		h.now = h.now.Add(min(sweepEvery, end.Sub(h.now)))
		var res result
		h.table.expire(h.now, &res)
		h.events = append(h.events, res.events...)
	}
}

func (h *hall) shows(state BaseState, want ...byte) {
	h.Helper()
	u := h.table.universes[1]
	if u == nil {
		h.Fatalf("universe 1 is not there")
	}
	if got := u.look[:u.slots]; !bytes.Equal(got, want) || u.state != state {
		h.Errorf("shows %v (%v), want %v (%v)", got, u.state, want, state)
	}
}

func TestOrderOfPackets(t *testing.T) {
	// The cases of e1.31 6.7.2: up to 19 behind is late, more is a source that started again.
	for _, c := range []struct {
		last, fresh uint8
		ok          bool
	}{{10, 10, false}, {10, 9, false}, {10, 247, false}, {10, 246, true}, {255, 0, true}, {5, 250, false}, {0, 1, true}, {0, 127, true}, {0, 128, true}, {0, 237, false}, {0, 236, true}} {
		if got := inOrder(c.last, c.fresh); got != c.ok {
			t.Errorf("%d after %d: %v", c.fresh, c.last, got)
		}
	}
}

func TestALateOrDoubledPacketChangesNothing(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	d := newDesk(1, 100, 1)
	first := d.says(1, 1)
	h.hears(first)
	h.hears(d.says(2, 2))
	if r := h.hears(first); r != OutOfOrder {
		t.Errorf("late: %v", r)
	}
	h.shows(BaseLive, 2, 2)
	d.pkt.buf[offSequence] += 3 // three lost on the way
	h.hears(d.says(3, 3))
	if s := h.table.infos()[0]; s.Missed != 3 || s.OutOfOrder != 1 || s.Packets != 3 {
		t.Errorf("%+v", s)
	}
}

func TestTheHigherPriorityOwnsTheUniverseAndEqualOnesMergeByHighestLevel(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	low, mid, mid2 := newDesk(1, 90, 1), newDesk(2, 100, 1), newDesk(3, 100, 1)
	h.hears(low.says(255, 255, 255, 255))
	h.hears(mid.says(10, 200, 0))
	h.passes(perSlotWait)
	h.hears(low.says(255, 255, 255, 255))
	h.hears(mid.says(10, 200, 0))
	h.hears(mid2.says(20, 100, 0))
	h.passes(perSlotWait)
	h.hears(mid2.says(20, 100, 0))
	h.shows(BaseLive, 20, 200, 0, 255) // slot 4 is given by the low one alone
	h.hears(mid2.leaves())
	h.hears(mid.leaves())
	h.shows(BaseLive, 255, 255, 255, 255)
	h.hears(mid.says(1, 2))
	h.hears(low.leaves())
	h.hears(mid.says(1, 3))
	h.shows(BaseLive, 1, 3, 255, 255) // as many slots as before: nothing falls out of the look
}

func TestTheResultDoesNotDependOnWhoCameFirst(t *testing.T) {
	var looks [][]byte
	for _, order := range [][]byte{{1, 2, 3}, {3, 2, 1}, {2, 3, 1}} {
		h := newHall(t, ReceiverConfig{})
		for round := range 2 {
			for _, id := range order {
				d := newDesk(id, 100, 1)
				d.pkt.buf[offSequence] = byte(round)
				h.hears(d.says(id*10, 40-id*10, 5))
			}
			h.passes(2 * time.Second)
		}
		looks = append(looks, slices.Clone(h.table.universes[1].look[:3]))
	}
	for _, l := range looks {
		if !bytes.Equal(l, []byte{30, 30, 5}) {
			t.Errorf("looks %v", looks)
		}
	}
}

func TestADeskThatIsLostOrLeavesIsHeldAndTheDifferenceIsSaid(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	d := newDesk(1, 100, 1)
	h.hears(d.says(7, 8))
	h.passes(2400 * time.Millisecond)
	h.shows(BaseLive, 7, 8)
	h.passes(200 * time.Millisecond)
	h.shows(BaseLost, 7, 8)
	h.hears(d.says(9, 9))
	h.shows(BaseLive, 9, 9)
	h.hears(d.leaves())
	h.shows(BaseTerminated, 9, 9) // the levels of a goodbye are no levels
	h.hears(d.leaves())
	h.hears(d.leaves())
	h.passes(time.Minute)
	h.shows(BaseTerminated, 9, 9)
	var kinds []EventKind
	for _, e := range h.events {
		kinds = append(kinds, e.Kind)
	}
	if want := []EventKind{Appeared, Lost, Appeared, Terminated}; !slices.Equal(kinds, want) {
		t.Errorf("events %v, want %v", kinds, want)
	}
	if n := len(h.table.infos()); n != 0 {
		t.Errorf("%d sources remembered a minute later", n)
	}
}

func TestAGoodbyeOfAStrangerStartsNoSource(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	if r := h.hears(newDesk(1, 100, 1).leaves()); r != Unknown || len(h.table.universes) != 0 {
		t.Error(r, len(h.table.universes))
	}
}

func TestADeadCableDoesNotFlashTheLowerDesk(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	high, low := newDesk(1, 150, 1), newDesk(2, 100, 1)
	for range 10 { // both are alive, and have been for a while
		h.hears(high.says(100))
		h.passes(500 * time.Millisecond)
		h.hears(low.says(255))
		h.passes(400 * time.Millisecond)
	}
	h.shows(BaseLive, 100)
	for range 50 { // the cable they share is out: one times out 0.5 s before the other
		h.passes(100 * time.Millisecond)
		if u := h.table.universes[1]; u.look[0] != 100 {
			t.Fatalf("shows %d at %v", u.look[0], h.now)
		}
	}
	h.shows(BaseLost, 100)
}

func TestWhenTheHigherDeskAloneIsLostTheLowerTakesOverWhenItHasSpoken(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	high, low := newDesk(1, 150, 1), newDesk(2, 100, 1)
	h.hears(high.says(100))
	for range 40 {
		h.hears(low.says(255))
		h.passes(100 * time.Millisecond)
	}
	h.shows(BaseLive, 255)
}

func TestPreviewNeverReachesTheLook(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	d, p := newDesk(1, 100, 1), newDesk(2, 200, 1)
	h.hears(d.says(5))
	h.hears(p.packet(startLevels, optPreview, []byte{255}))
	h.shows(BaseLive, 5)
	if s := h.table.infos()[1]; !s.Preview || s.Live {
		t.Errorf("%+v", s)
	}
}

func TestOtherStartCodesAreNoLevels(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	d := newDesk(1, 100, 1)
	h.hears(d.says(5, 5))
	for _, code := range []byte{0x17, 0x55, 0x91, 0xcc, 0xcf, 0x01, 0xff} {
		if r := h.hears(d.packet(code, 0, []byte{255, 255})); r != NotLevels {
			t.Errorf("START code %#x: %v", code, r)
		}
	}
	h.shows(BaseLive, 5, 5)
}

func TestAShorterPacketLeavesTheMissingSlotsAsTheyWere(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	d := newDesk(1, 100, 1)
	h.hears(d.says(1, 2, 3, 4))
	h.hears(d.says(9))
	h.shows(BaseLive, 9, 2, 3, 4)
	h.hears(d.says())
	h.shows(BaseLive, 9, 2, 3, 4)
}

func TestPerAddressPrioritiesDecideSlotBySlot(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	plain, fine := newDesk(1, 100, 1), newDesk(2, 100, 1)
	say := func() {
		h.hears(plain.says(10, 10, 10, 10))
		h.hears(fine.ranks(150, 100, 0)) // the fourth is missing: not given
		h.hears(fine.says(20, 20, 20, 20))
	}
	for range 4 {
		say()
		h.passes(500 * time.Millisecond)
	}
	h.shows(BaseLive, 20, 20, 10, 10)
	if s := h.table.infos()[1]; !s.PerAddress || s.Top != 150 {
		t.Errorf("%+v", s)
	}
	for range 6 { // the priorities stay away, the levels go on: the packet's priority counts again
		h.hears(plain.says(10, 10, 10, 10))
		h.hears(fine.says(20, 5, 20, 5))
		h.passes(500 * time.Millisecond)
	}
	h.shows(BaseLive, 20, 10, 20, 10)
	for range 6 { // the levels stay away, the priorities go on: it is gone
		h.hears(plain.says(10, 10, 10, 10))
		h.hears(fine.ranks(200, 200, 200, 200))
		h.passes(500 * time.Millisecond)
	}
	h.shows(BaseLive, 10, 10, 10, 10)
}

func TestANewcomersLevelsWaitForItsPriorities(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	d, n := newDesk(1, 100, 1), newDesk(2, 200, 1)
	for range 8 {
		h.hears(d.says(10, 10))
		h.passes(250 * time.Millisecond)
	}
	h.hears(n.says(255, 255))
	h.shows(BaseLive, 10, 10)
	h.hears(n.ranks(0, 101))
	h.shows(BaseLive, 10, 255)
}

func TestOurOwnPacketsAndThoseOfOtherOverlaysAreNotTheBase(t *testing.T) {
	own, other := testCID(t), testCID(t)
	h := newHall(t, ReceiverConfig{OwnCID: own})
	d := newDesk(1, 100, 1)
	h.hears(d.says(5))
	for _, c := range []CID{own, other} {
		o := &desk{}
		o.pkt.init(c, "overlay", 200, 0, 1)
		r := h.hears(o.says(255))
		if want := map[bool]Reason{true: OwnPacket, false: Accepted}[c == own]; r != want {
			t.Errorf("%v", r)
		}
	}
	h.passes(2 * time.Second)
	h.shows(BaseLive, 5)
	if n := len(h.table.infos()); n != 2 {
		t.Errorf("%d sources, want the desk and the other overlay", n)
	}
}

func TestStrangersCannotGrowTheTable(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	for u := 1; u <= 63999; u++ {
		h.hears(newDesk(1, 100, dmx.Universe(u)).says(1))
	}
	if n := len(h.table.universes); n != MaxUniverses {
		t.Errorf("%d universes", n)
	}
	for id := range 255 {
		h.hears(newDesk(byte(id), 100, 1).says(1))
	}
	if n := len(h.table.universes[1].sources); n != MaxSources {
		t.Errorf("%d sources", n)
	}
	asked := newHall(t, ReceiverConfig{Universes: []dmx.Universe{1}})
	if r := asked.hears(newDesk(1, 100, 2).says(1)); r != NotAsked || len(asked.table.universes) != 1 {
		t.Error(r)
	}
	for id := range 255 {
		for page := range 8 {
			b := discoveryPackets(CID{byte(id)}, "x", []dmx.Universe{1, 2, 3})[0]
			b[offPage], b[offLastPage] = byte(page), 7
			asked.hears(b)
		}
	}
	if n := len(asked.table.listings.all); n != maxListings {
		t.Errorf("%d listings", n)
	}
}

func TestAnAnnouncementIsJoinedFromItsPagesAndForgottenInTime(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	var list []dmx.Universe
	for u := range 600 {
		list = append(list, dmx.Universe(2*u+1))
	}
	for _, p := range discoveryPackets(CID{1}, "big", list) {
		h.hears(p)
	}
	got := h.table.listings.list()
	if len(got) != 1 || got[0].Name != "big" || !slices.Equal(got[0].Universes, list) {
		t.Fatalf("%d listings", len(got))
	}
	h.hears(discoveryPackets(CID{1}, "big", list[:2])[0])
	if got := h.table.listings.list(); !slices.Equal(got[0].Universes, list[:2]) {
		t.Errorf("after the list shrank: %d universes", len(got[0].Universes))
	}
	h.passes(22 * time.Second)
	if got := h.table.listings.list(); len(got) != 0 {
		t.Error("remembered for more than two intervals")
	}
}

func TestASlotThatNobodyWantsKeepsItsLevel(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	d := newDesk(1, 100, 1)
	h.hears(d.ranks(100, 0, 100))
	h.hears(d.says(5, 5, 5))
	h.shows(BaseLive, 5, 0, 5)
	h.hears(d.ranks(100)) // what is missing at the end is 0 now, not what it was
	h.hears(d.says(6, 6, 6))
	h.shows(BaseLive, 6, 0, 5)
}

func TestALossIsSeenBeforeThePacketThatFollowsIt(t *testing.T) {
	h := newHall(t, ReceiverConfig{})
	high, a, b := newDesk(1, 150, 1), newDesk(2, 100, 1), newDesk(3, 100, 1)
	h.hears(high.says(100))
	for range 20 {
		h.passes(100 * time.Millisecond)
		h.hears(a.says(200))
		h.hears(b.says(50))
		h.hears(high.says(100))
	}
	// The high one falls silent. No sweep happens: the next to come is a's packet.
	h.now = h.now.Add(time.Second)
	h.hears(a.says(200))
	h.hears(b.says(50))
	h.shows(BaseLive, 100)
	h.now = h.now.Add(1600 * time.Millisecond)
	h.hears(a.says(200))
	h.shows(BaseLive, 100) // b has not spoken since
	h.hears(b.says(50))
	h.shows(BaseLive, 200)
}

// Whatever arrives, the table keeps its bounds, and a look only changes by a
// packet that passed.
func FuzzTable(f *testing.F) {
	d := newDesk(1, 100, 1)
	f.Add(d.says(1, 2, 3), d.leaves())               // a life
	f.Add(d.ranks(1, 0, 200), d.says(1))             // priorities first
	f.Add(syncPacket(CID{1}, 1), []byte("nonsense")) // no data
	f.Fuzz(func(t *testing.T, a, b []byte) {
		tab := newTable(ReceiverConfig{}, func(CID) bool { return false }, nil)
		now := time.Unix(1e9, 0)
		for i, p := range [][]byte{a, b, a, b} {
			var res result
			r := tab.packet(now, nobody, p, &res)
			if r != Accepted && len(res.changed) > 0 {
				t.Fatalf("packet %d: %v, and yet the look changed", i, r)
			}
			now = now.Add(time.Second)
			tab.expire(now, &res)
		}
		for _, u := range tab.universes {
			if u.slots > 512 || len(u.sources) > MaxSources {
				t.Fatal(u.slots, len(u.sources))
			}
		}
	})
}
