package profiles

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"reflect"
	"strconv"
)

// Identity names a type of lamp: the digest of maker, profile and all that the
// profile says of the mode, as it was resolved (colour words
// as the chromaticities they gave). Lamps of one identity behave alike as far
// as anybody knows. Not part of it is what says nothing of the lamp: the file's
// path and places in it, and remarks (remarks lists them).
func (p *Profile) Identity(m *Mode) string {
	h := sha256.New()
	for _, v := range []any{"trueup mode 1", p.Maker, p.Name, *m} {
		encode(h, reflect.ValueOf(v))
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// remarks are the fields that are for readers only.
var remarks = map[string]bool{"Path": true, "Note": true, "Why": true, "CapWhy": true}

// later are fields that came after identities had been kept by earlier versions: where they say nothing they take no part.
var later = map[string]bool{"Spectrum": true}

// encode writes a value so that different values have different texts: fields
// by name, texts quoted, lists with their length. Every field of a mode takes
// part unless it is one of the remarks, whatever tags it has.
func encode(h hash.Hash, v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		fmt.Fprintf(h, "%s{", v.Type().Name())
		for i := range v.NumField() {
			if name := v.Type().Field(i).Name; !remarks[name] && !(later[name] && v.Field(i).IsNil()) {
				fmt.Fprintf(h, "%s:", name)
				encode(h, v.Field(i))
			}
		}
		fmt.Fprint(h, "}")
	case reflect.Pointer:
		if v.IsNil() {
			fmt.Fprint(h, "none;")
			return
		}
		encode(h, v.Elem())
	case reflect.Slice:
		fmt.Fprintf(h, "%d[", v.Len())
		for i := range v.Len() {
			encode(h, v.Index(i))
		}
		fmt.Fprint(h, "]")
	case reflect.Float64:
		fmt.Fprintf(h, "%s;", strconv.FormatFloat(v.Float(), 'g', -1, 64))
	default: // whole numbers, booleans, texts
		fmt.Fprintf(h, "%q;", fmt.Sprint(v.Interface()))
	}
}
