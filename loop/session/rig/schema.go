package rig

import (
	"reflect"
	"strings"

	"trueup/profiles/yamlfile"
)

// forms are the patterns of texts that are quantities, by the form tag of
// file.go; each is what the reading function takes, less its range.
var forms = map[string]string{
	"common level": `^(equal|brightest|[0-9]+(\.[0-9]+)? ?lx)$`,
	"fraction":     `^[0-9]+(\.[0-9]+)? ?%$`,
	"rate":         `^[0-9]+(\.[0-9]+)? ?% ?/ ?s$`,
	"time":         `^[0-9]+(\.[0-9]+)? ?(ms|s|min|h)$`,
	"tolerance":    `^0\.[0-9]+$`,
	"address":      `^[1-9][0-9]{0,4}/[1-9][0-9]{0,2}$`,
	"slots":        `^[1-9][0-9]{0,4}/[1-9][0-9]{0,2}(\.\.[1-9][0-9]{0,2})?$`,
}

// Schema describes the rig file as JSON Schema (draft 2020-12), from the same
// tags that the reading obeys. json.Marshal of it is the schema.
func Schema() map[string]any {
	s := yamlfile.Schema("", "trueup rig file", fileRig{}, nil)
	addForms(s, reflect.TypeFor[fileRig]())
	return s
}

// addForms puts patterns where a field has a form.
func addForms(s map[string]any, t reflect.Type) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	props, ok := s["properties"].(map[string]any)
	if !ok {
		return
	}
	for i := range t.NumField() {
		f := t.Field(i)
		key, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
		p, ok := props[key].(map[string]any)
		if !ok {
			continue
		}
		at, ft := p, f.Type
		switch {
		case ft.Kind() == reflect.Slice:
			at, ft = p["items"].(map[string]any), ft.Elem()
		case ft.Kind() == reflect.Map:
			at, ft = p["additionalProperties"].(map[string]any), ft.Elem()
		}
		if pattern := forms[f.Tag.Get("form")]; pattern != "" {
			at["pattern"] = pattern
			if f.Tag.Get("form") != "tolerance" {
				at["type"] = "string" // a bare number has no unit
			}
			continue
		}
		if ft.Kind() == reflect.Struct || ft.Kind() == reflect.Pointer {
			addForms(at, ft)
		}
	}
}
