package spectrum

import (
	"encoding/json"
	"testing"
)

// A spectrum that went into a journal and came back has the same colour to the last digit that
// any meter tells, and takes some four hundred characters.
func TestKeptSpectrumComesBack(t *testing.T) {
	for _, name := range []string{"FL2", "D65", "A"} {
		s, ok := Illuminant(name)
		if !ok {
			t.Fatal(name)
		}
		k, err := Keep(s)
		if err != nil {
			t.Fatal(err)
		}
		text, err := json.Marshal(k)
		if err != nil || len(text) != 434 {
			t.Fatalf("%s: %d characters, want 432 in quotes (%v)", name, len(text), err)
		}
		var back *Kept
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		was, _ := s.Resample(Visible5).XY()
		is, err := back.Spectrum().XY()
		if err != nil || is.UV().Dist(was.UV()) > 1e-7 {
			t.Errorf("%s: %v became %v (%v)", name, was, is, err)
		}
	}
}

// Whatever stands in a journal where a spectrum should be is refused or has finite values.
func FuzzKept(f *testing.F) {
	k, _ := Keep(Visible5.On(func(float64) float64 { return 1 }))
	text, _ := k.MarshalText()
	f.Add(text)
	f.Add([]byte("AAAA"))
	f.Fuzz(func(t *testing.T, text []byte) {
		var k Kept
		if k.UnmarshalText(text) == nil {
			if err := k.Spectrum().Check(); err != nil {
				t.Error(err)
			}
		}
	})
}
