package oserror

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"
)

// unknownKey is how encoding/json begins what it says of a key that it was told to refuse; it has no type for it.
const unknownKey = "json: unknown field "

// ofJSON has the words for what encoding/json says of a text; "" for the rest.
func ofJSON(err error) string {
	switch e := err.(type) {
	case *json.SyntaxError:
		if strings.HasPrefix(e.Error(), "unexpected end") {
			return "it breaks off"
		}
		return "it is no JSON"
	case *json.UnmarshalTypeError:
		what, _, _ := strings.Cut(e.Value, " ") // of a number it has the figures too
		text := fmt.Sprintf("there is %s where %s belongs", valueWords[what], kindWords(e.Type))
		if e.Field != "" {
			text += fmt.Sprintf(" (%q)", e.Field)
		}
		return text
	}
	if key, ok := strings.CutPrefix(err.Error(), unknownKey); ok {
		return "the key " + key + " is not known here"
	}
	return ""
}

// JSONColumn is the column of a line of JSON at which it can be read no further; 1 where that is not known.
func JSONColumn(err error) int {
	var e *json.SyntaxError
	if errors.As(err, &e) {
		return max(1, int(e.Offset))
	}
	return 1
}

var valueWords = map[string]string{"string": "a text", "number": "a number", "bool": "true or false", "array": "a list", "object": "a group of keys"}

// kindWords is what a value of a type is written as.
func kindWords(t reflect.Type) string {
	switch t.Kind() {
	case reflect.String:
		return valueWords["string"]
	case reflect.Bool:
		return valueWords["bool"]
	case reflect.Slice, reflect.Array:
		return valueWords["array"]
	case reflect.Struct, reflect.Map:
		return valueWords["object"]
	case reflect.Pointer:
		return kindWords(t.Elem())
	}
	if t.Kind() == reflect.Float64 || t.Kind() == reflect.Float32 {
		return valueWords["number"]
	}
	return "a whole number"
}
