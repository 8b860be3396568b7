package dmx

import (
	"strings"
	"testing"
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

func TestARowGoesOnInTheNextUniverse(t *testing.T) {
	a := Address{1, 1}
	for range 51 {
		a, _ = Step(a, 10, 10) // 51 tens fit: 1..510
	}
	if a != (Address{2, 1}) {
		t.Errorf("the 52nd of ten slots is at %v, want 2/1", a)
	}
	if a, ok := Step(Address{MaxUniverse, 512}, 1, 1); ok {
		t.Errorf("beyond the last universe: %v", a)
	}
}
