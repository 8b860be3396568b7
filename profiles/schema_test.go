package profiles

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

func compiledSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	text, err := json.Marshal(Schema())
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("mem:///profile.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("mem:///profile.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// asJSON reads YAML with the library's own reader, not ours.
func asJSON(t testing.TB, text []byte) any {
	t.Helper()
	j, err := yaml.YAMLToJSON(text)
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(j))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestEveryExampleFitsTheSchema(t *testing.T) {
	s := compiledSchema(t)
	for _, path := range examplePaths(t) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Validate(asJSON(t, text)); err != nil {
			t.Errorf("%s: %v", path, err)
		}
	}
}

func TestTheSchemaRefusesWhatTheReaderRefuses(t *testing.T) {
	s := compiledSchema(t)
	good := "profile: A\nmodes:\n  - mode: m\n    kind: emitters\n    slots: 3\n    curve: linear\n    emitters:\n" +
		"      - {name: red, slots: [1]}\n      - {name: green, slots: [2]}\n      - {name: blue, slots: [3]}\n"
	if err := s.Validate(asJSON(t, []byte(good))); err != nil {
		t.Fatal(err)
	}
	for _, change := range [][2]string{
		{"profile:", "profil:"}, {"slots: 3", "slots: 0"}, {"slots: 3", "slots: 513"}, {"slots: 3", "slots: 2.5"}, {"kind: emitters", "kind: emiters"},
		{"curve: linear", "curve: cubic"}, {"curve: linear", "curve: {gamma: 9}"}, {"slots: [1]", "slots: [1, 2, 3, 4]"}, {"slots: [1]", "slots: []"},
		{"slots: [1]", "slots: one"}, {"mode: m\n", "mode: [m]\n"}, {"name: red", "nam: red"}, {"slots: [1]", "slots: [1], xy: [0.3]"}, {"slots: [1]", "slots: [1], flux: -1"},
	} {
		text := strings.Replace(good, change[0], change[1], 1)
		if s.Validate(asJSON(t, []byte(text))) == nil {
			t.Errorf("schema takes %q", change[1])
		}
		if _, err := Parse("f", []byte(text)); err == nil {
			t.Errorf("reader takes %q", change[1])
		}
	}
}

// keysOf lists all keys that the file format has, as "struct.key".
func keysOf(t reflect.Type, all map[string]bool) {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || t.PkgPath() != reflect.TypeFor[fileProfile]().PkgPath() {
		return
	}
	for i := range t.NumField() {
		f := t.Field(i)
		if key := f.Tag.Get("yaml"); key != "" {
			all[key] = true
		}
		keysOf(f.Type, all)
	}
}

func keysIn(v any, seen map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for k, sub := range v {
			seen[k] = true
			keysIn(sub, seen)
		}
	case []any:
		for _, sub := range v {
			keysIn(sub, seen)
		}
	}
}

func missing(want, have map[string]bool) []string {
	var left []string
	for k := range want {
		if !have[k] {
			left = append(left, k)
		}
	}
	slices.Sort(left)
	return left
}

func TestTheReferenceShowsEveryKeyAndSoDoTheExamples(t *testing.T) {
	want := map[string]bool{}
	keysOf(reflect.TypeFor[fileProfile](), want)
	keysOf(reflect.TypeFor[fileCurve](), want)
	if len(want) < 50 {
		t.Fatalf("only %d keys found: the walk is broken", len(want))
	}
	reference, examples := map[string]bool{}, map[string]bool{}
	kinds := map[string]bool{}
	for _, path := range examplePaths(t) {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		into := examples
		if strings.Contains(path, "reference") {
			into = reference
		}
		keysIn(asJSON(t, text), into)
		p, err := Load(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range p.Modes {
			kinds[m.Kind.String()] = true
			for _, q := range m.Params() {
				if q.Knob != nil {
					kinds["by hand"] = true
				} else {
					kinds[[]string{"", "8", "16", "24"}[len(q.Slots)]+" bit"] = true
				}
				kinds["curve "+q.Curve.Law.String()] = true
			}
		}
	}
	if left := missing(want, reference); len(left) > 0 {
		t.Errorf("the reference does not show %v", left)
	}
	if left := missing(want, examples); len(left) > 0 {
		t.Errorf("no example profile uses %v", left)
	}
	for _, k := range []string{"emitters", "cct", "xy", "hue-saturation", "fixed", "by hand", "8 bit", "16 bit", "24 bit",
		"curve unknown", "curve linear", "curve square", "curve gamma", "curve s", "curve table"} {
		if !kinds[k] {
			t.Errorf("no example has %s", k)
		}
	}
}
