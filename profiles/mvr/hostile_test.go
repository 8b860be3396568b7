package mvr_test

import (
	"bytes"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"unicode"

	"trueup/profiles/mvr"
	"trueup/profiles/mvr/mvrtest"
)

// A file is hostile until proven otherwise: each of these is refused, in words.
func TestHostilePlansAreRefused(t *testing.T) {
	if testing.Short() {
		t.Skip("packs and unpacks hundreds of megabytes: minutes where every access is watched")
	}
	type entry = mvrtest.Entry
	scene := func(text string) []byte {
		return mvrtest.Pack(entry{Name: "GeneralSceneDescription.xml", Data: []byte(text)})
	}
	good := mvrtest.Plans()["nested"][0]
	lamp := mvrtest.Fixture{Name: "a", Spec: mvrtest.Wash}.XML()
	var inner []entry // each within its bound, together beyond that of all
	body := ""
	for i := range 9 {
		name := fmt.Sprintf("t%d", i)
		inner = append(inner, entry{Name: name + ".gdtf", Data: make([]byte, 31<<20)})
		body += mvrtest.Fixture{Name: name, Spec: name}.XML()
	}
	many := make([]entry, 32769)
	for i := range many {
		many[i].Name = fmt.Sprint(i)
	}
	for _, c := range []struct {
		name, gist string
		data       []byte
	}{
		{"empty", "not a My Virtual Rig archive", nil},
		{"no ZIP", "not a My Virtual Rig archive", []byte(strings.Repeat("PK", 9000))},
		{"cut short", "not a My Virtual Rig archive", mvrtest.Pack(good)[:700]},
		{"a GDTF file", "trueup profile draft", mvrtest.GDTF(mvrtest.Types()[mvrtest.Wash])},
		{"no scene", "no GeneralSceneDescription.xml in its root", mvrtest.Pack(entry{Name: "readme.txt"})},
		{"scene by a path trick", "no GeneralSceneDescription.xml in its root", mvrtest.Pack(entry{Name: "../" + good.Name, Data: good.Data})},
		{"two scenes", "which one counts", mvrtest.Pack(good, good)},
		{"too many entries", "too many entries", mvrtest.Pack(many...)},
		{"a scene that unpacks to too much", "unpacks to more than 64 MiB", scene("<GeneralSceneDescription>" + strings.Repeat(" ", 65<<20))},
		{"archives in it that unpack to too much in sum", "more than 256 MiB in all", mvrtest.Pack(append(inner, mvrtest.Scene("", mvrtest.Layer("l", body)))...)},
		{"document type", "document type", scene(`<!DOCTYPE a [<!ENTITY b "c">]><GeneralSceneDescription>&b;</GeneralSceneDescription>`)},
		{"entity", "line 1", scene(`<GeneralSceneDescription>&b;</GeneralSceneDescription>`)},
		{"nested too deep", "deeper", scene("<GeneralSceneDescription><Scene><Layers><Layer>" + strings.Repeat("<ChildList><GroupObject>", 100))},
		{"too many elements", "elements", scene("<GeneralSceneDescription><Scene>" + strings.Repeat("<x/>", 400_001))},
		{"too many fixtures", "more than 4000 fixtures", mvrtest.Pack(mvrtest.Scene("", mvrtest.Layer("l", strings.Repeat(lamp, 4001))))},
		{"other root", "not GeneralSceneDescription", scene("<GDTF/>")},
		{"no Scene", "no Scene", scene("<GeneralSceneDescription/>")},
		{"no fixture", "no Fixture", scene("<GeneralSceneDescription><Scene/></GeneralSceneDescription>")},
	} {
		if _, err := read(c.data, mvr.Options{}); err == nil || !strings.Contains(err.Error(), c.gist) {
			t.Errorf("%s: error %v, want %q in it", c.name, err, c.gist)
		}
	}
}

