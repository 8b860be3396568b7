package mvr

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"trueup/profiles/xmltree"
)

// scene gathers a plan from the tree of GeneralSceneDescription.xml.
type scene struct {
	options   Options
	plan      Plan
	positions map[string]string // names of hanging positions by folded UUID
	order     map[string]int    // names of positions, as the plan lists them
	types     map[[2]string]int // GDTF file and mode -> index into plan.Types
}

// place is where the walk stands.
type place struct {
	layer  string
	groups []string
}

// containers are the elements that may stand in a ChildList.
var containers = []string{"SceneObject", "GroupObject", "FocusPoint", "Fixture", "Support", "Truss", "VideoScreen", "Projector"}

func (s *scene) note(format string, args ...any) {
	if len(s.plan.Notes) < maxNotes {
		s.plan.Notes = append(s.plan.Notes, fmt.Sprintf(format, args...))
	}
}

func (s *scene) read(root *xmltree.Node) error {
	if root.Name != "GeneralSceneDescription" {
		return fmt.Errorf("the root element is %s, not GeneralSceneDescription", xmltree.Clip(root.Name))
	}
	s.plan.Version = xmltree.Clip(root.Or("verMajor", "?") + "." + root.Or("verMinor", "?"))
	if root.Get("verMajor") != "1" {
		s.note("version %s is not one this program knows (1.4 to 1.6)", s.plan.Version)
	}
	n := root.Child("Scene")
	if n == nil {
		return errors.New("there is no Scene in it")
	}
	s.positions, s.order = map[string]string{}, map[string]int{}
	for _, p := range n.Child("AUXData").All("Position") {
		id := fold(p.Get("uuid"))
		if was, twice := s.positions[id]; twice {
			s.note("line %d: the position %q has the UUID of %q; the first one counts", p.Line, xmltree.Clip(p.Get("name")), was)
			continue
		}
		name := clean(p.Get("name"))
		s.positions[id] = name
		if _, seen := s.order[name]; !seen {
			s.order[name] = len(s.order)
		}
	}
	for _, l := range n.Child("Layers").All("Layer") {
		if err := s.list(l.Child("ChildList"), place{layer: clean(l.Get("name"))}); err != nil {
			return err
		}
	}
	if len(s.plan.Fixtures) == 0 {
		return errors.New("there is no Fixture in it")
	}
	s.identities()
	slices.SortStableFunc(s.plan.Fixtures, func(a, b Fixture) int {
		return cmp.Or(cmp.Compare(s.rank(a), s.rank(b)), cmp.Compare(unitRank(a), unitRank(b)))
	})
	return nil
}

// rank puts fixtures on a position in order of the positions, and the others
// behind them.
func (s *scene) rank(f Fixture) int {
	if f.Position == "" {
		return len(s.order)
	}
	return s.order[f.Position]
}

func unitRank(f Fixture) int {
	if f.Position == "" || f.Unit < 1 {
		return maxUnit + 1
	}
	return f.Unit
}

// list walks a ChildList and all below it. Anything in it may hold a list of
// its own: a fixture on a truss, a lamp on a fixture.
func (s *scene) list(n *xmltree.Node, at place) error {
	for _, k := range n.Kids() {
		if !slices.Contains(containers, k.Name) {
			s.note("line %d: the element %s is not known", k.Line, xmltree.Clip(k.Name))
		}
		in := at
		switch k.Name {
		case "Fixture":
			if len(s.plan.Fixtures) == maxFixtures {
				return fmt.Errorf("line %d: more than %d fixtures", k.Line, maxFixtures)
			}
			s.plan.Fixtures = append(s.plan.Fixtures, s.fixture(k, at))
		case "GroupObject":
			if name := clean(k.Get("name")); name != "" {
				in.groups = append(slices.Clip(at.groups), name)
			}
		}
		if err := s.list(k.Child("ChildList"), in); err != nil {
			return err
		}
	}
	return nil
}

// maxUnit bounds unit numbers; what is beyond counts as none.
const maxUnit = 1_000_000

// houseLight is the CustomIdType of house lights.
const houseLight = "4"

func (s *scene) fixture(n *xmltree.Node, at place) Fixture {
	f := Fixture{
		Name: clean(n.Get("name")), Layer: at.layer, Groups: at.groups, Line: n.Line,
		ID: clean(n.Value("FixtureID")), House: n.Value("CustomIdType") == houseLight,
		uuid: fold(n.Get("uuid")), parent: fold(n.Get("multipatch")),
	}
	if v := n.Value("FixtureIDNumeric"); f.ID == "" && v != "0" {
		f.ID = clean(v)
	}
	if v := n.Value("UnitNumber"); v != "" {
		if u, err := strconv.Atoi(v); err == nil && u >= 0 && u <= maxUnit {
			f.Unit = u
		} else {
			f.note("its unit number %q can not be used", xmltree.Clip(v))
		}
	}
	if id := fold(n.Value("Position")); id != "" {
		name, ok := s.positions[id]
		if !ok {
			f.note("it hangs on a position that the plan does not have")
		}
		f.Position = name
	}
	f.Type = s.typeOf(n.Value("GDTFSpec"), n.Value("GDTFMode"))
	s.addresses(n.Child("Addresses").All("Address"), &f)
	return f
}

func (f *Fixture) note(format string, args ...any) {
	if len(f.Notes) < 8 {
		f.Notes = append(f.Notes, fmt.Sprintf(format, args...))
	}
}

const extension = ".gdtf"

// typeOf finds or adds the type of a GDTF file and mode.
func (s *scene) typeOf(spec, mode string) int {
	spec = strings.TrimSuffix(spec, extension) // a plan may write it, or not
	i, ok := s.types[[2]string{spec, mode}]
	if !ok {
		i = len(s.plan.Types)
		s.types[[2]string{spec, mode}] = i
		s.plan.Types = append(s.plan.Types, Type{Spec: spec, Mode: mode})
	}
	return i
}

// identities drops fixtures whose UUID stands already, and says of which lamp
// a multipatch is one more.
func (s *scene) identities() {
	first := map[string]int{}
	kept := s.plan.Fixtures[:0]
	for _, f := range s.plan.Fixtures {
		if i, twice := first[f.uuid]; twice && f.uuid != "" {
			s.note("line %d: %q has the UUID of %q in line %d and is left out", f.Line, f.Name, kept[i].Name, kept[i].Line)
			continue
		}
		first[f.uuid] = len(kept)
		kept = append(kept, f)
	}
	s.plan.Fixtures = kept
	for i := range kept {
		f := &kept[i]
		if f.parent == "" || f.parent == f.uuid {
			continue
		}
		p, ok := first[f.parent]
		if !ok {
			f.note("it is a multipatch of a fixture that the plan does not have")
			continue
		}
		if f.ID == "" {
			f.ID = kept[p].ID
		}
		f.note("multipatch: the desk channel of %q drives it too", kept[p].Name)
	}
}

// fold makes UUIDs comparable: old writers put spaces in them, drop dashes, or
// leave them empty. One of zeros alone is none.
func fold(uuid string) string {
	id := strings.Map(func(r rune) rune {
		switch {
		case r >= '0' && r <= '9' || r >= 'a' && r <= 'z':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return -1
	}, uuid)
	if strings.Trim(id, "0") == "" {
		return ""
	}
	return id
}

// clean makes a name of a text: one line, no space around it or twice in it.
func clean(text string) string { return strings.Join(strings.Fields(xmltree.Clip(text)), " ") }
