package yamlfile

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
)

// rules are what the tags of a field ask of its value.
type rules struct {
	one                []string
	min, max           float64
	hasMin, hasMax     bool
	minItems, maxItems int
	hasItems           bool
}

// of gives the rules for the items of a list or map.
func (r rules) of() rules { r.hasItems = false; return r }

type field struct {
	rules
	index []int // as reflect's FieldByIndex takes it
	key   string
	need  bool
	help  string
}

// fieldsOf reads the tags of a struct, and those of a struct embedded in it. A tag that can not be read counts as
// none: the tests of every format read all of its tags back as a schema.
func fieldsOf(t reflect.Type) []field {
	var all []field
	for i := range t.NumField() {
		sf := t.Field(i)
		if sf.Anonymous && sf.Type.Kind() == reflect.Struct {
			for _, f := range fieldsOf(sf.Type) {
				f.index = append([]int{i}, f.index...)
				all = append(all, f)
			}
			continue
		}
		key, _, _ := strings.Cut(sf.Tag.Get("yaml"), ",")
		if key == "" || key == "-" || !sf.IsExported() {
			continue
		}
		f := field{index: []int{i}, key: key, need: sf.Tag.Get("need") == "yes", help: sf.Tag.Get("help")}
		if one := sf.Tag.Get("one"); one != "" {
			f.one = strings.Fields(one)
			for i, w := range f.one {
				f.one[i] = strings.ReplaceAll(w, "~", " ")
			}
		}
		var err error
		if s := sf.Tag.Get("min"); s != "" {
			f.min, err = strconv.ParseFloat(s, 64)
			f.hasMin = err == nil
		}
		if s := sf.Tag.Get("max"); s != "" {
			f.max, err = strconv.ParseFloat(s, 64)
			f.hasMax = err == nil
		}
		if s := strings.Fields(sf.Tag.Get("items")); len(s) == 2 {
			lo, err1 := strconv.Atoi(s[0])
			hi, err2 := strconv.Atoi(s[1])
			f.minItems, f.maxItems, f.hasItems = lo, hi, err1 == nil && err2 == nil
		}
		all = append(all, f)
	}
	return all
}

func (r rules) itemsText() string {
	if r.minItems == r.maxItems {
		return fmt.Sprintf("exactly %d", r.minItems)
	}
	return fmt.Sprintf("%d to %d", r.minItems, r.maxItems)
}

func (r rules) rangeText() string {
	num := func(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }
	switch {
	case r.hasMin && r.hasMax:
		return " from " + num(r.min) + " to " + num(r.max)
	case r.hasMin:
		return " from " + num(r.min) + " up"
	case r.hasMax:
		return " up to " + num(r.max)
	}
	return ""
}

func oneOf(words []string) string {
	switch len(words) {
	case 1:
		return words[0]
	case 0:
		return "nothing"
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// want says what a value must be.
func want(t reflect.Type, r rules) string {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == nodeType {
		return "a value"
	}
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		if r.one != nil {
			return oneOf(r.one)
		}
		return "a text"
	case reflect.Struct:
		if reflect.PointerTo(t).Implements(textType) {
			return "a text"
		}
		return "a group of keys"
	case reflect.Map:
		return "a group of keys"
	case reflect.Slice:
		items := ""
		if r.hasItems {
			items = " of " + r.itemsText()
		}
		return "a list" + items + ", each " + want(t.Elem(), r.of())
	case reflect.Float32, reflect.Float64:
		return "a number" + r.rangeText()
	}
	return "a whole number" + r.rangeText()
}
