package dmx

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestAFixtureThatWouldCrossTheEndIsRefusedWithTheLastPlaceWhereItFits(t *testing.T) {
	ok := Piece{"wash", Address{2, 501}, 12} // 501..512
	if err := ok.Check(); err != nil {
		t.Error(err)
	}
	if end, fits := ok.End(); !fits || end != (Address{2, 512}) {
		t.Errorf("ends at %v, %v", end, fits)
	}
	err := Piece{"wash", Address{2, 502}, 12}.Check()
	if err == nil || !strings.Contains(err.Error(), "2/501") {
		t.Errorf("got %v, want the address 2/501 in it", err)
	}
}

func TestEveryOverlapIsReportedWithBothNamesAndTheSlots(t *testing.T) {
	r := Patch([]Piece{
		{"long", Address{1, 1}, 100},
		{"inside", Address{1, 10}, 5},   // wholly inside
		{"edge", Address{1, 100}, 2},    // one slot
		{"beside", Address{1, 102}, 10}, // touches, takes nothing
		{"elsewhere", Address{2, 1}, 100},
		{"crossing", Address{2, 510}, 4},
		{"nowhere", Address{0, 1}, 1},
	})
	var got []string
	for _, o := range r.Overlaps {
		got = append(got, o.Error())
	}
	want := []string{"long at 1/1 and inside at 1/10 both take 1/10..14", "long at 1/1 and edge at 1/100 both take 1/100"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if len(r.Bad) != 2 {
		t.Errorf("bad pieces: %v", r.Bad)
	}
	if us := r.Universes(); len(us) != 2 || us[0] != 1 || us[1] != 2 {
		t.Errorf("universes %v", us)
	}
	if s := r.Used[0].String(); s != "1/1..111" {
		t.Errorf("used %s", s)
	}
	if s := r.Gaps[0].String(); s != "1/112..512" {
		t.Errorf("gap %s", s)
	}
}

// The report agrees with a plain picture of the slots, one counter each.
func TestTheReportAgreesWithCountingSlots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pieces []Piece
		count := map[Address]int{}
		for range rapid.IntRange(0, 12).Draw(t, "pieces") {
			p := Piece{"p", Address{Universe(rapid.IntRange(1, 2).Draw(t, "u")), Slot(rapid.IntRange(1, 512).Draw(t, "s"))}, rapid.IntRange(1, 80).Draw(t, "n")}
			pieces = append(pieces, p)
			if p.Check() == nil {
				for i := range p.Slots {
					count[Address{p.Start.Universe, p.Start.Slot + Slot(i)}]++
				}
			}
		}
		r := Patch(pieces)
		shared := map[Address]bool{}
		for _, o := range r.Overlaps {
			for s := o.Span.First; s <= o.Span.Last; s++ {
				shared[Address{o.Span.Universe, s}] = true
			}
		}
		seen := map[Address]string{}
		note := func(spans []Span, what string) {
			for _, sp := range spans {
				for s := sp.First; s <= sp.Last; s++ {
					a := Address{sp.Universe, s}
					if seen[a] != "" {
						t.Fatalf("%v is %s and %s", a, seen[a], what)
					}
					seen[a] = what
				}
			}
		}
		note(r.Used, "used")
		note(r.Gaps, "free")
		for _, u := range r.Universes() {
			for s := Slot(1); s <= 512; s++ {
				a := Address{u, s}
				want := "free"
				if count[a] > 0 {
					want = "used"
				}
				if seen[a] != want || shared[a] != (count[a] > 1) {
					t.Fatalf("%v: %s, shared %v; counted %d", a, seen[a], shared[a], count[a])
				}
			}
		}
		if len(seen) != 512*len(r.Universes()) {
			t.Fatalf("%d slots told of", len(seen))
		}
	})
}

func TestARowGoesOnInTheNextUniverse(t *testing.T) {
	a := Address{1, 1}
	for range 51 {
		a, _ = Step(a, 10, 10) // 51 tens fit: 1..510
	}
	if a != (Address{2, 1}) {
		t.Errorf("the 52nd of ten slots is at %v, want 2/1", a)
	}
	if a, ok := Next(Address{1, 503}, 10); !ok || a != (Address{1, 503}) {
		t.Errorf("ten slots from 503 end at 512: got %v %v", a, ok)
	}
	if a, ok := Next(Address{1, 504}, 10); !ok || a != (Address{2, 1}) {
		t.Errorf("ten slots from 504 do not fit: got %v %v", a, ok)
	}
	if a, ok := Next(Address{MaxUniverse, 504}, 10); ok {
		t.Errorf("beyond the last universe: %v", a)
	}
	if a, ok := Step(Address{MaxUniverse, 512}, 1, 1); ok {
		t.Errorf("beyond the last universe: %v", a)
	}
}
