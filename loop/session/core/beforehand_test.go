package core

import (
	"math"
	"strings"
	"testing"
	"time"
)

// beforeReadings are n readings of the bench's reference made before the run, each changed by spoil.
func beforeReadings(t *testing.T, n int, spoil func(*Reading)) (all []Reading) {
	t.Helper()
	b := newBench(t, 1, nil)
	probe := b.c.find("window").Info.Probe
	for i := range n {
		r := *b.p.reading(Ask{ID: uint64(i + 1), Probe: probe})
		r.At = time.Duration(i-n) * 200 * time.Millisecond
		spoil(&r)
		all = append(all, r)
	}
	return all
}

// firstReference plays a run up to its reference and gives it, its note, and how many readings it took in the dark.
func firstReference(b *bench) (ref Reference, note string, asked int) {
	b.tell(Event{Kind: Begin})
	b.until("the reference is known", func() bool { return b.c.ref != nil })
	for _, e := range b.log {
		if e.Event != nil && e.Event.Kind == Read && e.Event.Reading.Probe == b.c.find("window").Info.Probe {
			asked++
		}
		if e.Kind == KindReference {
			return *e.Reference, e.Note, asked
		}
	}
	b.t.Fatal("no reference was entered")
	return
}

// A reference that was read while the network was listened to is read half as often in the dark, and known better.
func TestWhatWasReadBeforehandSparesReadings(t *testing.T) {
	plain, _, often := firstReference(newBench(t, 1, nil))
	before := beforeReadings(t, 8, func(*Reading) {})
	b := newBench(t, 1, func(c *Config) { c.Beforehand = before })
	ref, _, asked := firstReference(b)
	if asked != darkBeforehand || ref.Readings != 8+darkBeforehand || often <= asked {
		t.Errorf("%d readings in the dark of %d in all; without those beforehand %d", asked, ref.Readings, often)
	}
	if off := ref.UV.Dist(plain.UV); off > 3*plain.SigmaUV || ref.SigmaUV >= plain.SigmaUV {
		t.Errorf("%.5f from where it is without them, ± %.5f in place of %.5f", off, ref.SigmaUV, plain.SigmaUV)
	}
	on := 0
	for _, e := range b.log {
		if e.Kind == KindReading && strings.Contains(e.Note, "before") {
			on++
		}
	}
	if on != 8 {
		t.Errorf("%d of 8 readings made beforehand are on record", on)
	}
}

// Light of another sender that was on the reference's probe before the run and is not any more does not spoil it, whether it shows by its colour or by
// its level alone; nor does the light of the run's own lamps as found, which does not count whatever it looks like.
func TestOtherLightBeforehandDoesNotSpoilTheReference(t *testing.T) {
	plain, _, often := firstReference(newBench(t, 1, nil))
	for name, spoil := range map[string]func(*Reading){
		"colour": func(r *Reading) { r.UV.U += 0.0015 },
		"level":  func(r *Reading) { r.Y *= 1.04 },
		"hand":   func(r *Reading) { r.Y *= 0.3 },
	} {
		before := beforeReadings(t, 12, spoil)
		ref, note, asked := firstReference(newBench(t, 1, func(c *Config) { c.Beforehand = before }))
		if ref.UV.Dist(plain.UV) > 3*plain.SigmaUV || math.Abs(ref.Lux/plain.Lux-1) > 0.01 || asked < often || !strings.Contains(note, "does not count") {
			t.Errorf("%s: %+v after %d readings in the dark, %+v after %d without them; note %q", name, ref, asked, plain, often, note)
		}
	}
	before := beforeReadings(t, 12, func(*Reading) {})
	_, _, asked := firstReference(newBench(t, 1, func(c *Config) {
		c.Beforehand = before
		for i := range c.Units {
			if u := &c.Units[i]; u.Head >= 0 {
				for k := range u.Rest {
					u.Rest[k] = 100
				}
			}
		}
	}))
	if asked < often {
		t.Errorf("readings made beside the run's own lamps count: %d in the dark", asked)
	}
}

// Readings that are old, of another probe, without a level or too few are as if there were none.
func TestWhatDoesNotServeBeforehand(t *testing.T) {
	_, _, often := firstReference(newBench(t, 1, nil))
	for name, before := range map[string][]Reading{
		"old":      beforeReadings(t, 8, func(r *Reading) { r.At -= time.Minute }),
		"later":    beforeReadings(t, 8, func(r *Reading) { r.At += time.Minute }),
		"other":    beforeReadings(t, 8, func(r *Reading) { r.Probe = "elsewhere" }),
		"no level": beforeReadings(t, 8, func(r *Reading) { r.HasY = false }),
		"too dark": beforeReadings(t, 8, func(r *Reading) { r.TooDark = true }),
		"two":      beforeReadings(t, 2, func(*Reading) {}),
	} {
		if _, _, asked := firstReference(newBench(t, 1, func(c *Config) { c.Beforehand = before })); asked < often {
			t.Errorf("%s: %d readings in the dark, %d without them", name, asked, often)
		}
	}
}
