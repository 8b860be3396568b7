package yamlfile

import (
	"reflect"
)

// Schema describes a struct type as JSON Schema (draft 2020-12), made from the
// same tags that Decode checks; json.Marshal of the result is the schema. v is
// a value of the struct or a pointer to one. A Node field takes whatever the
// shapes say that are given for its key's path ("emitters.colour") or, failing
// that, its key; a Node with none given takes anything.
func Schema(id, title string, v any, shapes map[string]any) map[string]any {
	s := schemaOf(reflect.TypeOf(v), rules{}, shapes, "")
	s["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	if id != "" {
		s["$id"] = id
	}
	s["title"] = title
	return s
}

// SchemaOf describes one value of a type, for use among the shapes of Schema.
func SchemaOf(v any, shapes map[string]any) map[string]any {
	return schemaOf(reflect.TypeOf(v), rules{}, shapes, "")
}

func schemaOf(t reflect.Type, r rules, shapes map[string]any, path string) map[string]any {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	s := map[string]any{}
	switch {
	case t == nodeType:
		return s
	case reflect.PointerTo(t).Implements(textType):
		s["type"] = anyText
		return s
	}
	switch t.Kind() {
	case reflect.Struct:
		s["type"] = "object"
		s["additionalProperties"] = false
		props := map[string]any{}
		var need []string
		for _, f := range fieldsOf(t) {
			sub := path + f.key
			p := schemaOf(t.FieldByIndex(f.index).Type, f.rules, shapes, sub+".")
			shape, ok := shapes[sub]
			if !ok {
				shape, ok = shapes[f.key]
			}
			if m, isMap := shape.(map[string]any); ok && isMap && isNode(t.FieldByIndex(f.index).Type) {
				p = copyOf(m)
			}
			if f.help != "" {
				p["description"] = f.help
			}
			props[f.key] = p
			if f.need {
				need = append(need, f.key)
			}
		}
		s["properties"] = props
		if need != nil {
			s["required"] = need
		}
	case reflect.Slice:
		s["type"] = "array"
		s["items"] = schemaOf(t.Elem(), r.of(), shapes, path)
		if r.hasItems {
			s["minItems"], s["maxItems"] = r.minItems, r.maxItems
		}
	case reflect.Map:
		s["type"] = "object"
		s["additionalProperties"] = schemaOf(t.Elem(), r.of(), shapes, path)
		if r.hasItems {
			s["minProperties"], s["maxProperties"] = r.minItems, r.maxItems
		}
	case reflect.String:
		if r.one != nil {
			s["enum"] = r.one
			return s
		}
		s["type"] = anyText
	case reflect.Bool:
		s["type"] = "boolean"
	case reflect.Float32, reflect.Float64:
		s["type"] = "number"
		r.bounds(s)
	default:
		s["type"] = "integer"
		r.bounds(s)
	}
	return s
}

// anyText: a text may look like a number or like true, and is read as written.
var anyText = []string{"string", "number", "boolean"}

func isNode(t reflect.Type) bool { return t == nodeType || t == reflect.PointerTo(nodeType) }

func copyOf(m map[string]any) map[string]any {
	c := make(map[string]any, len(m))
	for k, v := range m {
		c[k] = v
	}
	return c
}

func (r rules) bounds(s map[string]any) {
	if r.hasMin {
		s["minimum"] = r.min
	}
	if r.hasMax {
		s["maximum"] = r.max
	}
}
