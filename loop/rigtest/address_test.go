package rigtest

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

// Lamps of all kinds, of 8 bit and of 16, whose address is off by a slot or two: their address is named within eight readings, or that there is no light
// and the patch is to be looked at; where it is said by how much, it is so, but for one in a hundred. No lamp is landed for that, and none that is sound is accused of it. Before, one in four was named so
// soon, two of three were accused of something else, a twentieth of them took minutes, and the room was blamed for the glow of a lamp that is dark.
func TestAnAddressThatIsOffIsNamed(t *testing.T) {
	rigs := 8
	if os.Getenv("TRUEUP_LONG") != "" {
		rigs = 40
	}
	var n addressed
	for _, name := range []string{"address off by one or two", "address off by one or two, 8 bit", "address off by one or two, three probes"} {
		c := class(t, name)
		for i := range rigs {
			rig := c.Rig(701, i)
			for _, l := range rig.Play().Lamps {
				n.add(t, rig, &l)
			}
		}
	}
	t.Logf("%+v", n)
	switch {
	case n.off < rigs*7:
		t.Errorf("only %d lamps listen elsewhere", n.off)
	case n.soon*100 < n.off*85:
		t.Errorf("of %d lamps %d are named within eight readings", n.off, n.soon)
	case n.said*100 < n.off*90:
		t.Errorf("of %d lamps the address or no light is named last of %d", n.off, n.said)
	case n.wrong*100 > n.off+100:
		t.Errorf("of %d lamps %d are told a wrong address", n.off, n.wrong)
	case n.room*100 > n.off*3:
		t.Errorf("of %d lamps %d are said to stand beside a light that changes", n.off, n.room)
	case n.landed > 0 || n.accused > 0:
		t.Errorf("%d lamps at another address land, %d of %d sound ones are accused of it", n.landed, n.accused, n.sound)
	}
}

// addressed counts the lamps of rigs in which some listen elsewhere.
type addressed struct {
	sound, accused                             int // of an address
	off, soon, said, told, wrong, landed, room int
}

func (n *addressed) add(t *testing.T, r *Rig, l *Lamp) {
	reason := l.Outcome.Reason
	off := 0
	for _, p := range r.lamps {
		if p.name == l.Name {
			off = p.off
		}
	}
	address := strings.Contains(reason, "its address looks")
	if off == 0 {
		n.sound++
		if address {
			n.accused++
		}
		return
	}
	n.off++
	if l.Outcome.Landed() {
		n.landed++
	}
	if strings.Contains(reason, "a light beside") {
		n.room++
		t.Logf("%s, %+d: %s", l.Name, off, reason)
	}
	if l.Named > 0 && l.Named <= soonNamed {
		n.soon++
	}
	switch cause := accusation(l.Outcome); {
	case address && strings.Contains(reason, fmt.Sprintf("its address looks %s", steps(off))):
		n.told++
		n.said++
	case address:
		n.said++
		if strings.Contains(reason, "too high") || strings.Contains(reason, "too low") {
			n.wrong++
			t.Logf("%s, %+d: %s", l.Name, off, reason)
		}
	case cause == "no light" || cause == "not answering":
		n.said++
	}
}

// steps says by how much an address is off, in the words of a cause.
func steps(off int) string {
	return map[int]string{-2: "2 slots too low", -1: "1 slot too low", 1: "1 slot too high", 2: "2 slots too high"}[off]
}
