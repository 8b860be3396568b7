package profiles

import (
	"trueup/profiles/law"
	"trueup/profiles/yamlfile"
)

// Schema describes the profile file as JSON Schema (draft 2020-12), made from
// the very tags that Parse checks; json.Marshal of it is the schema. What only
// shows between several keys (overlaps, order, what a kind of mode needs) is
// not in it: Parse finds that.
func Schema() map[string]any {
	curve := map[string]any{
		"anyOf": []any{
			map[string]any{"enum": curveNames()},
			yamlfile.SchemaOf(fileCurve{}, nil),
		},
	}
	return yamlfile.Schema("", "trueup fixture profile", fileProfile{}, map[string]any{"curve": curve})
}

func curveNames() []string {
	var names []string
	for _, l := range law.Laws {
		names = append(names, l.String())
	}
	return names
}
