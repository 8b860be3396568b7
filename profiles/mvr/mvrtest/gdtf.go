package mvrtest

import (
	"fmt"
	"strings"
)

// Types are GDTF descriptions of invented fixtures, by file name:
//
//   - a wash with red, green, blue and white: mode "Extended" with 16 bit, a
//     dimmer, a shutter and a reset slot (12 slots), mode "Basic" with 4 slots
//   - a panel with colour temperature and tint: mode "White" (3 slots)
//   - a strip of four heads: mode "Pixels" (13 slots) with a common dimmer, mode
//     "Whites" (5 slots) with four colour temperatures under one tint
//   - a fog machine: mode "Fog" (2 slots), without light
func Types() map[string]string {
	return map[string]string{
		"Umberquill@Hobbleth 12@plan.gdtf": description("Hobbleth 12", "Body",
			mode("Extended", "Body", ch("1,2", "Body", "Dimmer"), ch("3,4", "Body", "ColorAdd_R"), ch("5,6", "Body", "ColorAdd_G"), ch("7,8", "Body", "ColorAdd_B"), ch("9,10", "Body", "ColorAdd_W"), shutter("11"), reset("12"))+
				mode("Basic", "Body", ch("1", "Body", "ColorAdd_R"), ch("2", "Body", "ColorAdd_G"), ch("3", "Body", "ColorAdd_B"), ch("4", "Body", "ColorAdd_W"))),
		"Umberquill@Vostrel Panel@plan.gdtf": description("Vostrel Panel", "Body",
			mode("White", "Body", ch("1", "Body", "Dimmer"), kelvin("2", "Body"), ch("3", "Body", "Tint"))),
		"Umberquill@Vostrel Strip@plan.gdtf": strings.Replace(description("Vostrel Strip", "Bar",
			mode("Pixels", "Bar", ch("1", "Bar", "Dimmer"), ch("1", "Pixel", "ColorAdd_R"), ch("2", "Pixel", "ColorAdd_G"), ch("3", "Pixel", "ColorAdd_B"))+
				mode("Whites", "Whites", ch("1", "Whites", "Tint"), kelvin("1", "Pixel"))),
			`<Geometry Name="Bar"/>`, `<Geometry Name="Bar">`+heads(2, 3)+`</Geometry><Geometry Name="Whites">`+heads(2, 1)+`</Geometry><Geometry Name="Pixel"/>`, 1),
		"Umberquill@Pomquist@plan.gdtf": description("Pomquist", "Body", mode("Fog", "Body", ch("1", "Body", "Fog1"), ch("2", "Body", "Fans"))),
	}
}

// GDTF packs a description.
func GDTF(description string) []byte {
	return Pack(Entry{Name: "description.xml", Data: []byte(description)}, Entry{Name: "models/body.3ds", Data: make([]byte, 4096)})
}

func description(name, geometry, modes string) string {
	return `<?xml version="1.0" encoding="UTF-8"?><GDTF DataVersion="1.2"><FixtureType Name="` + name + `" Manufacturer="Umberquill">` +
		`<Geometries><Geometry Name="` + geometry + `"/></Geometries><DMXModes>` + modes + `</DMXModes></FixtureType></GDTF>`
}

func mode(name, geometry string, channels ...string) string {
	return `<DMXMode Name="` + name + `" Geometry="` + geometry + `"><DMXChannels>` + strings.Join(channels, "") + `</DMXChannels></DMXMode>`
}

func channel(offset, geometry, attribute, functions string) string {
	return `<DMXChannel Offset="` + offset + `" Geometry="` + geometry + `"><LogicalChannel Attribute="` + attribute + `">` + functions + `</LogicalChannel></DMXChannel>`
}

func ch(offset, geometry, attribute string) string {
	return channel(offset, geometry, attribute, `<ChannelFunction Name="F" Attribute="`+attribute+`" DMXFrom="0/1" Default="0/1"/>`)
}

func kelvin(offset, geometry string) string {
	return channel(offset, geometry, "CTC", `<ChannelFunction Name="C" Attribute="CTC" DMXFrom="0/1" Default="128/1" PhysicalFrom="2700" PhysicalTo="6500"/>`)
}

func shutter(offset string) string {
	return channel(offset, "Body", "Shutter1", `<ChannelFunction Name="Closed" Attribute="Shutter1" DMXFrom="0/1" Default="32/1"/>`+
		`<ChannelFunction Name="Open" Attribute="Shutter1" DMXFrom="32/1"/><ChannelFunction Name="Strobe" Attribute="Shutter1Strobe" DMXFrom="64/1"/>`)
}

func reset(offset string) string {
	return channel(offset, "Body", "FixtureGlobalReset", `<ChannelFunction Name="Idle" Attribute="NoFeature" DMXFrom="0/1" Default="0/1"/>`+
		`<ChannelFunction Name="Reset" Attribute="FixtureGlobalReset" DMXFrom="200/1"/>`)
}

// heads are four references to the pixel.
func heads(first, stride int) string {
	var b strings.Builder
	for i := range 4 {
		fmt.Fprintf(&b, `<GeometryReference Name="P%d" Geometry="Pixel"><Break DMXBreak="1" DMXOffset="%d"/></GeometryReference>`, i, first+i*stride)
	}
	return b.String()
}
