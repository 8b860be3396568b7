package gdtf

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"trueup/profiles"
	"trueup/profiles/law"
	"trueup/profiles/xmltree"
)

// draftOf drafts one of our own descriptions and reads the result as a profile.
func draftOf(t *testing.T, name string) (*profiles.Profile, string) {
	t.Helper()
	ft, err := readBytes(pack(t, entry{"description.xml", sample(t, name)}))
	if err != nil {
		t.Fatal(err)
	}
	d, err := ft.Draft()
	if err != nil {
		t.Fatal(err)
	}
	p, err := profiles.Parse(name, d.YAML)
	if err != nil {
		t.Fatalf("%v\n%s", err, d.YAML)
	}
	return p, string(d.YAML)
}

// A wash's draft can be read as a profile, with the slots of the description,
// the shutter open, the reset slot never touched, and a comment at each guess.
func TestDraftOfAWash(t *testing.T) {
	p, text := draftOf(t, "wash.xml")
	if p.Name != "Ozzelin Wash" || p.Maker != "Farnwibble" || len(p.Modes) != 1 {
		t.Fatalf("%+v\n%s", p, text)
	}
	m := p.Modes[0]
	if m.Kind != profiles.Emitters || m.Footprint != 12 || len(m.Emitters) != 5 || m.Dimmer == nil || fmt.Sprint(m.Dimmer.Slots) != "[1 2]" {
		t.Fatalf("%+v\n%s", m, text)
	}
	for i, want := range []string{"red [3 4]", "green [5 6]", "blue [7 8]", "uv [9]", "warm white [10]"} {
		if got := fmt.Sprint(m.Emitters[i].Name, " ", m.Emitters[i].Slots); got != want {
			t.Errorf("emitter %d is %s, want %s", i, got, want)
		}
	}
	// Red as typed in, to the digits of the file; blue from the spectrum, which
	// peaks at 450 nm: the locus there is x 0.157, y 0.018 (CIE 15), and 40 nm of
	// width draw it in and up a little.
	red, blue := m.Emitters[0].UV.XY(), m.Emitters[2].UV.XY()
	if math.Hypot(red.X-0.695, red.Y-0.304) > 1e-9 || math.Hypot(blue.X-0.153, blue.Y-0.027) > 0.01 {
		t.Errorf("red %v, blue %v\n%s", red, blue, text)
	}
	if red, blue := m.Emitters[0].SigmaUV, m.Emitters[2].SigmaUV; !(red > blue) {
		t.Errorf("a typed-in colour is trusted as much (%v) as a measured spectrum (%v)", red, blue)
	}
	if m.Emitters[0].Curve.Law != law.Linear {
		t.Errorf("red: 25 %% level, 25 %% light, and the law is %v", m.Emitters[0].Curve.Law)
	}
	if uv := m.Emitters[3]; !uv.Blind || uv.Cap > 0.1 {
		t.Errorf("UV: %+v", uv)
	}
	if len(m.Pins) != 1 || m.Pins[0].Level < 32 || m.Pins[0].Level > 63 || fmt.Sprint(m.Pins[0].Slots) != "[11]" {
		t.Errorf("the shutter is open at 32..63: %+v", m.Pins)
	}
	if len(m.Never) != 1 || m.Never[0].Safe != 0 || fmt.Sprint(m.Never[0].Slots) != "[12]" {
		t.Errorf("reset: %+v", m.Never)
	}
	for _, say := range []string{"typed into the file, not measured", "from the spectrum in the file (5 points)", "GUESS: the file says nothing of its colour", "A draft, made from a GDTF file", "UV: kept almost dark"} {
		if !strings.Contains(text, say) {
			t.Errorf("the draft does not say %q:\n%s", say, text)
		}
	}
}

func TestDraftOfAPanel(t *testing.T) {
	p, text := draftOf(t, "panel.xml")
	if len(p.Modes) != 3 {
		t.Fatalf("%d modes\n%s", len(p.Modes), text)
	}
	white, colour, point := p.Modes[0], p.Modes[1], p.Modes[2]
	if white.Kind != profiles.CCT || white.CCT.From != 2700 || white.CCT.To != 6500 || white.Tint == nil || !white.Tint.SignOpen {
		t.Errorf("white: %+v %+v\n%s", white.CCT, white.Tint, text)
	}
	if colour.Kind != profiles.HueSat || colour.Hue.To != 360 || fmt.Sprint(colour.Hue.Slots) != "[2 3]" || colour.Dimmer == nil {
		t.Errorf("colour: %+v\n%s", colour, text)
	}
	if point.Kind != profiles.XY || point.X.To != 0.8 || fmt.Sprint(point.Y.Slots) != "[4 5]" {
		t.Errorf("point: %+v\n%s", point, text)
	}
	if !strings.Contains(text, "does not say which way the tint goes") {
		t.Errorf("the tint's sign is not called open:\n%s", text)
	}
}

