package rig

import (
	"strings"
	"testing"

	"trueup/dmx"
)

// What a draft writes, the reading takes, and nothing is said that nobody said.
func TestADraftIsARigFile(t *testing.T) {
	d := Draft{Name: "attic: a \"test\" # 1", Mode: Own, Unicast: []string{"10.0.0.7:5568"}, Meter: "127.0.0.1:7000", Reference: "window",
		LevelCap: "60 %", Aloft: true, Comment: []string{"from a patch list", "second line: [odd]"},
		Fixtures: []DraftFixture{
			{Name: "wash 1..3", Profile: "wash.yaml", Mode: "16 bit", Address: dmx.Address{Universe: 1, Slot: 1}, DeskChannel: "101"},
			{Name: "stand: 'left'", Profile: "knob.yaml", ByHand: true},
			{Name: "window", Profile: "old.yaml", Fixed: true},
		}}
	text, err := d.YAML()
	if err != nil {
		t.Fatal(err)
	}
	r, err := parseText(string(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	if r.Name != d.Name || len(r.Fixtures) != 5 || r.Fixtures[3].Name != "stand: 'left'" || !r.Safety.Limits.PeopleAloft ||
		r.Fixtures[2].Address.String() != "1/21" || r.Feeds[0].Address != "127.0.0.1:7000" || r.Target.Reference != "window" {
		t.Errorf("came back as %+v\nfrom\n%s", r, text)
	}
	for _, empty := range []string{"null", "{}", `""`, "groups", "tolerance", "false"} {
		if strings.Contains(string(text), empty) {
			t.Errorf("the draft says %s:\n%s", empty, text)
		}
	}
	for _, c := range d.Comment {
		if !strings.Contains(string(text), "# "+c) {
			t.Errorf("the comment %q is missing:\n%s", c, text)
		}
	}
}

func TestTheNextFreeAddress(t *testing.T) {
	ten := func(DraftFixture) int { return 10 }
	for _, c := range []struct{ last, want string }{{"1/1", "1/21"}, {"1/503", "2/11"}, {"2/100", "2/120"}, {"1/482", "1/502"}, {"1/492", "2/1"}} {
		a, _ := dmx.ParseAddress(c.last)
		d := Draft{Fixtures: []DraftFixture{{Name: "hand", ByHand: true}, {Name: "a 1..2", Address: a}, {Name: "b", Address: dmx.Address{Universe: 1, Slot: 1}}}}
		if got := d.Free(ten).String(); got != c.want {
			t.Errorf("behind %s: %s, want %s", c.last, got, c.want)
		}
	}
	if got := (Draft{}).Free(ten).String(); got != "1/1" {
		t.Errorf("of nothing: %s", got)
	}
}
