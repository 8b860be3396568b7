package gdtf

import (
	"fmt"
	"sort"

	"trueup/colorcalc"
)

// FixtureType is what a GDTF description says, as far as colour and safety
// need it.
type FixtureType struct {
	Name, Manufacturer, Version string
	Emitters                    []Emitter
	Modes                       []Mode
	// Notes are things in the file that were not understood or look wrong.
	Notes []string

	spaces map[string]string // colour space modes by name
}

// Emitter is an additive source as the file claims it.
type Emitter struct {
	Name     string
	Color    colorcalc.XY // zero where none is given
	Y        float64      // relative; its scale is not reliable
	Dominant float64      // nm; 0 where none is given
	Curve    []Measured   // ascending level; empty where none is given
	// Spectrum is that of the highest measured level; nil where none is given.
	Spectrum []Sample
}

// Measured is one point of an emitter's response: Level and Light are fractions
// of the highest point.
type Measured struct{ Level, Light float64 }

// Sample is spectral power at a wavelength in nm; the scale is relative.
type Sample struct{ NM, Power float64 }

// newFixtureType reads the tree of description.xml.
func newFixtureType(root *node) (*FixtureType, error) {
	if root.name != "GDTF" {
		return nil, fmt.Errorf("the root element is %s, not GDTF", clip(root.name))
	}
	n := root.child("FixtureType")
	if n == nil {
		return nil, fmt.Errorf("there is no FixtureType in it")
	}
	ft := &FixtureType{
		Name:         clip(n.or("LongName", n.or("Name", n.get("ShortName")))),
		Manufacturer: clip(n.get("Manufacturer")),
		Version:      clip(root.or("DataVersion", "1.0")),
	}
	switch ft.Version {
	case "1.0", "1.1", "1.2":
	default:
		ft.note("DataVersion %s is not one this program knows (1.0, 1.1, 1.2)", ft.Version)
	}
	if err := refuseMaps(n); err != nil {
		return nil, err
	}
	ft.unknown(root)
	ft.readSpaces(n.child("PhysicalDescriptions"))
	ft.emitters(n.child("PhysicalDescriptions").child("Emitters"))
	geo := n.child("Geometries")
	for _, m := range n.child("DMXModes").all("DMXMode") {
		mode, err := ft.mode(m, geo)
		if err != nil {
			return nil, fmt.Errorf("mode %q: %w", clip(m.get("Name")), err)
		}
		ft.Modes = append(ft.Modes, mode)
	}
	if len(ft.Modes) == 0 {
		return nil, fmt.Errorf("it describes no DMX mode")
	}
	return ft, nil
}

// refuseMaps looks for sACN maps: a fixture that takes stream values otherwise
// than one to one can not be drafted as slots.
func refuseMaps(ft *node) error {
	for _, p := range ft.child("Protocols").kidsOf() {
		for _, m := range p.all("Map") {
			if p.name == "sACN" && m.get("Key") != m.get("Value") {
				return fmt.Errorf("line %d: the fixture maps sACN values otherwise than one to one; such a fixture can not be drafted", m.line)
			}
		}
	}
	return nil
}

func (n *node) kidsOf() []*node {
	if n == nil {
		return nil
	}
	return n.kids
}

func (ft *FixtureType) note(format string, args ...any) {
	if len(ft.Notes) < 200 {
		ft.Notes = append(ft.Notes, fmt.Sprintf(format, args...))
	}
}

func (ft *FixtureType) emitters(list *node) {
	for _, n := range list.all("Emitter") {
		e := Emitter{Name: clip(n.get("Name"))}
		if text := n.get("Color"); text != "" {
			xy, y, err := parseColor(text)
			if err != nil {
				ft.note("line %d: emitter %q: %v", n.line, e.Name, err)
			} else {
				e.Color, e.Y = xy, y
			}
		}
		if text := n.get("DominantWaveLength"); text != "" {
			v, err := parseNumber(text)
			if err != nil || v < 0 || v > 2000 {
				ft.note("line %d: emitter %q: dominant wavelength %q is no wavelength in nm", n.line, e.Name, clip(text))
			} else {
				e.Dominant = v
			}
		}
		ft.measurements(n, &e)
		ft.Emitters = append(ft.Emitters, e)
	}
}

// measurements reads an emitter's response and the spectrum of its highest
// level.
func (ft *FixtureType) measurements(n *node, e *Emitter) {
	type point struct {
		level, light float64
		spectrum     []Sample
	}
	var points []point
	for _, m := range n.all("Measurement") {
		level, err := parseNumber(m.get("Physical"))
		if err != nil || level <= 0 || level > 100 {
			ft.note("line %d: emitter %q: a measurement at %q percent is left out", m.line, e.Name, clip(m.get("Physical")))
			continue
		}
		p := point{level: level}
		if text := m.get("LuminousIntensity"); text != "" {
			if p.light, err = parseNumber(text); err != nil || p.light < 0 {
				ft.note("line %d: emitter %q: luminous intensity %q is left out", m.line, e.Name, clip(text))
				p.light = 0
			}
		}
		for _, s := range m.all("MeasurementPoint") {
			nm, err1 := parseNumber(s.get("WaveLength"))
			w, err2 := parseNumber(s.get("Energy"))
			if err1 != nil || err2 != nil || nm < 200 || nm > 2000 || w < 0 {
				ft.note("line %d: emitter %q: a point of the spectrum is left out", s.line, e.Name)
				continue
			}
			p.spectrum = append(p.spectrum, Sample{nm, w})
		}
		points = append(points, p)
	}
	sort.SliceStable(points, func(i, j int) bool { return points[i].level < points[j].level })
	if len(points) == 0 {
		return
	}
	top := points[len(points)-1]
	if len(top.spectrum) >= 2 {
		sort.SliceStable(top.spectrum, func(i, j int) bool { return top.spectrum[i].NM < top.spectrum[j].NM })
		e.Spectrum = top.spectrum
	}
	if top.light <= 0 || len(points) < 2 {
		return
	}
	for _, p := range points {
		if p.light > 0 {
			e.Curve = append(e.Curve, Measured{p.level / top.level, p.light / top.light})
		}
	}
}

// clip bounds a text from the file and takes control characters out, so that
// nothing in it can break a comment, a line or a terminal.
func clip(text string) string {
	out := make([]rune, 0, 64)
	for _, r := range text {
		if len(out) == 80 {
			return string(out) + "…"
		}
		if r < ' ' || r == 0x7F || (r >= 0x80 && r < 0xA0) || r == 0x2028 || r == 0x2029 || r == 0xFEFF || r == 0xFFFD {
			r = ' '
		}
		out = append(out, r)
	}
	return string(out)
}