func TestDraftOfAPixelBar(t *testing.T) {
	p, text := draftOf(t, "bar.xml")
	m := p.Modes[0]
	if m.Heads.Count != 4 || m.Heads.Stride != 3 || m.Footprint != 13 || !m.Dimmer.Common || m.Emitters[0].Common {
		t.Fatalf("%+v\n%s", m, text)
	}
	// Blue of the third head, counted by hand: first head 2,3,4; third 8,9,10.
	if s := m.HeadSlots(&m.Emitters[2].Param, 2); fmt.Sprint(s) != "[10]" {
		t.Errorf("blue of the third head is slot %v, want 10", s)
	}
}

// change applies replacements to a sample and drafts it.
func change(t *testing.T, name string, pairs ...string) (string, error) {
	t.Helper()
	text := string(sample(t, name))
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(text, pairs[i]) {
			t.Fatalf("%s has no %s", name, pairs[i])
		}
		text = strings.ReplaceAll(text, pairs[i], pairs[i+1])
	}
	ft, err := readBytes(pack(t, entry{"description.xml", []byte(text)}))
	if err != nil {
		return "", err
	}
	d, err := ft.Draft()
	if err != nil {
		return "", err
	}
	if _, err := profiles.Parse("x", d.YAML); err != nil {
		t.Errorf("%v\n%s", err, d.YAML)
	}
	return string(d.YAML), nil
}

// What a description leaves open is a guess, and called one.
func TestGuessesAreCalledGuesses(t *testing.T) {
	for _, c := range []struct {
		name, file string
		pairs      []string
		want       []string
	}{
		{"no kelvin", "panel.xml", []string{`PhysicalFrom="2700" PhysicalTo="6500"`, ``}, []string{"GUESS: the file gives no kelvin", "kelvin: [2700"}},
		{"falling kelvin", "panel.xml", []string{`PhysicalFrom="2700" PhysicalTo="6500"`, `PhysicalFrom="8000" PhysicalTo="2000"`}, []string{"kelvin: [8000"}},
		{"no default", "wash.xml", []string{`Attribute="NoFeature" DMXFrom="0/1" Default="0/1"`, `Attribute="NoFeature" DMXFrom="0/1"`}, []string{"GUESS: the file gives no default"}},
		{"no open", "wash.xml", []string{`Name="Open"`, `Name="A"`, `PhysicalFrom="1" PhysicalTo="1"`, ``}, []string{"GUESS: the file does not say where the shutter is open", "open: 32"}},
		{"no range of x", "panel.xml", []string{`PhysicalFrom="0" PhysicalTo="0.8"`, ``}, []string{"the file gives no range: 0 to 1"}},
		{"pan and tilt", "wash.xml", []string{`Attribute="ColorAdd_WW"`, `Attribute="Pan"`}, []string{"Pan (slot 10)", "left to the desk in overlay"}},
		{"a wheel", "wash.xml", []string{`Attribute="ColorAdd_WW"`, `Attribute="Color1"`}, []string{"name: Color1", "held at the file's default"}},
		{"unknown attribute", "wash.xml", []string{`Attribute="ColorAdd_WW"`, `Attribute="Quux"`}, []string{"name: Quux", "never_touch"}},
		{"only red, green, blue of a mixer", "bar.xml", []string{"ColorAdd_R", "ColorRGB_Red", "ColorAdd_G", "ColorRGB_Green", "ColorAdd_B", "ColorRGB_Blue"}, []string{"the fixture mixes by itself"}},
		{"pink and purple", "bar.xml", []string{"ColorAdd_R", "ColorAdd_RM", "ColorAdd_G", "ColorAdd_GC", "ColorAdd_B", "ColorAdd_BM"}, []string{"pink", "blue-green", "purple", "GUESS"}},
		{"a colour space", "panel.xml", []string{`<Geometries>`, `<PhysicalDescriptions><ColorSpace Mode="ANSI"/></PhysicalDescriptions><Geometries>`}, []string{"space: e1.54"}},
		{"no colour space", "panel.xml", nil, []string{"space: unknown"}},
		{"a space of the function", "panel.xml", []string{`<Geometries>`, `<PhysicalDescriptions><ColorSpace Mode="ANSI"/><AdditionalColorSpaces><ColorSpace Name="Web"/></AdditionalColorSpaces></PhysicalDescriptions><Geometries>`, `Attribute="HSB_Hue" DMXFrom`, `Attribute="HSB_Hue" ColorSpace="Web" DMXFrom`}, []string{"space: bt709"}},
		{"elements of nobody", "panel.xml", []string{`<Geometries>`, `<Sauce/><Sauce/><Geometries>`}, []string{"the element Sauce in FixtureType is not known"}},
		{"relations", "bar.xml", []string{`</DMXChannels>`, `</DMXChannels><Relations><Relation Master="Bar_Dimmer" Follower="Pixel_ColorAdd_R" Type="Multiply"/></Relations>`}, []string{"Bar_Dimmer works on Pixel_ColorAdd_R (Multiply)"}},
		{"a response", "bar.xml", []string{`Attribute="Dimmer" DMXFrom`, `Attribute="Dimmer" DMXProfile="P" DMXFrom`}, []string{"has a response of its own"}},
		{"a dominant wavelength", "wash.xml", []string{`Color="0.1700,0.7100,71,55"`, `DominantWaveLength="525"`}, []string{"dominant_nm: 525"}},
	} {
		text, err := change(t, c.file, c.pairs...)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		for _, w := range c.want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: the draft does not say %q:\n%s", c.name, w, text)
			}
		}
	}
}

