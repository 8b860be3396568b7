package dmx

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestAnAddressIsReadAsTheTradeWritesIt(t *testing.T) {
	for text, want := range map[string]Address{
		"3/101":     {3, 101},
		"1/1":       {1, 1},
		"63999/512": {63999, 512},
	} {
		if got, err := ParseAddress(text); err != nil || got != want {
			t.Errorf("%q: got %v, %v; want %v", text, got, err, want)
		}
	}
}

func TestAWrongAddressSaysWhichHalfAndWhatWouldBeRight(t *testing.T) {
	for text, say := range map[string]string{
		"":                       "universe/slot",
		"101":                    "universe/slot", // the old absolute way is ambiguous
		"0/1":                    "universe 0 is not in 1..63999",
		"64000/1":                "universe 64000 is not in 1..63999",
		"64214/1":                "universe 64214", // carries discovery only
		"1/0":                    "slot 0 is not in 1..512",
		"1/513":                  "slot 513 is not in 1..512",
		"1/":                     "slot is missing",
		"/1":                     "universe is missing",
		"1/1/1":                  `slot "1/1" is not a plain number`,
		"01/1":                   "not a plain number", // octal to some
		"+1/1":                   "not a plain number",
		"-1/1":                   "not in 1..63999",
		" 1/1":                   "not a plain number",
		"1/1 ":                   "not a plain number",
		"٣/1":                    "not a plain number", // digits of another script
		"99999999999999999999/1": "not a plain number",
	} {
		got, err := ParseAddress(text)
		if err == nil {
			t.Errorf("%q was read as %v", text, got)
		} else if !strings.Contains(err.Error(), say) {
			t.Errorf("%q: the error %q does not say %q", text, err, say)
		}
	}
}

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Address{Universe(rapid.IntRange(1, MaxUniverse).Draw(t, "u")), Slot(rapid.IntRange(1, 512).Draw(t, "s"))}
		var b Address
		text, _ := a.MarshalText()
		if err := b.UnmarshalText(text); err != nil || a != b {
			t.Fatalf("%v became %v, %v", a, b, err)
		}
	})
}

// What is accepted is valid and is written exactly as it was read.
func FuzzParseAddress(f *testing.F) {
	f.Add("3/101")     // the usual
	f.Add("63999/512") // the largest
	f.Add("64000/1")   // the first universe that is reserved
	f.Add("1/00")      // a zero in disguise
	f.Add("1//1")      // empty middle
	f.Fuzz(func(t *testing.T, text string) {
		a, err := ParseAddress(text)
		if err != nil {
			if a != (Address{}) {
				t.Errorf("%q: an error and %v", text, a)
			}
			return
		}
		if !a.Valid() || a.String() != text {
			t.Errorf("%q was read as %v", text, a)
		}
	})
}

func TestAListOfUniverses(t *testing.T) {
	got, err := ParseUniverses("7, 1-2,2..3", 10)
	if err != nil || len(got) != 4 || got[0] != 1 || got[3] != 7 {
		t.Errorf("got %v, %v", got, err)
	}
	for _, bad := range []string{"", "1-", "-1", "3-1", "1-63999", "0", "64000", "1,,2", "a"} {
		if got, err := ParseUniverses(bad, 10); err == nil {
			t.Errorf("%q was read as %v", bad, got)
		}
	}
}

func FuzzParseUniverses(f *testing.F) {
	f.Add("1..4,7")  // the usual
	f.Add("1-4,7")   // as many people write it
	f.Add("1-63999") // more than allowed
	f.Add("5-5")     // a range of one
	f.Fuzz(func(t *testing.T, text string) {
		list, err := ParseUniverses(text, 100)
		if err != nil {
			return
		}
		if len(list) == 0 || len(list) > 100 {
			t.Fatalf("%q gave %d universes", text, len(list))
		}
		for i, u := range list {
			if !u.Valid() || i > 0 && u <= list[i-1] {
				t.Fatalf("%q gave %v", text, list)
			}
		}
	})
}
