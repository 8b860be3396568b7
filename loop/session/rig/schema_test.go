package rig

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// compileSchema hands our schema to a public validator, as an editor would.
func compileSchema(t testing.TB) *jsonschema.Schema {
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
	if err := c.AddResource("rig.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("rig.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// validate checks YAML text against a schema, by way of JSON.
func validate(t testing.TB, s *jsonschema.Schema, text string) error {
	t.Helper()
	j, err := yaml.YAMLToJSON([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(j))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(v)
}

// The schema takes what the reading takes, and refuses what it refuses as far
// as one value by itself can show it.
func TestSchemaAgreesWithTheReading(t *testing.T) {
	s := compileSchema(t)
	if err := validate(t, s, goodRig); err != nil {
		t.Errorf("a good rig is refused: %v", err)
	}
	for _, c := range [][2]string{
		{"rise: 30 %/s", "rise: 30"}, {"rise: 30 %/s", "rise: 30 %"}, {"level_cap: 80 %", "level_cap: 80"}, {"back row: 50 %", "back row: 50"},
		{"mode: overlay", "mode: overly"}, {"1/401..412", "1/401-412"}, {"address: 2/101", "address: 101"}, {"address: 2/101", "address: 0/101"},
		{"heads: 2", "heads: two"}, {"heads: 2", "heads: 0"}, {"latency: 200 ms", "latency: 200"}, {"tolerance: 0.0015", "tolerance: 1 step"},
		{"rig: studio 2\n", ""}, {"profile: knob.yaml, ", ""}, {"fixed: true", "fixed: maybe"}, {"grid: {col: 2", "grid: {column: 2"},
		{"rise:", "risse:"}, {"multicast: true", "multicast: 1"}, {"priority", "priority"},
	} {
		text := strings.Replace(goodRig, c[0], c[1], 1)
		if text == goodRig {
			continue
		}
		_, read := parseText(text)
		if err := validate(t, s, text); err == nil || read == nil {
			t.Errorf("%q: the schema says %v, the reading says %v; want two errors", c[1], err, read)
		}
	}
}

// Every key tells an editor what it is for.
func TestEveryKeyHasHelp(t *testing.T) {
	n := 0
	var walk func(path string, s map[string]any)
	walk = func(path string, s map[string]any) {
		props, _ := s["properties"].(map[string]any)
		for key, p := range props {
			m := p.(map[string]any)
			n++
			if d, _ := m["description"].(string); len(d) < 10 {
				t.Errorf("%s.%s has no help", path, key)
			}
			walk(path+"."+key, m)
			if items, ok := m["items"].(map[string]any); ok {
				walk(path+"."+key, items)
			}
		}
	}
	walk("", Schema())
	if n < 40 {
		t.Errorf("only %d keys were seen", n)
	}
}
