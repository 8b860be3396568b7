package instrument

import (
	"encoding/json"
	"strings"

	"trueup/profiles/yamlfile"
)

// Parse reads a description; name is used in messages. The error is
// a yamlfile.Errors with everything that is wrong.
func Parse(name string, data []byte) (*Instrument, error) {
	var in instrumentFile
	doc, err := yamlfile.Decode(name, data, &in)
	if doc == nil {
		return nil, err
	}
	in.fields = in.Fields.read()
	ins := compile(&in, func(path, format string, args ...any) { doc.Errorf(path, format, args...) })
	if err := doc.Err(); err != nil {
		return nil, err
	}
	ins.File = name
	return ins, nil
}

// read takes the short form, where a field is its place alone, and the long.
func (n *fieldsNodes) read() fieldsFile {
	f := func(v yamlfile.Node) *fieldFile {
		switch v.Kind() {
		case yamlfile.Absent:
			return nil
		case yamlfile.Scalar:
			return &fieldFile{From: v.Text()}
		}
		var out fieldFile
		v.Decode(&out)
		return &out
	}
	return fieldsFile{
		X: f(n.X), Y: f(n.Y), UPrime: f(n.UPrime), VPrime: f(n.VPrime), BigX: f(n.BigX), BigY: f(n.BigY), BigZ: f(n.BigZ),
		Level: f(n.Level), CCT: f(n.CCT), Duv: f(n.Duv), Time: f(n.Time), Integration: f(n.Integration), Seq: f(n.Seq),
		Probe: f(n.Probe), Serial: f(n.Serial), Saturated: f(n.Saturated), Underrange: f(n.Underrange),
	}
}

// Schema is the JSON Schema of a description.
func Schema() ([]byte, error) {
	field := map[string]any{"anyOf": []any{map[string]any{"type": []string{"string", "integer"}}, yamlfile.SchemaOf(fieldFile{}, nil)}}
	shapes := map[string]any{}
	for _, k := range strings.Fields("x y u_prime v_prime X Y Z level cct duv time integration seq probe serial saturated underrange") {
		shapes["fields."+k] = field
	}
	return json.MarshalIndent(yamlfile.Schema("", "trueup instrument description", instrumentFile{}, shapes), "", "  ")
}

// controls are the characters that a description may name.
var controls = map[string]string{"CR": "\r", "LF": "\n", "TAB": "\t", "SPACE": " ", "NUL": "\x00", "STX": "\x02", "ETX": "\x03", "EOT": "\x04", "ESC": "\x1b"}

// bytesOf reads a text, or the names of control characters alone: CR LF.
func bytesOf(s string) string {
	var b strings.Builder
	for w := range strings.FieldsSeq(s) {
		c, ok := controls[w]
		if !ok {
			return s
		}
		b.WriteString(c)
	}
	return b.String()
}
