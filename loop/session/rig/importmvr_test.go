package rig

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"trueup/dmx"
	"trueup/profiles"
	"trueup/profiles/mvr"
	"trueup/profiles/mvr/mvrtest"
)

// fromPlan drafts a rig from the entries of a plan and reads it back.
func fromPlan(t testing.TB, entries []mvrtest.Entry) (*Rig, PlanResult, string, error) {
	t.Helper()
	data := mvrtest.Pack(entries...)
	p, err := mvr.Read(bytes.NewReader(data), int64(len(data)), mvr.Options{})
	if err != nil {
		return nil, PlanResult{}, "", err
	}
	stand := make([]PlanProfile, len(p.Types))
	have := map[string]*profiles.Profile{}
	for i, ty := range p.Types {
		stand[i] = PlanProfile{Problem: ty.Problem, Notes: ty.Notes}
		if ty.Draft == nil {
			continue
		}
		file := fmt.Sprintf("type%d.yaml", i)
		if have[file], err = profiles.Parse(file, ty.Draft.YAML); err != nil {
			t.Fatalf("%v\n%s", err, ty.Draft.YAML)
		}
		stand[i].File, stand[i].Mode, stand[i].ModeName = file, &have[file].Modes[0], ty.Draft.Modes[0]
	}
	res := FromPlan("a plan", p, stand)
	res.Draft.Color = "D65"
	res.Draft.End = res.Comments(p.Notes)
	text, err := res.Draft.YAML()
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Draft.Fixtures) == 0 {
		return nil, res, string(text), nil
	}
	r, err := Parse("plan.yaml", text, func(path string) (*profiles.Profile, error) {
		if p := have[path]; p != nil {
			return p, nil
		}
		return nil, errors.New("not there")
	})
	return r, res, string(text), err
}

// Each of our plans becomes a rig without faults, and no fixture of a plan is
// lost without a word: it is in the rig, or in what was left out.
func TestAPlanBecomesARigWithoutFaults(t *testing.T) {
	for name, entries := range mvrtest.Plans() {
		r, res, text, err := fromPlan(t, entries)
		if err != nil {
			t.Errorf("%s: %v\n%s", name, err, text)
			continue
		}
		left := 0
		for _, l := range res.Left {
			left += len(l.Fixtures)
			if !strings.Contains(text, "#   "+l.Reason+"\n") {
				t.Errorf("%s: %q is not in the file", name, l.Reason)
			}
			for _, f := range l.Fixtures {
				if !strings.Contains(text, "#     "+f+"\n") {
					t.Errorf("%s: %q is not in the file", name, f)
				}
			}
		}
		// One fixture of multipatch has the UUID of another, and is a note.
		want := strings.Count(string(entries[0].Data), "<Fixture ")
		if name == "multipatch" {
			want--
		}
		if len(r.Fixtures)+left != want {
			t.Errorf("%s: %d fixtures and %d left out, of %d", name, len(r.Fixtures), left, want)
		}
	}
}

func TestAPlanKeepsItsPatch(t *testing.T) {
	r, _, text, err := fromPlan(t, mvrtest.Plans()["nested"])
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range r.Fixtures {
		got = append(got, fmt.Sprint(f.Name, " ", f.Address, " ", f.DeskChannel, " ", f.Heads, " ", strings.Join(f.Groups, "+")))
	}
	want := []string{
		"Hobbleth LX 1 1 1/37 103 1 LX 1+Stage+Upstage", "Hobbleth LX 2 1 1/25 102 1 LX 2+Left+Stage+Upstage", "Hobbleth LX 2 2 1/13 101 1 LX 2+Left+Stage+Upstage",
		"eye 2/1 201 1 Left+Stage+Upstage", "strip 1 3/1  1 House", "strip 2 3/11  4 House",
	}
	if !slices.Equal(got, want) {
		t.Errorf("the rig has\n%s\nwant\n%s\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"), text)
	}
	if r.Output.Mode != Overlay || !strings.Contains(text, "# strip 1 has heads that this rig does not set") || !strings.Contains(text, "# its 4 heads share tint") {
		t.Errorf("%s", text)
	}
}

