package gdtf

import (
	"fmt"
	"sort"

	"trueup/colorcalc"
	"trueup/profiles/xmltree"
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

// Description is description.xml, unpacked and not yet understood.
type Description struct{ root *xmltree.Node }

// FixtureType reads all of the description.
func (d *Description) FixtureType() (*FixtureType, error) {
	return newFixtureType(d.root, func(string) bool { return true })
}

// Modes are the names of the DMX modes, as written.
func (d *Description) Modes() []string {
	var names []string
	for _, m := range d.root.Child("FixtureType").Child("DMXModes").All("DMXMode") {
		names = append(names, m.Get("Name"))
	}
	return names
}

// Mode reads the description as if it had this one mode alone; what is wrong in
// others does no harm.
func (d *Description) Mode(name string) (*FixtureType, error) {
	return newFixtureType(d.root, func(n string) bool { return n == name })
}

// newFixtureType reads the tree of description.xml, and those modes of it that
// are wanted.
func newFixtureType(root *xmltree.Node, wanted func(mode string) bool) (*FixtureType, error) {
	if root.Name != "GDTF" {
		return nil, fmt.Errorf("the root element is %s, not GDTF", xmltree.Clip(root.Name))
	}
	n := root.Child("FixtureType")
	if n == nil {
		return nil, fmt.Errorf("there is no FixtureType in it")
	}
	ft := &FixtureType{
		Name:         xmltree.Clip(n.Or("LongName", n.Or("Name", n.Get("ShortName")))),
		Manufacturer: xmltree.Clip(n.Get("Manufacturer")),
		Version:      xmltree.Clip(root.Or("DataVersion", "1.0")),
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
	ft.readSpaces(n.Child("PhysicalDescriptions"))
	ft.emitters(n.Child("PhysicalDescriptions").Child("Emitters"))
	geo := n.Child("Geometries")
	for _, m := range n.Child("DMXModes").All("DMXMode") {
		if !wanted(m.Get("Name")) {
			continue
		}
		mode, err := ft.mode(m, geo)
		if err != nil {
			return nil, fmt.Errorf("mode %q: %w", xmltree.Clip(m.Get("Name")), err)
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
func refuseMaps(ft *xmltree.Node) error {
	for _, p := range ft.Child("Protocols").Kids() {
		for _, m := range p.All("Map") {
			if p.Name == "sACN" && m.Get("Key") != m.Get("Value") {
				return fmt.Errorf("line %d: the fixture maps sACN values otherwise than one to one; such a fixture can not be drafted", m.Line)
			}
		}
	}
	return nil
}

func (ft *FixtureType) note(format string, args ...any) {
	if len(ft.Notes) < 200 {
		ft.Notes = append(ft.Notes, fmt.Sprintf(format, args...))
	}
}

func (ft *FixtureType) emitters(list *xmltree.Node) {
	for _, n := range list.All("Emitter") {
		e := Emitter{Name: xmltree.Clip(n.Get("Name"))}
		if text := n.Get("Color"); text != "" {
			xy, y, err := parseColor(text)
			if err != nil {
				ft.note("line %d: emitter %q: %v", n.Line, e.Name, err)
			} else {
				e.Color, e.Y = xy, y
			}
		}
		if text := n.Get("DominantWaveLength"); text != "" {
			v, err := parseNumber(text)
			if err != nil || v < 0 || v > 2000 {
				ft.note("line %d: emitter %q: dominant wavelength %q is no wavelength in nm", n.Line, e.Name, xmltree.Clip(text))
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
func (ft *FixtureType) measurements(n *xmltree.Node, e *Emitter) {
	type point struct {
		level, light float64
		spectrum     []Sample
	}
	var points []point
	for _, m := range n.All("Measurement") {
		level, err := parseNumber(m.Get("Physical"))
		if err != nil || level <= 0 || level > 100 {
			ft.note("line %d: emitter %q: a measurement at %q percent is left out", m.Line, e.Name, xmltree.Clip(m.Get("Physical")))
			continue
		}
		p := point{level: level}
		if text := m.Get("LuminousIntensity"); text != "" {
			if p.light, err = parseNumber(text); err != nil || p.light < 0 {
				ft.note("line %d: emitter %q: luminous intensity %q is left out", m.Line, e.Name, xmltree.Clip(text))
				p.light = 0
			}
		}
		for _, s := range m.All("MeasurementPoint") {
			nm, err1 := parseNumber(s.Get("WaveLength"))
			w, err2 := parseNumber(s.Get("Energy"))
			if err1 != nil || err2 != nil || nm < 200 || nm > 2000 || w < 0 {
				ft.note("line %d: emitter %q: a point of the spectrum is left out", s.Line, e.Name)
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
