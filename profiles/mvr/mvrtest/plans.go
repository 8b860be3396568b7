package mvrtest

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Fixture is a Fixture element. Empty fields are left out.
type Fixture struct {
	UUID, Name, Spec, Mode string
	Multipatch, ID         string
	Position               string // UUID
	Unit                   int
	Addresses              []string // by break, from 0
	House                  bool
	Inside                 string // its ChildList
}

// XML writes the element.
func (f Fixture) XML() string {
	var b strings.Builder
	fmt.Fprintf(&b, "<Fixture uuid=%q name=%q multipatch=%q>\n", f.UUID, f.Name, f.Multipatch)
	b.WriteString("<Matrix>{1,0,0}{0,1,0}{0,0,1}{0,0,0}</Matrix>\n")
	value := func(name, text string) {
		if text != "" {
			fmt.Fprintf(&b, "<%s>%s</%s>\n", name, text, name)
		}
	}
	value("GDTFSpec", f.Spec)
	value("GDTFMode", f.Mode)
	value("Position", f.Position)
	value("FixtureID", f.ID)
	if f.Unit != 0 {
		value("UnitNumber", fmt.Sprint(f.Unit))
	}
	if f.House {
		value("CustomIdType", "4")
	}
	b.WriteString("<Addresses>")
	for i, a := range f.Addresses {
		fmt.Fprintf(&b, "<Address break=\"%d\">%s</Address>", i, a)
	}
	b.WriteString("</Addresses>\n")
	value("ChildList", f.Inside)
	b.WriteString("</Fixture>\n")
	return b.String()
}

// Position is an AUXData/Position element.
func Position(uuid, name string) string {
	return fmt.Sprintf("<Position uuid=%q name=%q/>\n", uuid, name)
}

// Group wraps a ChildList in an element that has one, such as GroupObject.
func Group(element, name, inside string) string {
	return fmt.Sprintf("<%s uuid=%q name=%q><ChildList>\n%s</ChildList></%s>\n", element, "group-"+name, name, inside, element)
}

// Layer is a Layer element.
func Layer(name, inside string) string { return Group("Layer", name, inside) }

// Scene is GeneralSceneDescription.xml.
func Scene(aux, layers string) Entry {
	return Entry{Name: "GeneralSceneDescription.xml", Data: []byte(`<?xml version="1.0" encoding="UTF-8" standalone="no"?>
<GeneralSceneDescription verMajor="1" verMinor="6" provider="nobody" providerVersion="0">
<UserData><Data provider="nobody"><Anything><At><All/></At></Anything></Data></UserData>
<Scene><AUXData>
` + aux + `<Symdef uuid="s" name="box"><ChildList><Geometry3D fileName="a-mesh.3ds"/></ChildList></Symdef>
</AUXData><Layers>
` + layers + `</Layers></Scene></GeneralSceneDescription>
`)}
}

// GDTFs are the files of Types, every second one stored.
func GDTFs() []Entry {
	types := Types()
	var all []Entry
	for i, name := range slices.Sorted(maps.Keys(types)) {
		all = append(all, Entry{Name: name, Data: GDTF(types[name]), Store: i%2 == 0})
	}
	return all
}

// Names of the types, as plans name them.
const (
	Wash  = "Umberquill@Hobbleth 12@plan.gdtf"
	Panel = "Umberquill@Vostrel Panel@plan"
	Strip = "Umberquill@Vostrel Strip@plan.gdtf"
	Fog   = "Umberquill@Pomquist@plan.gdtf"
)

// Plans are whole plans, by name: their entries, the scene first.
func Plans() map[string][]Entry {
	return map[string][]Entry{
		"nested":     append([]Entry{nested()}, GDTFs()...),
		"multipatch": append([]Entry{multipatch()}, GDTFs()...),
		"addresses":  append([]Entry{addresses()}, GDTFs()...),
		"missing":    append([]Entry{missing()}, missingGDTFs()...),
		"large":      append([]Entry{large(400)}, GDTFs()...),
	}
}

// nested: groups in groups, lamps on a truss, a lamp on a lamp; two positions,
// whose units stand in another order than in the file.
func nested() Entry {
	lamp := func(n int, position string, unit int, inside string) string {
		return Fixture{UUID: fmt.Sprintf("0000-0a%02d", n), Name: "Hobbleth", Spec: Wash, Mode: "Extended", Position: position, Unit: unit,
			ID: fmt.Sprint(100 + n), Addresses: []string{fmt.Sprint(1 + 12*n)}, Inside: inside}.XML()
	}
	panel := Fixture{UUID: "0000-0b01", Name: "eye", Spec: Panel, Mode: "White", ID: "201", Addresses: []string{"2.1"}}.XML()
	return Scene(Position("AAAA-01", "LX 1")+Position("aaaa-02", "LX 2"),
		Layer("Stage", Group("GroupObject", "Upstage", Group("GroupObject", "Left", Group("Truss", "T1", lamp(1, "aaaa-02", 2, "")+lamp(2, "AAAA 02", 1, panel)))+
			lamp(3, "aaaa01", 1, "")))+
			Layer("House", Group("SceneObject", "wall", Fixture{UUID: "0000-0c01", Name: "strip", Spec: Strip, Mode: "Whites", Addresses: []string{"3.1"}}.XML()+
				Fixture{UUID: "0000-0c02", Name: "strip", Spec: Strip, Mode: "Pixels", Addresses: []string{"3.11"}}.XML())))
}

