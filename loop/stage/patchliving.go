package stage

import (
	"fmt"
	"slices"
	"strings"

	"trueup/colorcalc"
	"trueup/loop/session/rig"
)

// checkProbes finds entries for probes and fixtures that the rig does not have.
func (b *builder) checkProbes(fixtures []string) {
	if b.file.doc == nil {
		return
	}
	probes := b.probeNames()
	for i, p := range b.file.Probes {
		at := fmt.Sprintf("$.probes[%d]", i)
		if !slices.Contains(probes, p.Probe) {
			b.file.doc.Errorf(at+".probe", "the rig has no probe called %q", p.Probe).Advise("it has %s", strings.Join(probes, ", "))
		}
		if p.Sees != "" && !slices.Contains(fixtures, p.Sees) {
			b.file.doc.Errorf(at+".turned_to", "the rig has no fixture called %q", p.Sees)
		}
	}
}

// sees tells whether a fixture's light falls straight on a probe. One that is turned to a
// fixture sees all others as it sees its neighbours.
func (b *builder) sees(probe string, x *rig.Fixture) bool {
	if o := b.file.oddProbe(probe); o != nil && o.Sees != "" {
		return o.Sees == x.Name
	}
	return probe == probeOf(x)
}

func (b *builder) bounce() colorcalc.UV {
	if m := b.file.Bounce; m != nil {
		return colorcalc.UV{U: m.DU, V: m.DV}
	}
	return colorcalc.UV{}
}

// quirks are a lamp's; an emitter that it does not have is noted.
func (b *builder) quirks(e *LampFile, emitters []Emitter) Quirks {
	q, unknown := e.quirks(emitters)
	if unknown != "" {
		b.fault("weak", "there is no emitter called %q", unknown)
	}
	return q
}