// House lights are locked, and so is everything else of the plan that the rig
// does not set: the desk's levels pass through there.
func TestWhatIsNotInTheRigIsLeftToTheDesk(t *testing.T) {
	r, res, text, err := fromPlan(t, mvrtest.Plans()["addresses"])
	if err != nil {
		t.Fatal(err)
	}
	want := []dmx.Span{{Universe: 1, First: 400, Last: 403}, {Universe: 1, First: 410, Last: 410}}
	if res.House != 2 || !slices.Equal(r.Safety.Locked, want) || r.Output.Mode != Overlay {
		t.Errorf("%d house lights, locked %v, mode %s\n%s", res.House, r.Safety.Locked, r.Output.Mode, text)
	}
	if f, _ := r.Fixture("wash 3"); f == nil || !f.ByHand {
		t.Errorf("a lamp without an address is not there, or not by hand:\n%s", text)
	}
	wash := mvrtest.Types()[mvrtest.Wash]
	lamp := func(f mvrtest.Fixture) string { f.Spec, f.Mode = "x", "Basic"; return f.XML() }
	for name, c := range map[string]struct {
		body, wash string
		want       Mode
	}{
		"nothing else":        {lamp(mvrtest.Fixture{Name: "a", Addresses: []string{"1.1"}}), wash, Own},
		"two on equal slots":  {lamp(mvrtest.Fixture{Name: "a", Addresses: []string{"1.1"}}) + lamp(mvrtest.Fixture{Name: "b", Addresses: []string{"1.1"}}), wash, Own},
		"in another universe": {lamp(mvrtest.Fixture{Name: "a", Addresses: []string{"1.1"}}) + mvrtest.Fixture{Name: "b", Addresses: []string{"2.1"}}.XML(), wash, Own},
		"without a type":      {lamp(mvrtest.Fixture{Name: "a", Addresses: []string{"1.1"}}) + mvrtest.Fixture{Name: "b", Addresses: []string{"1.9"}}.XML(), wash, Overlay},
		"half overlapping":    {lamp(mvrtest.Fixture{Name: "a", Addresses: []string{"1.3"}}) + lamp(mvrtest.Fixture{Name: "b", Addresses: []string{"1.1"}}), wash, Overlay},
		"a second break":      {lamp(mvrtest.Fixture{Name: "a", Addresses: []string{"1.1", "1.50"}}), wash, Overlay},
		"a lamp with pan":     {lamp(mvrtest.Fixture{Name: "a", Addresses: []string{"1.1"}}), strings.ReplaceAll(wash, "ColorAdd_W", "Pan"), Overlay},
	} {
		r, _, text, err := fromPlan(t, []mvrtest.Entry{mvrtest.Scene("", mvrtest.Layer("l", c.body)), {Name: "x.gdtf", Data: mvrtest.GDTF(c.wash)}})
		if err != nil {
			t.Errorf("%s: %v\n%s", name, err, text)
		} else if r.Output.Mode != c.want {
			t.Errorf("%s: mode %s, want %s\n%s", name, r.Output.Mode, c.want, text)
		}
	}
}

// Names of a plan are what planners leave in them; a rig's are its own.
func TestEveryFixtureGetsANameOfItsOwn(t *testing.T) {
	long := strings.Repeat("ü", 70)
	in := []mvr.Fixture{
		{Name: "wash", Position: "LX 1", Unit: 2}, {Name: "wash", Position: "LX 1", Unit: 3}, {Name: "wash", ID: "7"}, {Name: "wash"}, {Name: "wash 1"}, {Name: "wash"},
		{Name: "key", ID: "9"}, {Name: ""}, {Name: ""}, {Name: "a..b"}, {Name: "a....b"}, {Name: "tab\tand\x1b[2J"}, {Name: long}, {Name: long}, {Name: long, Position: long, Unit: 4},
		{Name: "x", Position: "p", Unit: 1}, {Name: "x", Position: "p", Unit: 1, ID: "31"}, {Name: "x", Position: "p", Unit: 1, ID: "31"},
	}
	got := planNames(in)
	want := []string{"wash LX 1 2", "wash LX 1 3", "wash 7", "wash 2", "wash 1", "wash 3", "key", "fixture 1", "fixture 2", "a.b 1", "a.b 2", "tab and [2J"}
	if !slices.Equal(got[:len(want)], want) {
		t.Errorf("%q\nwant %q", got[:len(want)], want)
	}
	seen := map[string]bool{}
	for _, n := range got {
		if err := checkName(n); err != nil || strings.Contains(n, "..") || seen[n] {
			t.Errorf("%q: %v, stands twice %v", n, err, seen[n])
		}
		seen[n] = true
	}
}

