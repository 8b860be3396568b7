package feed

import (
	"testing"
	"time"

	"trueup/loop/feed/instrument"
)

// What one line costs on its way from the wire to a reading.
func BenchmarkLine(b *testing.B) {
	for _, c := range []struct{ name, file, line string }{
		{"own JSON", "", `{"probe":"mark","seq":12,"time_unix_ms":1700000000123,"integration_ms":200,"x":0.3127,"y":0.3290,"lux":123.4}`},
		{"json", "json-lines", `{"n":1,"end":946684800180,"shutter":180,"head":{"place":"cyc"},"colour":{"x":0.4431,"y":0.4068,"lux":512.5},"state":"ok"}`},
		{"csv", "decimal-comma", "1;0,3127;0,3290;1,205;250"},
		{"regexp", "polled-echo", "M,0.3812,0.3793,845.2 lx"},
		{"kelvin and Duv", "kelvin-duv", "CCT=  4310 K  D=  -2.0  E=  100.0"},
	} {
		b.Run(c.name, func(b *testing.B) {
			var ins *instrument.Instrument
			if c.file != "" {
				var err error
				if ins, err = LoadInstrument(examples + "/" + c.file + ".yaml"); err != nil {
					b.Fatal(err)
				}
			}
			d := instrument.NewDecoder(ins, &instrument.Precision{})
			m := instrument.Message{Data: []byte(c.line)}
			now := time.Unix(1700000000, 0)
			b.ReportAllocs()
			for b.Loop() {
				if ds, as := d.Decode(m, now); len(ds) != 1 {
					b.Fatal(as)
				}
			}
		})
	}
}

// FuzzCommand: no command line of a rig makes the splitter fall over.
func FuzzCommand(f *testing.F) {
	f.Add(`meter "a b" 'c' ""`) // every kind of quote
	f.Fuzz(func(t *testing.T, s string) {
		if ws, err := words(s); err == nil && len(ws) > len(s) {
			t.Fatalf("%q gave %d words", s, len(ws))
		}
	})
}
