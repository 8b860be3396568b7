package sacn_test

import (
	"bytes"
	"context"
	"slices"
	"testing"
	"time"

	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/safety"
	"trueup/safety/check"
)

// frameTime is one frame of a full universe (E1.11, 44 a second).
const frameTime = time.Second / 44

// A desk of others fades 508 slots while four slots are ours and move. Its steps
// come out of us in order, none is lost that the rate allows, and every byte is
// the desk's. Ours move as the governor lets them, and in the end the universe
// is as the desk has it. A third party looks at every packet.
func TestADeskFadesThroughUsUnharmed(t *testing.T) {
	if testing.Short() {
		t.Skip("judges packets by the clock of the wall for several seconds")
	}
	if !sacn.OwnNetwork(t) {
		return
	}
	const first, last = 100, 103 // our slots, from 0
	const steps = 200
	watch := sacn.Watch(t, "net0")
	sacn.Begin(t, "standing", sacn.Peer(t, "desk"), "512", "5s", "200", "25ms", "6s")

	cid := sacn.TestCID(t)
	base, err := sacn.NewBase(sacn.ReceiverConfig{Universes: []dmx.Universe{1}, Multicast: true, Interfaces: []string{"net0"}, OwnCID: cid})
	if err != nil {
		t.Fatal(err)
	}
	sacn.Start(t, base.Run)
	priority, err := base.Survey(t.Context(), []dmx.Universe{1}, sacn.OneAbove)
	if err != nil {
		t.Fatal(err)
	}
	if priority != 101 {
		t.Fatalf("priority %d beside a desk at 100", priority)
	}
	head := safety.Head{Name: "wash", Universe: 1, Cap: 1}
	for i := range 4 {
		head.Slots = append(head.Slots, safety.SlotRule{Name: string(rune('a' + i)), Kind: safety.Emitter, Slots: []dmx.Slot{dmx.Slot(first + i + 1)}, Max: 255, Cap: 1, U: 0.2, V: 0.47})
	}
	limits := safety.DefaultLimits()
	governor := safety.Config{Limits: limits, Heads: []safety.Head{head}}
	door, err := safety.Open(context.Background(), safety.DoorConfig{Governor: governor, Base: base,
		Sender: sacn.SenderConfig{CID: cid, SourceName: "overlay", Priority: priority, Multicast: true, Interfaces: []string{"net0"}, Follow: base}})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 8 { // the match: another wish now and then
		door.Alive()
		if err := door.Wish(0, []uint32{uint32(60 + 20*(i%2)), 90, uint32(77 - 10*(i%3)), 100}); err != nil {
			t.Fatal(err)
		}
		time.Sleep(900 * time.Millisecond)
	}
	door.Release("the test is over")
	select {
	case <-door.Done():
	case <-time.After(time.Minute):
		t.Fatal("the door does not close")
	}
	time.Sleep(100 * time.Millisecond)
	inspect(t, watch(), cid, governor, first, last, steps)
}

// inspect judges the capture. The desk's stream is read by the sequence rule,
// as any receiver does: what is late there is no step of the desk's.
func inspect(t *testing.T, all []sacn.Watched, ours sacn.CID, governor safety.Config, first, last, steps int) {
	t.Helper()
	type step struct {
		at   time.Time
		look []byte
		seen bool
	}
	var desk []*step
	var deskSeq uint8
	var delays []time.Duration
	var lastOurs []byte
	goodbyes, packets, at := 0, 0, -1
	governor.Desk = noDesk{} // makes the checker judge an overlay
	// A third party sees packets late and in bunches. So the speed of change is
	// judged one step limit apart, and everything else as it came.
	asCame, asSteps := check.New(governor), check.New(governor)
	var stepped, before time.Time
	for _, p := range all {
		cid, seq, terminated, look, ok := sacn.ReadPacket(p.B)
		if !ok {
			t.Fatalf("not E1.31: %x", p.B)
		}
		if cid != ours {
			if terminated || len(desk) > 0 && !sacn.InOrder(deskSeq, seq) {
				continue
			}
			deskSeq = seq
			if len(desk) == 0 || !bytes.Equal(desk[len(desk)-1].look, look) {
				desk = append(desk, &step{p.At, look, false})
			}
			continue
		}
		if terminated {
			goodbyes++
			continue
		}
		if goodbyes > 0 {
			t.Fatal("levels after a goodbye")
		}
		packets++
		lastOurs = look
		// Which look of the desk's is it? It may not go back.
		found := false
		for i := max(at, 0); i < len(desk) && !found; i++ {
			if passed(desk[i].look, look, first, last) {
				if at >= 0 && i > at {
					delays = append(delays, p.At.Sub(desk[i].at))
				}
				at, desk[i].seen, found = i, true, true
			}
		}
		if !found {
			t.Fatalf("packet %d shows no look that the desk has had since the last one", packets)
		}
		stepped = stepped.Add(max(safety.MaxStep, p.At.Sub(before)))
		before = p.At
		asCame.Packet(p.At, p.B, desk[at].look)
		asSteps.Packet(stepped, p.B, desk[at].look)
	}
	speed := map[string]bool{"rise": true, "fall": true, "colour": true}
	for _, v := range asCame.Violations() {
		if !speed[v.Rule] {
			t.Errorf("limits: %v", v)
		}
	}
	for _, v := range asSteps.Violations() {
		if speed[v.Rule] {
			t.Errorf("limits: %v", v)
		}
	}
	begin := slices.IndexFunc(desk, func(s *step) bool { return s.seen })
	lost, tooFast := 0, 0
	for i := begin; i < len(desk); i++ {
		if desk[i].seen {
			continue
		}
		if i+1 < len(desk) && desk[i+1].at.Sub(desk[i].at) < frameTime {
			tooFast++ // the desk itself was faster than 44 a second there: one of the two cannot be shown
			continue
		}
		lost++
	}
	slices.Sort(delays)
	t.Logf("%d packets of ours, %d steps of the desk, delay p50 %v p99 %v max %v, lost %d, beyond the rate %d", packets, len(desk),
		delays[len(delays)/2], delays[len(delays)*99/100], delays[len(delays)-1], lost, tooFast)
	if len(desk) < steps*9/10 || packets < steps {
		t.Errorf("too little to judge: %d steps, %d packets", len(desk), packets)
	}
	// That none is lost or takes longer than a frame is shown in virtual time (TestNoStepOfADeskFallsBetweenTwoTicks).
	// Here a busy machine may stop all of us for longer than a frame.
	if lost > len(desk)/10 {
		t.Errorf("%d steps of the desk were lost", lost)
	}
	if d := delays[len(delays)/2]; d > frameTime {
		t.Errorf("half of the steps took longer than %v: more than a frame", d)
	}
	if goodbyes != 3 {
		t.Errorf("%d goodbyes", goodbyes)
	}
	if !bytes.Equal(lastOurs, desk[len(desk)-1].look) {
		t.Errorf("the end is not as the desk has it: ours %v, the desk %v", lastOurs[first:last+1], desk[len(desk)-1].look[first:last+1])
	}
}

// passed tells whether look is desk in every slot but first..last.
func passed(desk, look []byte, first, last int) bool {
	return len(desk) == len(look) && bytes.Equal(desk[:first], look[:first]) && bytes.Equal(desk[last+1:], look[last+1:])
}

type noDesk struct{}

func (noDesk) Look(dmx.Universe, *[512]byte) (int, sacn.BaseState) { return 0, sacn.BaseNone }