// Ranges stand for exactly the names that they were made of.
func TestRangesAreTheNamesTheyWereMadeOf(t *testing.T) {
	for want, names := range map[string][]string{
		"a 1..3|b|a 4":     {"a 1", "a 2", "a 3", "b", "a 4"},
		"a 01|a 02":        {"a 01", "a 02"}, // with a nought: left as they are
		"9..11":            {"9", "10", "11"},
		"a|a 2":            {"a", "a 2"},
		"a 2|a 1":          {"a 2", "a 1"},
		"a 0..1|a 99999":   {"a 0", "a 1", "a 99999"},
		"1a|2a|x9|x11..12": {"1a", "2a", "x9", "x11", "x12"},
	} {
		got := ranges(names)
		if strings.Join(got, "|") != want {
			t.Errorf("%q: %q, want %s", names, got, want)
		}
		var back []string
		for _, g := range got {
			s, err := parseSpan(g)
			if err != nil {
				t.Fatal(err)
			}
			for i := range s.count() {
				back = append(back, s.name(i))
			}
		}
		if !slices.Equal(back, names) {
			t.Errorf("%q reads as %q", got, back)
		}
	}
}

// One thing of a plan is made wrong at a time, hundreds of times: each is said
// with the fixture's name and what is wrong, and the rest is a rig all the same.
func TestOneThingWrongInAPlanIsAlwaysSaid(t *testing.T) {
	cases := 0
	for _, name := range slices.Sorted(maps.Keys(mvrtest.Plans())) {
		entries := mvrtest.Plans()[name]
		if name == "large" {
			continue // the other plans have all of its kinds
		}
		whole := string(entries[0].Data)
		for at := strings.Index(whole, "<Fixture "); at >= 0; {
			end := at + strings.Index(whole[at:], "</Addresses>") + len("</Addresses>")
			element := whole[at:end]
			for _, m := range wrongInAPlan {
				wrong := m.change(element)
				if wrong == element || strings.Contains(element, ">1.51<") { // one that is left out already, for its UUID
					continue
				}
				cases++
				changed := slices.Clone(entries)
				changed[0].Data = []byte(whole[:at] + wrong + whole[end:])
				_, _, text, err := fromPlan(t, changed)
				if m.fatal {
					if err == nil || !strings.Contains(err.Error(), m.gist) || !strings.Contains(err.Error(), "line ") {
						t.Errorf("%s, %s: error %v, want %q and the line", name, m.what, err, m.gist)
					}
				} else if err != nil || !strings.Contains(text, m.gist) {
					t.Errorf("%s, %s: %v; %q is not said:\n%s", name, m.what, err, m.gist, text)
				}
			}
			next := strings.Index(whole[end:], "<Fixture ")
			if next < 0 {
				break
			}
			at = end + next
		}
	}
	if cases < 300 {
		t.Errorf("only %d cases", cases)
	}
	t.Logf("%d cases", cases)
}

// inside replaces what stands between two texts.
func inside(from, to, with string) func(string) string {
	return func(s string) string {
		a := strings.Index(s, from)
		if a < 0 {
			return s
		}
		b := strings.Index(s[a+len(from):], to)
		if b < 0 {
			return s
		}
		return s[:a+len(from)] + with + s[a+len(from)+b:]
	}
}

// value sets an element of the fixture, or adds it.
func value(name, text string) func(string) string {
	return func(s string) string {
		if strings.Contains(s, "<"+name+">") {
			return inside("<"+name+">", "<", text)(s)
		}
		return strings.Replace(s, "<Addresses>", "<"+name+">"+text+"</"+name+"><Addresses>", 1)
	}
}

