package feed

import (
	"testing"
	"time"

	"trueup/loop/feed/instrument"
)

// A text that says there is too little light is a reading of the head that the feed's probes name, if that is one alone, or of the head that it names
// itself. Where there are several and it names none, it is of none of them.
func TestATextForTooLittleLightIsOfTheOnlyHead(t *testing.T) {
	const line = "instrument: a\nread: {as: csv}\nfields: {x: 1, y: 2, level: 3, probe: 4}\nerrors:\n  - {when: '^LOW( (?P<probe>\\w+))?', is: underrange}\n"
	ins, err := instrument.Parse("meter.yaml", []byte(line))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		probes     map[string]string
		text, want string
	}{
		{map[string]string{"h": "stage left"}, "LOW", "stage left"},
		{map[string]string{"h": "stage left"}, "LOW h", "stage left"},
		{map[string]string{"h": "stage left", "k": "stage right"}, "LOW k", "stage right"},
		{map[string]string{"h": "stage left", "k": "stage right"}, "LOW", ""},
		{nil, "LOW", ""},
	} {
		config := DefaultConfig()
		config.Probes = c.probes
		a := newAcceptance(config)
		now := time.Unix(1e9, 0)
		drafts, aside := instrument.NewDecoder(ins, &instrument.Precision{}).Decode(instrument.Message{Data: []byte(c.text)}, now)
		if len(drafts) != 1 {
			t.Fatalf("%q: %v", c.text, aside)
		}
		if r, aside := a.take(drafts[0], now); aside != nil || r.Probe != c.want || !r.Flags.Has(Underrange) {
			t.Errorf("%q of %v: probe %q, want %q; %v", c.text, c.probes, r.Probe, c.want, aside)
		}
	}
}