// A function that only works while another channel stands in a range needs that
// channel held there; a draft without it is wrong.
func TestAMasterIsHeldInItsRange(t *testing.T) {
	text, err := change(t, "panel.xml",
		`<ChannelFunction Name="CCT" Attribute="CTC" DMXFrom="0/2"`, `<ChannelFunction Name="CCT" Attribute="CTC" ModeMaster="Panel_ColorControl" ModeFrom="10/1" ModeTo="19/1" DMXFrom="0/2"`,
		`<LogicalChannel Attribute="Tint">`, `<LogicalChannel Attribute="ColorControl"><ChannelFunction Name="C" Attribute="ColorControl" DMXFrom="0/1" Default="0/1"/></LogicalChannel></DMXChannel><DMXChannel Offset="5" Geometry="Panel"><LogicalChannel Attribute="Tint">`)
	if err != nil {
		t.Fatal(err)
	}
	p, err := profiles.Parse("x", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	for _, pin := range p.Modes[0].Pins {
		if fmt.Sprint(pin.Slots) == "[4]" && pin.Level >= 10 && pin.Level <= 19 {
			return
		}
	}
	t.Errorf("slot 4 is not held at 10..19:\n%s", text)
}

// Texts in a description can not break out of a comment or a value.
func TestTextsOfAFileStayTexts(t *testing.T) {
	text, err := change(t, "wash.xml", `LongName="Ozzelin Wash"`, `LongName="x&#10;modes: []&#10;# &#x85;[2J: {"`, `Manufacturer="Farnwibble"`, `Manufacturer="'&quot;"`,
		`Name="Reset"`, `Name="}&#10;evil: 1"`, `Name="Extended"`, `Name="- *a: &#10; &amp;b"`, `Attribute="FixtureGlobalReset"`, `Attribute="Reset: # &#10;x"`)
	if err != nil {
		t.Fatal(err)
	}
	if strings.ContainsAny(text, "\u0085\x00") || strings.Contains(text, "\nevil") {
		t.Errorf("%q", text)
	}
}

// Whatever is in an archive: no panic, and a draft that comes out is a profile.
func FuzzDraft(f *testing.F) {
	f.Add(sample(f, "wash.xml"))  // emitters, spectrum, shutter, reset
	f.Add(sample(f, "panel.xml")) // three kinds
	f.Add(sample(f, "bar.xml"))   // heads
	f.Add(bytes.ReplaceAll(sample(f, "wash.xml"), []byte("0/1"), []byte("255/1s")))
	f.Add(bytes.ReplaceAll(sample(f, "bar.xml"), []byte(`DMXOffset="8"`), []byte(`DMXOffset="5"`))) // heads on one another
	f.Fuzz(func(t *testing.T, xml []byte) {
		root, err := xmltree.Parse(bytes.NewReader(xml))
		if err != nil {
			return
		}
		ft, err := newFixtureType(root, func(string) bool { return true })
		if err != nil {
			return
		}
		d, err := ft.Draft()
		if err != nil {
			return
		}
		if _, err := profiles.Parse("x", d.YAML); err != nil {
			t.Errorf("%v\n%s", err, d.YAML)
		}
	})
}

// No bytes make the archive reading panic.
func FuzzRead(f *testing.F) {
	f.Add(pack(f, entry{"description.xml", sample(f, "panel.xml")})) // a good one
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))         // an empty archive
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\xff", 18)))         // an end record that lies
	f.Fuzz(func(t *testing.T, data []byte) { _, _ = readBytes(data) })
}
