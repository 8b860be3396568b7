package profiles

import (
	"reflect"
	"strings"
	"testing"
)

func identityOf(t *testing.T, text string) string {
	t.Helper()
	p, err := Parse("a.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p.Identity(&p.Modes[0])
}

// Two panels with equal scales are different types when anything else that the
// profile says of them differs: maker, name, mode, response time, RGB space,
// a pinned slot. What is for readers only makes no difference.
func TestATypeIsAllThatTheProfileSays(t *testing.T) {
	const panel = "profile: Panel\nmaker: Elmhallow\nmodes:\n  - {mode: a, kind: cct, slots: 3, settle_ms: 20, cct: {slots: [1, 2], kelvin: [2700, 6500]}, set: [{name: x, slots: [3], to: 7, why: so}]}\n"
	const wash = "profile: Wash\nmodes:\n  - {mode: a, kind: hue-saturation, slots: 2, space: bt709, hue: {slots: [1]}, saturation: {slots: [2]}}\n"
	for _, c := range []struct {
		text, old, new string
		same           bool
	}{
		{panel, "settle_ms: 20", "settle_ms: 1500", false},
		{panel, "maker: Elmhallow", "maker: Fernwick", false},
		{panel, "Panel", "Panel 2", false},
		{panel, "mode: a", "mode: b", false},
		{panel, "to: 7", "to: 8", false},
		{panel, "6500", "6501", false},
		{wash, "bt709", "e1.54", false},
		{wash, "hue: {slots: [1]}", "hue: {slots: [1], degrees: [360, 0]}", false},
		{wash, "saturation: {slots: [2]}", "saturation: {slots: [2], percent: [100, 0]}", false},
		{panel, "why: so", "why: because", true},
		{panel, "maker:", "note: an old one\nmaker:", true},
		{panel, "maker:", "# a remark\nmaker:", true},
	} {
		if !strings.Contains(c.text, c.old) {
			t.Fatal(c.old)
		}
		a, b := identityOf(t, c.text), identityOf(t, strings.Replace(c.text, c.old, c.new, 1))
		if (a == b) != c.same {
			t.Errorf("%q for %q: types are equal: %v, want %v", c.new, c.old, a == b, c.same)
		}
	}
}

// Every field that a mode has takes part in its identity, but for the remarks:
// a field added later can not be forgotten.
func TestEveryFieldOfAModeTakesPartInItsIdentity(t *testing.T) {
	changed := 0
	for _, m := range allModes(t) {
		p := &Profile{Name: "n"}
		was := p.Identity(m)
		var walk func(path string, v reflect.Value)
		walk = func(path string, v reflect.Value) {
			switch v.Kind() {
			case reflect.Struct:
				for i := range v.NumField() {
					walk(path+"."+v.Type().Field(i).Name, v.Field(i))
				}
				return
			case reflect.Pointer:
				if !v.IsNil() {
					walk(path, v.Elem())
				}
				return
			case reflect.Slice:
				for i := range v.Len() {
					walk(path, v.Index(i))
				}
				return
			}
			old := reflect.New(v.Type()).Elem()
			old.Set(v)
			switch v.Kind() {
			case reflect.Bool:
				v.SetBool(!v.Bool())
			case reflect.String:
				v.SetString(v.String() + "+")
			case reflect.Float64:
				v.SetFloat(v.Float() + 1e-9)
			case reflect.Uint8, reflect.Uint32:
				v.SetUint((v.Uint() + 1) % 256)
			case reflect.Int, reflect.Int64:
				v.SetInt(v.Int() + 1)
			default:
				t.Fatalf("%s is of a kind this test does not know: %v", path, v.Kind())
			}
			name := path[strings.LastIndex(path, ".")+1:]
			remark := name == "Path" || name == "Note" || name == "Why" || name == "CapWhy"
			if (p.Identity(m) == was) != remark {
				t.Errorf("%s%s: changed, and the identity is the same: %v", m.Name, path, !remark)
			}
			v.Set(old)
			changed++
		}
		walk("", reflect.ValueOf(m).Elem())
	}
	if changed < 500 {
		t.Errorf("only %d fields were changed", changed)
	}
}