// wrongInAPlan are changes to one Fixture element.
var wrongInAPlan = []struct {
	what, gist string
	fatal      bool
	change     func(string) string
}{
	{what: "a GDTF file that is not there", gist: `the GDTF file "gone" is not in the plan`, change: inside("<GDTFSpec>", "<", "gone")},
	{what: "a path", gist: "GDTF files lie in the plan's root", change: inside("<GDTFSpec>", "<", `..\x`)},
	{what: "no GDTF file", gist: "the plan names no GDTF file", change: inside("<GDTFSpec>", "<", "")},
	{what: "an end that is not one", gist: "element", fatal: true, change: func(s string) string { return strings.Replace(s, "</Matrix>", "</Matrx>", 1) }},
	{what: "an entity", gist: "entity", fatal: true, change: inside("<Matrix>", "<", "&lol9;")},
	{what: "a document type", gist: "document type", fatal: true, change: inside("<Matrix>", "<", `<!DOCTYPE a>`)},
	{what: "an attribute twice", gist: "twice", fatal: true, change: func(s string) string { return strings.Replace(s, " name=", ` name="" name=`, 1) }},
	{what: "a parent that is not there", gist: "multipatch of a fixture that the plan does not have", change: ifKept(inside(`multipatch="`, `"`, "beef-beef"))},
	{what: "a position that is not there", gist: "position that the plan does not have", change: ifKept(value("Position", "beef"))},
	{what: "a unit number that is none", gist: `unit number "-1"`, change: ifKept(value("UnitNumber", "-1"))},
	{what: "a slot past the end", gist: `slot 700 is not in 1..512`, change: ifKept(inside(`<Address break="0">`, "<", "1.700"))},
	{what: "a huge address", gist: "want one number", change: ifKept(inside(`<Address break="0">`, "<", "18446744073709551616"))},
	{what: "a huge universe", gist: "universe 99999 is not", change: ifKept(inside(`<Address break="0">`, "<", "99999.1"))},
	{what: "universe 0", gist: "--universe-offset 1", change: ifKept(inside(`<Address break="0">`, "<", "0.5"))},
	{what: "beyond the end", gist: "a universe ends at 512", change: ifKept(inside(`<Address break="0">`, "<", "9.512"))},
	{what: "no address", gist: "not patched in the plan", change: ifKept(inside(`<Address break="0">`, "<", "0"))},
	{what: "a break that is none", gist: `address of break "x"`, change: ifKept(func(s string) string {
		return strings.Replace(s, "</Addresses>", `<Address break="x">1</Address></Addresses>`, 1)
	})},
}

// ifKept changes fixtures only that a rig can have otherwise.
func ifKept(change func(string) string) func(string) string {
	return func(s string) string {
		for _, spec := range []string{mvrtest.Wash, mvrtest.Panel, mvrtest.Strip} {
			for _, mode := range []string{"Extended", "Basic", "White", "Whites", "Pixels"} {
				if strings.Contains(s, "<GDTFSpec>"+spec+"<") && strings.Contains(s, "<GDTFMode>"+mode+"<") && !strings.Contains(s, "CustomIdType") {
					return kept(s, change)
				}
			}
		}
		return s
	}
}

// kept leaves fixtures alone that are left out for their address already, and
// those whose change would show at another fixture only.
func kept(s string, change func(string) string) string {
	for _, a := range []string{">1.700<", ">one<", ">1.505<", ">1.5<", ">99999999999999999999<", ">0.7<", ">1.395<", `name="side 4"`, `name="side 5"`} {
		if strings.Contains(s, a) {
			return s
		}
	}
	return change(s)
}

// Whatever a plan says: the rig that is drafted from it has no faults.
func FuzzFromPlan(f *testing.F) {
	for name, entries := range mvrtest.Plans() {
		if name != "large" {
			f.Add(string(entries[0].Data))
		}
	}
	f.Add(string(mvrtest.Scene("", mvrtest.Layer("a..b", mvrtest.Fixture{Name: "x 1..9", ID: "1..2", Spec: mvrtest.Wash, Mode: "Basic", Addresses: []string{"1"}}.XML())).Data))
	gdtfs := mvrtest.GDTFs()
	for i := range gdtfs {
		gdtfs[i].Store = true // packing them again and again is not the point
	}
	f.Fuzz(func(t *testing.T, text string) {
		r, res, yaml, err := fromPlan(t, append([]mvrtest.Entry{{Name: "GeneralSceneDescription.xml", Data: []byte(text)}}, gdtfs...))
		if err != nil && yaml != "" {
			t.Errorf("%v\n%s", err, yaml)
		}
		if err == nil && r != nil && len(r.Fixtures) != len(res.Draft.Fixtures) {
			t.Errorf("%d fixtures of %d\n%s", len(r.Fixtures), len(res.Draft.Fixtures), yaml)
		}
	})
}

func BenchmarkAPlanOf400(b *testing.B) {
	entries := mvrtest.Plans()["large"]
	for b.Loop() {
		if _, _, _, err := fromPlan(b, entries); err != nil {
			b.Fatal(err)
		}
	}
}
