package profiles

import (
	"bytes"
	"errors"
	"os"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"trueup/profiles/yamlfile"
)

// FuzzParse holds that no text makes the reader panic, and that whatever it
// accepts fits the schema and can be driven: every code goes to slots and back.
func FuzzParse(f *testing.F) {
	for _, path := range examplePaths(f) { // every key and mode
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Add([]byte("profile: A\nmodes: [{mode: m, kind: fixed}]\n"))                                                                            // the shortest one
	f.Add([]byte("profile: A\nmodes: [{mode: m, kind: cct, by_hand: true, cct: {knob: {shows: K, from: 1, to: 0, step: 1e-4}}}]\n"))          // a bad knob
	f.Add([]byte("profile: A\nmodes: [{mode: m, kind: xy, slots: 1, x: {slots: [1]}, y: {slots: [1]}, heads: {count: 512, stride: 512}}]\n")) // overlap, heads
	schema := compiledSchema(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Parse("f", data)
		if err != nil {
			var all yamlfile.Errors
			if !errors.As(err, &all) {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		if j, err := yaml.YAMLToJSON(data); err == nil {
			if v, err := jsonschema.UnmarshalJSON(bytes.NewReader(j)); err == nil {
				if err := schema.Validate(v); err != nil {
					t.Fatalf("accepted, but not by the schema: %v", err)
				}
			}
		}
		for i := range p.Modes {
			m := &p.Modes[i]
			m.Describe()
			slots := make([]byte, m.Footprint)
			if err := m.Rest(slots); err != nil {
				t.Fatal(err)
			}
			for head := range m.Heads.Count {
				var codes []uint32
				for _, q := range m.Params() {
					codes = append(codes, q.Hi)
				}
				if m.Footprint == 0 {
					continue
				}
				if err := m.Encode(head, codes, slots); err != nil {
					t.Fatal(err)
				}
				back, err := m.Decode(head, slots)
				if err != nil {
					t.Fatal(err)
				}
				for k := range codes {
					if back[k] != codes[k] {
						t.Fatalf("%d went out, %d came back", codes[k], back[k])
					}
				}
			}
		}
	})
}
