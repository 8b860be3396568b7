package mvr_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"trueup/profiles/mvr"
	"trueup/profiles/mvr/mvrtest"
)

func read(data []byte, o mvr.Options) (*mvr.Plan, error) {
	return mvr.Read(bytes.NewReader(data), int64(len(data)), o)
}

func plan(t testing.TB, name string) *mvr.Plan {
	t.Helper()
	p, err := read(mvrtest.Pack(mvrtest.Plans()[name]...), mvr.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// line is a fixture in short, as a person would read it off the plan.
func line(p *mvr.Plan, f *mvr.Fixture) string {
	a := f.Address.String()
	if !f.Address.Valid() {
		a = "-"
	}
	return fmt.Sprint(f.Name, "|", f.Position, "|", f.Unit, "|", f.ID, "|", a, "|", p.Types[f.Type].Mode, "|", f.Layer, "|", strings.Join(f.Groups, "/"))
}

func lines(p *mvr.Plan) string {
	var all []string
	for i := range p.Fixtures {
		all = append(all, line(p, &p.Fixtures[i]))
	}
	return strings.Join(all, "\n")
}

// Fixtures are found wherever they hang, and come in the order of a walk: along
// the positions as the plan lists them, by unit number, the rest behind.
func TestNestedFixturesAreFound(t *testing.T) {
	p := plan(t, "nested")
	want := `Hobbleth|LX 1|1|103|1/37|Extended|Stage|Upstage
Hobbleth|LX 2|1|102|1/25|Extended|Stage|Upstage/Left
Hobbleth|LX 2|2|101|1/13|Extended|Stage|Upstage/Left
eye||0|201|2/1|White|Stage|Upstage/Left
strip||0||3/1|Whites|House|
strip||0||3/11|Pixels|House|`
	if got := lines(p); got != want {
		t.Errorf("read\n%s\nwant\n%s", got, want)
	}
	if p.Version != "1.6" || len(p.Notes) != 0 || len(p.Types) != 4 {
		t.Errorf("%q, %d types, notes %q", p.Version, len(p.Types), p.Notes)
	}
	// Slots counted by hand in the descriptions of mvrtest.
	for i, want := range map[int]int{0: 12, 1: 3, 2: 5, 3: 13} {
		if ty := p.Types[i]; ty.Footprint != want || ty.Draft == nil || ty.Maker != "Umberquill" || len(ty.Draft.Modes) != 1 || ty.Draft.Modes[0] != ty.Mode {
			t.Errorf("type %d: %+v", i, ty)
		}
	}
}

// A multipatch is a lamp of its own on its parent's desk channel; UUIDs are
// compared without case and punctuation, and one that stands twice is said.
func TestMultipatchIsSaid(t *testing.T) {
	p := plan(t, "multipatch")
	want := `side 1||0|31|1/1|Basic|Sides|
side 2||0|31|1/11|Basic|Sides|
side 3||0|31|1/21|Basic|Sides|
side 4||0|31|1/1|Basic|Sides|
side 5||0||1/41|Basic|Sides|`
	if got := lines(p); got != want {
		t.Errorf("read\n%s\nwant\n%s", got, want)
	}
	for i, want := range []string{"", `of "side 1"`, `of "side 1"`, `of "side 1"`, "does not have"} {
		if got := strings.Join(p.Fixtures[i].Notes, "; "); want == "" && got != "" || !strings.Contains(got, want) {
			t.Errorf("%s: %q, want %q", p.Fixtures[i].Name, got, want)
		}
	}
	if len(p.Notes) != 1 || !strings.Contains(p.Notes[0], `"side 5" has the UUID of "side 5"`) {
		t.Errorf("notes %q", p.Notes)
	}
}

// Absolute addresses count the slots of all universes from 1.
func TestAddressesAreReadInEveryForm(t *testing.T) {
	for _, c := range []struct {
		text   string
		offset int
		want   string // the address, - for none, else part of what is said
	}{
		{"1", 0, "1/1"}, {"512", 0, "1/512"}, {"513", 0, "2/1"}, {"1024", 0, "2/512"}, {"32767488", 0, "63999/512"}, {"32767489", 0, "universe 64000"},
		{"1.1", 0, "1/1"}, {"7.512", 0, "7/512"}, {" 3 . 101 ", 0, "3/101"}, {"1.1", 4, "5/1"}, {"1", 4, "5/1"}, {"0.7", 1, "1/7"}, {"3.1", -2, "1/1"},
		{"", 0, "-"}, {"0", 0, "-"}, {"0", 3, "-"}, {"0.0", 0, "-"}, {"1.0", 0, "-"}, {" ", 0, "-"},
		{"0.7", 0, "--universe-offset 1"}, {"1.513", 0, "slot 513 is not in 1..512"}, {"2.1", -2, "universe 0"}, {"64000.1", 0, "universe 64000"}, {"63999.1", 1, "universe 64000"},
		{"one", 0, "want one number"}, {"1.2.3", 0, "want one number"}, {"-1", 0, "want one number"}, {"+1", 0, "want one number"}, {"1e3", 0, "want one number"}, {"1,5", 0, "want one number"},
		{"99999999999999999999", 0, "want one number"}, {"1.99999999999", 0, "want one number"}, {".", 0, "want one number"}, {"4294967297", 0, "want one number"},
	} {
		f := mvrtest.Fixture{Name: "a", Addresses: []string{c.text}}
		p, err := read(mvrtest.Pack(mvrtest.Scene("", mvrtest.Layer("l", f.XML()))), mvr.Options{UniverseOffset: c.offset})
		if err != nil {
			t.Fatal(err)
		}
		got := p.Fixtures[0].Address.String()
		switch said := p.Fixtures[0].Unreadable; {
		case said != "":
			if !strings.Contains(said, c.want) || p.Fixtures[0].Address.Valid() {
				t.Errorf("%q with %+d: %q, want %q", c.text, c.offset, said, c.want)
			}
		case got != c.want && !(c.want == "-" && got == "0/0"):
			t.Errorf("%q with %+d: %s, want %q", c.text, c.offset, got, c.want)
		}
	}
}

// Breaks begin at 0 or at 1, in any order; the lowest is the first.
func TestTheLowestBreakCounts(t *testing.T) {
	for text, want := range map[string]string{
		`<Address break="2">1.20</Address><Address break="1">1.10</Address>`:                                "1/10 and 1/20",
		`<Address>1.10</Address><Address break="1">0</Address>`:                                             "1/10",
		`<Address break="-1">1.5</Address><Address break="x">1.6</Address><Address break="9">1.7</Address>`: "1/7",
		`<Address break="0">1.5</Address><Address break="0">1.6</Address>`:                                  "1/5",
		`<Network geometry="a" IPv4="10.0.0.9"/><Protocols/><Address break="0">5</Address>`:                 "1/5",
		``: "0/0",
	} {
		x := strings.Replace(mvrtest.Fixture{Name: "a"}.XML(), "<Addresses>", "<Addresses>"+text, 1)
		p, err := read(mvrtest.Pack(mvrtest.Scene("", mvrtest.Layer("l", x))), mvr.Options{})
		if err != nil {
			t.Fatal(err)
		}
		f := p.Fixtures[0]
		got := f.Address.String()
		for _, o := range f.Others {
			got += " and " + o.String()
		}
		if got != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}

// What a plan lacks is said of the type, in words that say what to do.
func TestMissingFilesAndModesAreSaid(t *testing.T) {
	p := plan(t, "missing")
	for i, want := range map[int]string{
		1: `"Umberquill@Nowhere@plan" is not in the plan`, 2: `no mode "Extendet"; perhaps "Extended" is meant`, 3: "names no mode; the GDTF file has Extended, Basic",
		6: "a path, and GDTF files lie in the plan's root", 7: `"broken" can not be read: not a GDTF archive`, 8: "the plan names no GDTF file", 9: "twice.gdtf twice",
	} {
		ty := p.Types[p.Fixtures[i].Type]
		if ty.Draft != nil || !strings.Contains(ty.Problem, want) {
			t.Errorf("lamp %d: %q, want %q", i, ty.Problem, want)
		}
	}
	for i, mode := range map[int]string{0: "Extended", 4: "White", 5: "White", 10: "Basic"} {
		if ty := p.Types[p.Fixtures[i].Type]; ty.Draft == nil || ty.Mode != mode {
			t.Errorf("lamp %d: %+v", i, ty)
		}
	}
	// One file in two spellings is one type.
	if a, b := p.Fixtures[4], p.Fixtures[5]; a.Type != b.Type {
		t.Errorf("types %d and %d of one file and mode", a.Type, b.Type)
	}
	said := strings.Join(p.Types[p.Fixtures[4].Type].Notes, "; ") + strings.Join(p.Fixtures[5].Notes, "; ")
	for _, want := range []string{"the plan names no mode", `the file is called "Umberquill@Vostrel Panel@plan.gdtf"`} {
		if !strings.Contains(said, "GUESS: ") || !strings.Contains(said, want) {
			t.Errorf("%q is not said: %q", want, said)
		}
	}
}

func TestHouseLightsAreKnown(t *testing.T) {
	p := plan(t, "addresses")
	n := 0
	for _, f := range p.Fixtures {
		if f.House {
			n++
		}
	}
	if n != 2 {
		t.Errorf("%d house lights, want 2", n)
	}
}
