package gdtf

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trueup/profiles/xmltree"
)

// entry of an archive made for a test.
type entry struct {
	name string
	data []byte
}

// pack makes an archive.
func pack(t testing.TB, entries ...entry) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, e := range entries {
		f, err := w.Create(e.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write(e.data); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// sample reads one of our own descriptions.
func sample(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("../../testdata/gdtf", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func readBytes(data []byte) (*FixtureType, error) {
	return Read(bytes.NewReader(data), int64(len(data)))
}

// The channels of a description arrive with slots, ranges and defaults as the
// standard counts them.
func TestAWashIsRead(t *testing.T) {
	data := pack(t, entry{"thumbnail.png", []byte("x")}, entry{"description.xml", sample(t, "wash.xml")}, entry{"models/a.3ds", []byte("y")})
	path := filepath.Join(t.TempDir(), "Farnwibble@Ozzelin@x.gdtf")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	ft, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if ft.Name != "Ozzelin Wash" || ft.Manufacturer != "Farnwibble" || len(ft.Modes) != 1 || len(ft.Emitters) != 4 {
		t.Fatalf("read %+v", ft)
	}
	m := ft.Modes[0]
	if m.Footprint != 12 || m.Heads != 1 || len(m.Channels) != 8 {
		t.Fatalf("mode %+v", m)
	}
	sh := m.Channels[6]
	if sh.Default != 32 || !sh.HasDef || len(sh.Functions) != 3 {
		t.Fatalf("shutter %+v", sh)
	}
	for i, want := range [][2]uint32{{0, 31}, {32, 63}, {64, 255}} {
		if f := sh.Functions[i]; f.From != want[0] || f.To != want[1] {
			t.Errorf("shutter function %q: %d..%d, want %v", f.Name, f.From, f.To, want)
		}
	}
	if g := ft.Emitters[1]; g.Y != 71.55 {
		t.Errorf("decimal comma: Y = %v", g.Y)
	}
	if r := ft.Emitters[0]; len(r.Curve) != 2 || r.Curve[0] != (Measured{0.25, 0.25}) {
		t.Errorf("curve of red: %v", r.Curve)
	}
	if b := ft.Emitters[2]; len(b.Spectrum) != 5 || b.Spectrum[2] != (Sample{450, 1}) {
		t.Errorf("spectrum of blue: %v", b.Spectrum)
	}
}

func TestAPixelBarHasHeads(t *testing.T) {
	ft, err := readBytes(pack(t, entry{"description.xml", sample(t, "bar.xml")}))
	if err != nil {
		t.Fatal(err)
	}
	m := ft.Modes[0]
	if m.Heads != 4 || m.Stride != 3 || m.Footprint != 13 {
		t.Fatalf("%d heads, stride %d, footprint %d; want 4, 3, 13", m.Heads, m.Stride, m.Footprint)
	}
	if c := m.Channels[1]; !c.PerHead || c.Slots[0] != 2 {
		t.Errorf("red of the first head: %+v", c)
	}
	if m.Channels[0].PerHead {
		t.Error("the dimmer is not repeated, and was taken as if")
	}
}

// zip64 lays a second directory, of an archive in ZIP64 form, over a good
// archive: with a length of 0xFFFF the library looks for it and nowhere else.
func zip64(good []byte) []byte {
	end := bytes.Clone(good[len(good)-22:])
	body := good[:len(good)-22]
	length, offset := binary.LittleEndian.Uint32(end[12:]), binary.LittleEndian.Uint32(end[16:])
	record := binary.LittleEndian.AppendUint32(nil, 0x06064b50)
	record = binary.LittleEndian.AppendUint64(record, 44)
	record = append(record, make([]byte, 12)...)
	for _, v := range []uint64{1, 1, uint64(length), uint64(offset)} {
		record = binary.LittleEndian.AppendUint64(record, v)
	}
	locator := binary.LittleEndian.AppendUint32(nil, 0x07064b50)
	locator = binary.LittleEndian.AppendUint32(locator, 0)
	locator = binary.LittleEndian.AppendUint64(locator, uint64(len(body)))
	locator = binary.LittleEndian.AppendUint32(locator, 1)
	binary.LittleEndian.PutUint32(end[12:], 0xFFFF)
	return slices.Concat(body, record, locator, end)
}

// A file is hostile until proven otherwise.
func TestHostileArchivesAreRefused(t *testing.T) {
	good := sample(t, "wash.xml")
	doc := func(body string) []byte { return []byte(`<?xml version="1.0"?>` + body) }
	cut := pack(t, entry{"description.xml", good})
	lying := bytes.Clone(cut)
	binary.LittleEndian.PutUint16(lying[len(lying)-22+10:], 60000)
	many := make([]entry, 0, maxEntries+1)
	for i := range maxEntries + 1 {
		many = append(many, entry{fmt.Sprint("x", i), nil})
	}
	var bomb bytes.Buffer
	bomb.WriteString("<GDTF>")
	bomb.Write(bytes.Repeat([]byte(" "), maxDescription))
	bomb.WriteString("</GDTF>")
	for _, c := range []struct {
		name string
		data []byte
		gist string
	}{
		{"empty", nil, "not a GDTF archive"},
		{"not a zip", []byte(strings.Repeat("PK", 5000)), "not a GDTF archive"},
		{"cut short", cut[:len(cut)/2], "not a GDTF archive"},
		{"lying entry count", lying, "too many entries"},
		{"too many entries", pack(t, many...), "too many entries"},
		{"unpacks to more than it should", pack(t, entry{"description.xml", bomb.Bytes()}), "unpacks to more"},
		{"description elsewhere", pack(t, entry{"x/description.xml", good}), "no description.xml in its root"},
		{"description by a path trick", pack(t, entry{"../description.xml", good}), "no description.xml in its root"},
		{"two descriptions", pack(t, entry{"description.xml", good}, entry{"description.xml", good}), "twice"},
		{"document type", pack(t, entry{"description.xml", doc(`<!DOCTYPE a [<!ENTITY b "c">]><GDTF>&b;</GDTF>`)}), "document type"},
		{"outside entity", pack(t, entry{"description.xml", doc(`<GDTF a="&xxe;"/>`)}), "line 1"},
		{"other encoding", pack(t, entry{"description.xml", []byte(`<?xml version="1.0" encoding="latin1"?><GDTF/>`)}), "latin1"},
		{"another directory by a locator", zip64(cut), "ZIP64"},
		{"deep nesting", pack(t, entry{"description.xml", doc(strings.Repeat("<a>", 5000))}), "deeper"},
		{"many elements", pack(t, entry{"description.xml", doc("<GDTF>" + strings.Repeat("<a/>", xmltree.MaxElements+1) + "</GDTF>")}), "elements"},
		{"two roots", pack(t, entry{"description.xml", doc("<GDTF/><GDTF/>")}), "second root"},
		{"not closed", pack(t, entry{"description.xml", doc("<GDTF>")}), "cut short"},
		{"other root", pack(t, entry{"description.xml", doc("<HTML/>")}), "not GDTF"},
		{"no fixture", pack(t, entry{"description.xml", doc("<GDTF/>")}), "no FixtureType"},
		{"no mode", pack(t, entry{"description.xml", doc("<GDTF><FixtureType/></GDTF>")}), "no DMX mode"},
	} {
		if _, err := readBytes(c.data); err == nil || !strings.Contains(err.Error(), c.gist) {
			t.Errorf("%s: error %v, want %q in it", c.name, err, c.gist)
		}
	}
}

// Things a draft must not smooth over.
func TestDescriptionsThatCanNotBeDrafted(t *testing.T) {
	for _, c := range []struct{ name, from, to, gist string }{
		{"two channels on one slot", `Offset="10"`, `Offset="9"`, "both lie on slot 9"},
		{"a mapped stream", "</DMXModes>", `</DMXModes><Protocols><sACN><Map Key="1" Value="2"/></sACN></Protocols>`, "one to one"},
		{"a slot past the end", `Offset="12"`, `Offset="513"`, "slot numbers 1..512"},
		{"four bytes", `Offset="1,2"`, `Offset="1,2,20,21"`, "4 bytes"},
	} {
		text := string(sample(t, "wash.xml"))
		if !strings.Contains(text, c.from) {
			t.Fatalf("%s: the sample has no %s", c.name, c.from)
		}
		_, err := readBytes(pack(t, entry{"description.xml", []byte(strings.Replace(text, c.from, c.to, 1))}))
		if err == nil || !strings.Contains(err.Error(), c.gist) {
			t.Errorf("%s: error %v, want %q in it", c.name, err, c.gist)
		}
	}
}
