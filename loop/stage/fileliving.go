package stage

import (
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/profiles/yamlfile"
)

// What the stage file says of lights that live.

// Schema describes the stage file as JSON Schema (draft 2020-12), from the same tags
// that the reading obeys. json.Marshal of it is the schema.
func Schema() map[string]any { return yamlfile.Schema("", "trueup stage file", File{}, nil) }

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

// AmbientSpec is the file's ambient light.
func (f *File) AmbientSpec() AmbientSpec {
	a := f.Ambient
	if a == nil {
		a = &AmbientFile{Lux: 0.5, Kelvin: 3000}
	}
	minute := math.Sqrt(60) // walks are stated after a minute, and grow with the root of time
	s := AmbientSpec{Light: White(colorcalc.Kelvin(a.Kelvin).Mired(), colorcalc.Duv(a.Duv)).XYZ(a.Lux),
		Walk: a.Walk / minute, Tint: a.Tint / minute, Drift: a.Drift / 600}
	if p := a.Step; p != nil {
		s.Step, s.Factor, s.Moved = seconds(p.At), or(p.Factor, 1), colorcalc.UV{U: p.DU, V: p.DV}
	}
	if w := a.Swing; w != nil {
		s.Swing, s.SwingPeriod = w.Share, seconds(w.Period)
	}
	if b := a.Blink; b != nil {
		s.Blink, s.BlinkFrom, s.BlinkTo = b.Share, seconds(b.From), seconds(b.To)
	}
	return s
}

// probe is a probe of the rig as the file has it.
func (f *File) probe(name string) Probe {
	p := Probe{Name: name, Ambient: f.AmbientSpec()}
	if o := f.oddProbe(name); o != nil {
		p.Off, p.Hands = colorcalc.UV{U: o.DU, V: o.DV}, seconds(o.Hands)
	}
	return p
}

func (f *File) oddProbe(name string) *ProbeFile {
	for i := range f.Probes {
		if f.Probes[i].Probe == name {
			return &f.Probes[i]
		}
	}
	return nil
}

// quirks are those of a lamp with these emitters; unknown names an emitter that it
// does not have.
func (l *LampFile) quirks(emitters []Emitter) (q Quirks, unknown string) {
	q = Quirks{Play: or(l.Play, 0), Wave: or(l.Wave, 0), PWM: or(l.PWM, 0)}
	if c := l.Calibrates; c != nil {
		q.Calibrates, q.CalibratesAfter = c.By, seconds(c.After)
	}
	if len(l.Weak) == 0 {
		return q, ""
	}
	for range emitters {
		q.Gain = append(q.Gain, 1)
	}
	for _, w := range l.Weak {
		found := false
		for i, e := range emitters {
			if e.Name == w.Emitter {
				q.Gain[i], found = w.Gain, true
			}
		}
		if !found {
			return q, w.Emitter
		}
	}
	return q, ""
}

// change is what becomes of the lamp's light in the course of time.
func (l *LampFile) change() Change {
	var c Change
	if w := l.Warming; w != nil {
		c.Warming, c.WarmTime = colorcalc.UV{U: w.DU, V: w.DV}, seconds(w.Time)
	}
	if g := l.Gel; g != nil {
		c.Gel, c.GelMoved, c.GelFactor = seconds(g.At), colorcalc.UV{U: g.DU, V: g.DV}, or(g.Factor, 1)
	}
	return c
}