// multipatch: one desk channel for several lamps; one of them on the slots of
// the first, and one of a parent that is not there.
func multipatch() Entry {
	child := func(n int, parent, address string) string {
		return Fixture{UUID: fmt.Sprintf("c%d", n), Name: fmt.Sprintf("side %d", n), Multipatch: parent, Spec: Wash, Mode: "Basic", Addresses: []string{address}}.XML()
	}
	return Scene("", Layer("Sides", Fixture{UUID: "{F0-01}", Name: "side 1", Multipatch: "00000000-0000-0000-0000-000000000000", Spec: Wash, Mode: "Basic", ID: "31", Addresses: []string{"1.1"}}.XML()+
		child(2, "f001", "1.11")+child(3, "F0-01", "1.21")+child(4, "f001", "1.1")+child(5, "dead", "1.41")+child(5, "f001", "1.51")))
}

// addresses: absolute and dotted ones, none, unreadable ones, several breaks,
// past the end of a universe, on another's slots; house lights and a fog machine.
func addresses() Entry {
	var b strings.Builder
	for i, a := range [][]string{{"1"}, {"513"}, {" 3.101 "}, {"0"}, {""}, nil, {"1.700"}, {"one"}, {"1.505"}, {"1.5"}, {"99999999999999999999"}, {"4.1", "4.200"}, {"0.7"}, {"0.0"}} {
		b.WriteString(Fixture{UUID: fmt.Sprint("d", i), Name: fmt.Sprint("wash ", i), Spec: Wash, Mode: "Extended", ID: fmt.Sprint(i + 1), Addresses: a}.XML())
	}
	b.WriteString(Fixture{UUID: "e1", Name: "aisle", Spec: Wash, Mode: "Basic", House: true, Addresses: []string{"1.400"}}.XML())
	b.WriteString(Fixture{UUID: "e2", Name: "door", Spec: "not there", House: true, Addresses: []string{"1.410"}}.XML())
	b.WriteString(Fixture{UUID: "e3", Name: "wash on aisle", Spec: Wash, Mode: "Extended", Addresses: []string{"1.395"}}.XML())
	b.WriteString(Fixture{UUID: "e4", Name: "fog", Spec: Fog, Mode: "Fog", Addresses: []string{"1.450"}}.XML())
	return Scene("", Layer("All", b.String()))
}

// missing: GDTF files and modes that are not there, or not as the plan says.
func missing() Entry {
	var b strings.Builder
	for i, f := range []Fixture{
		{Spec: Wash, Mode: "Extended"}, {Spec: "Umberquill@Nowhere@plan.gdtf", Mode: "A"}, {Spec: Wash, Mode: "Extendet"}, {Spec: Wash},
		{Spec: Panel}, {Spec: "UMBERQUILL@vostrel panel@plan", Mode: "White"}, {Spec: "../" + Wash, Mode: "Basic"}, {Spec: "broken", Mode: "A"}, {},
		{Spec: "twice.gdtf", Mode: "Basic"}, {Spec: "other modes", Mode: "Basic"},
	} {
		f.UUID, f.Name, f.Addresses = fmt.Sprint("f", i), fmt.Sprint("lamp ", i), []string{fmt.Sprint(1 + 20*i)}
		b.WriteString(f.XML())
	}
	return Scene("", Layer("All", b.String()))
}

func missingGDTFs() []Entry {
	wash := Types()[Wash]
	return append(GDTFs(), Entry{Name: "broken.gdtf", Data: []byte("PK")}, Entry{Name: "twice.gdtf", Data: GDTF(wash)}, Entry{Name: "twice.gdtf", Data: GDTF(wash)},
		// A mode that nobody uses is broken: two channels on one slot.
		Entry{Name: "other modes.gdtf", Data: GDTF(strings.Replace(wash, `Offset="11"`, `Offset="12"`, 1))})
}

// large: n fixtures of all types on ten positions.
func large(n int) Entry {
	var aux, b strings.Builder
	for p := range 10 {
		aux.WriteString(Position(fmt.Sprint("pos-", p), fmt.Sprint("Bar ", p+1)))
	}
	kinds := []struct {
		spec, mode string
		slots      int
	}{{Wash, "Extended", 12}, {Wash, "Basic", 4}, {Panel, "White", 3}, {Strip, "Pixels", 13}}
	universe, slot := 1, 1
	for i := range n {
		k := kinds[i%len(kinds)]
		if slot+k.slots > 513 {
			universe, slot = universe+1, 1
		}
		b.WriteString(Fixture{UUID: fmt.Sprintf("1000-%04x", i), Name: k.mode, Spec: k.spec, Mode: k.mode, Position: fmt.Sprint("pos-", i%10), Unit: n - i,
			ID: fmt.Sprint(1 + i), Addresses: []string{fmt.Sprintf("%d.%d", universe, slot)}}.XML())
		b.WriteString("<SceneObject uuid=\"\" name=\"clamp\"><Geometries><Geometry3D fileName=\"a-mesh.3ds\"/></Geometries></SceneObject>\n")
		slot += k.slots
	}
	return Scene(aux.String(), Layer("Rig", b.String()))
}