// A GDTF file that is too much by itself is said of its fixtures, and does the
// others no harm.
func TestABadGDTFFileHarmsOnlyItsFixtures(t *testing.T) {
	if testing.Short() {
		t.Skip("packs and unpacks tens of megabytes")
	}
	wash := mvrtest.Types()[mvrtest.Wash]
	bomb := mvrtest.Pack(mvrtest.Entry{Name: "description.xml", Data: []byte("<GDTF>" + strings.Repeat(" ", 17<<20))})
	for gist, data := range map[string]mvrtest.Entry{
		"description.xml unpacks to more than 8 MiB": {Data: bomb},
		"unpacks to more than 32 MiB":                {Data: make([]byte, 33<<20)},
		"two channels":                               {Data: mvrtest.GDTF(strings.Replace(wash, `Offset="11"`, `Offset="12"`, 1))},
	} {
		data.Name = "bad.gdtf"
		body := mvrtest.Fixture{Name: "a", Spec: "bad", Mode: "Extended"}.XML() + mvrtest.Fixture{Name: "b", Spec: mvrtest.Wash, Mode: "Extended"}.XML()
		p, err := read(mvrtest.Pack(append(mvrtest.GDTFs(), mvrtest.Scene("", mvrtest.Layer("l", body)), data)...), mvr.Options{})
		if err != nil {
			t.Fatal(gist, err)
		}
		if gist == "two channels" {
			gist = "both lie on slot 12"
		}
		if bad, good := p.Types[0], p.Types[1]; !strings.Contains(bad.Problem, gist) || good.Draft == nil {
			t.Errorf("%q, want %q; the other: %q", bad.Problem, gist, good.Problem)
		}
	}
}

// 300 plans damaged at random, in the scene's text and in the archive's bytes:
// each is a plan still or an error on one line that names what is wrong.
func TestDamagedPlansGiveClearErrors(t *testing.T) {
	rng := rand.New(rand.NewPCG(15801, 6))
	faults := 0
	plans := mvrtest.Plans()
	names := slices.Sorted(maps.Keys(plans))
	for i := range 300 {
		entries := slices.Clone(plans[names[i%len(names)]])
		data := mvrtest.Pack(entries...)
		if i%2 == 0 {
			for range 1 + rng.IntN(4) {
				entries[0].Data = damage(rng, entries[0].Data)
			}
			data = mvrtest.Pack(entries...)
		} else {
			data = damage(rng, data)
		}
		p, err := read(data, mvr.Options{})
		if err == nil && len(p.Fixtures) == 0 {
			t.Errorf("plan %d: neither fixtures nor an error", i)
		}
		if err == nil {
			continue
		}
		faults++
		if text := err.Error(); len(text) > 400 || len(text) < 10 || strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) {
			t.Errorf("plan %d: error %q", i, text)
		}
	}
	if faults < 100 {
		t.Errorf("only %d of 300 plans gave an error: the damage is too small to tell", faults)
	}
}

const rubbish = "<>&\"'/ 019.{}\x00\xff\x1b"

// damage cuts, doubles, swaps or overwrites a piece.
func damage(rng *rand.Rand, data []byte) []byte {
	at := rng.IntN(len(data))
	n := min(1+rng.IntN(40), len(data)-at)
	out := bytes.Clone(data[:at])
	switch rng.IntN(4) {
	case 0:
	case 1:
		out = append(append(out, data[at:at+n]...), data[at:at+n]...)
	case 2:
		from := rng.IntN(len(data) - n + 1)
		out = append(out, data[from:from+n]...)
	default:
		for range n {
			out = append(out, rubbish[rng.IntN(len(rubbish))])
		}
	}
	return append(out, data[at+n:]...)
}

// No bytes make the reading panic.
func FuzzRead(f *testing.F) {
	for _, name := range []string{"nested", "missing"} { // with and without faults
		f.Add(mvrtest.Pack(mvrtest.Plans()[name]...))
	}
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, data []byte) { _, _ = read(data, mvr.Options{}) })
}

// No scene makes the reading panic, and what it reads can be said.
func FuzzScene(f *testing.F) {
	for name, entries := range mvrtest.Plans() {
		if name != "large" { // it has the kinds of the others, and is slow to vary
			f.Add(string(entries[0].Data), 0)
		}
	}
	f.Add(`<GeneralSceneDescription><Scene><Layers><Layer><ChildList><Fixture multipatch="1" uuid="1"/></ChildList></Layer></Layers></Scene></GeneralSceneDescription>`, -1)
	gdtfs := mvrtest.GDTFs()
	for i := range gdtfs {
		gdtfs[i].Store = true // packing them again and again is not the point
	}
	f.Fuzz(func(t *testing.T, text string, offset int) {
		p, err := read(mvrtest.Pack(append(gdtfs, mvrtest.Entry{Name: "GeneralSceneDescription.xml", Data: []byte(text)})...), mvr.Options{UniverseOffset: offset})
		if err != nil {
			return
		}
		for _, fx := range p.Fixtures {
			if ty := p.Types[fx.Type]; (ty.Draft == nil) != (ty.Problem != "") {
				t.Errorf("%+v", ty)
			}
			if !fx.Address.Valid() && fx.Address.Universe != 0 {
				t.Errorf("address %v", fx.Address)
			}
		}
	})
}
