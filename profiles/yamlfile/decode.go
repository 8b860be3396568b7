package yamlfile

import (
	"encoding"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
)

var (
	nodeType = reflect.TypeFor[Node]()
	textType = reflect.TypeFor[encoding.TextUnmarshaler]()
)

func (d *Doc) decodeInto(n *node, out any) {
	v := reflect.ValueOf(out)
	if v.Kind() != reflect.Pointer || v.IsNil() {
		d.fault(n, "the program has no place for this value (%T)", out)
		return
	}
	d.decode(n, v.Elem(), rules{})
}

// decode reads n into v by v's type and checks the rules on the way.
func (d *Doc) decode(n *node, v reflect.Value, r rules) {
	t := v.Type()
	if t == nodeType {
		v.Set(reflect.ValueOf(Node{n}))
		return
	}
	if t.Kind() == reflect.Pointer {
		fresh := reflect.New(t.Elem())
		before := d.count
		d.decode(n, fresh.Elem(), r)
		if d.count == before || t.Elem().Kind() == reflect.Struct {
			v.Set(fresh)
		}
		return
	}
	if n.kind == Null {
		d.fault(n, "%s has no value: want %s", lastStep(n.path), want(t, r)).Advise("give the value, or take the key out")
		return
	}
	if v.CanAddr() && v.Addr().Type().Implements(textType) {
		if d.wrongKind(n, Scalar, t, r) {
			return
		}
		if err := v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(n.text)); err != nil {
			d.fault(n, "%v", err)
		}
		return
	}
	switch t.Kind() {
	case reflect.Struct:
		if !d.wrongKind(n, Map, t, r) {
			d.decodeStruct(n, v)
		}
	case reflect.Slice:
		if d.wrongKind(n, List, t, r) {
			return
		}
		d.checkItems(n, len(n.items), r)
		list := reflect.MakeSlice(t, len(n.items), len(n.items))
		for i, item := range n.items {
			d.decode(item, list.Index(i), r.of())
		}
		v.Set(list)
	case reflect.Map:
		if d.wrongKind(n, Map, t, r) {
			return
		}
		d.checkItems(n, len(n.entries), r)
		m := reflect.MakeMapWithSize(t, len(n.entries))
		for _, e := range n.entries {
			value := reflect.New(t.Elem()).Elem()
			d.decode(e.value, value, r.of())
			m.SetMapIndex(reflect.ValueOf(e.key).Convert(t.Key()), value)
		}
		v.Set(m)
	default:
		if !d.wrongKind(n, Scalar, t, r) {
			d.decodeScalar(n, v, r)
		}
	}
}

func (d *Doc) wrongKind(n *node, k Kind, t reflect.Type, r rules) bool {
	if n.kind == k {
		return false
	}
	d.fault(n, "%s must be %s, not %s", lastStep(n.path), want(t, r), n.kind)
	return true
}

func (d *Doc) decodeStruct(n *node, v reflect.Value) {
	fields := fieldsOf(v.Type())
	known := make([]string, 0, len(fields))
	for _, f := range fields {
		known = append(known, f.key)
		n.respell(f.key)
		e, ok := n.find(f.key)
		if !ok {
			if f.need {
				d.at(n.line, n.col, "the key %q is missing: want %s", f.key, want(v.Type().FieldByIndex(f.index).Type, f.rules)).
					Advise("add %q to %s", f.key+":", lastStep(n.path)).Missing = n.path + "." + f.key
			}
			continue
		}
		d.decode(e.value, v.FieldByIndex(f.index), f.rules)
	}
	for _, e := range n.entries {
		if !contains(known, e.key) {
			d.unknown(e, known)
		}
	}
}

// respell gives a key of the other English spelling, colour or color, the one
// that the format has, unless both stand there.
func (n *node) respell(key string) {
	other := strings.Replace(key, "color", "colour", 1)
	if strings.Contains(key, "colour") {
		other = strings.Replace(key, "colour", "color", 1)
	}
	if other == key {
		return
	}
	if _, both := n.find(key); both {
		return
	}
	for i := range n.entries {
		if e := &n.entries[i]; e.key == other {
			e.key = key
			e.value.path = strings.TrimSuffix(e.value.path, other) + key
		}
	}
}

func (d *Doc) unknown(e entry, known []string) {
	bad := d.at(e.line, e.col, "the key %q is not known here", e.key)
	if near := Nearest(e.key, known); near != "" {
		bad.Advise("did you mean %q?", near)
		return
	}
	bad.Advise("known here: %s", strings.Join(known, ", "))
}

func (d *Doc) decodeScalar(n *node, v reflect.Value, r rules) {
	switch v.Kind() {
	case reflect.String:
		if r.one != nil && !contains(r.one, n.text) {
			bad := d.fault(n, "%s is %q: want %s", lastStep(n.path), n.text, oneOf(r.one))
			if near := Nearest(n.text, r.one); near != "" {
				bad.Advise("did you mean %q?", near)
			}
			return
		}
		if strings.TrimSpace(n.text) == "" {
			d.fault(n, "%s is empty", lastStep(n.path)).Advise("give the value, or take the key out")
			return
		}
		v.SetString(n.text)
	case reflect.Bool:
		switch {
		case n.text == "true" && !n.quoted:
			v.SetBool(true)
		case n.text == "false" && !n.quoted:
			v.SetBool(false)
		default:
			d.fault(n, "%s is %q: want true or false", lastStep(n.path), n.text)
		}
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		f, ok := d.number(n, v.Type(), r)
		if !ok {
			return
		}
		if f != math.Trunc(f) || math.Abs(f) > 1<<53 || v.OverflowInt(int64(f)) {
			d.fault(n, "%s is %s: want %s", lastStep(n.path), n.text, want(v.Type(), r))
			return
		}
		v.SetInt(int64(f))
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		f, ok := d.number(n, v.Type(), r)
		if !ok {
			return
		}
		if f != math.Trunc(f) || f < 0 || f > 1<<53 || v.OverflowUint(uint64(f)) {
			d.fault(n, "%s is %s: want %s", lastStep(n.path), n.text, want(v.Type(), r))
			return
		}
		v.SetUint(uint64(f))
	case reflect.Float32, reflect.Float64:
		if f, ok := d.number(n, v.Type(), r); ok {
			v.SetFloat(f)
		}
	default:
		d.fault(n, "the program has no place for this value (%s)", v.Type())
	}
}

// number reads a decimal number and checks its range.
func (d *Doc) number(n *node, t reflect.Type, r rules) (float64, bool) {
	what := lastStep(n.path)
	if n.quoted {
		if _, err := parseNumber(n.text); err == nil {
			d.fault(n, "%s is text in quotes: want %s", what, want(t, r)).Advise("write %s without quotes", n.text)
			return 0, false
		}
	}
	f, err := parseNumber(n.text)
	if err != nil {
		bad := d.fault(n, "%s is %q: want %s", what, n.text, want(t, r))
		if err.hint != "" {
			bad.Advise("%s", err.hint)
		}
		return 0, false
	}
	if r.hasMin && f < r.min || r.hasMax && f > r.max {
		d.fault(n, "%s is %s: want %s", what, n.text, want(t, r))
		return 0, false
	}
	return f, true
}

type numberError struct{ hint string }

// parseNumber takes decimal notation only, so that 010 or 0x1F mean nothing
// else than a person reads.
func parseNumber(s string) (float64, *numberError) {
	t := strings.TrimPrefix(s, "-")
	digits := strings.Trim(t, "0123456789.eE+-") == "" && t != ""
	if !digits {
		i := strings.IndexFunc(t, func(r rune) bool { return !(r >= '0' && r <= '9' || r == '.' || r == ',') })
		if i > 0 && strings.Trim(t[:i], "0123456789.") == "" && strings.TrimLeft(t[i:], " ") != "" && t[0] != '0' {
			return 0, &numberError{"write the bare number, without " + strconv.Quote(strings.TrimSpace(t[i:]))}
		}
		if strings.Count(t, ",") == 1 && strings.Trim(t, "0123456789,") == "" {
			return 0, &numberError{"the decimal sign is a point: write " + strings.Replace(s, ",", ".", 1)}
		}
		return 0, &numberError{}
	}
	if len(t) > 1 && t[0] == '0' && t[1] >= '0' && t[1] <= '9' {
		return 0, &numberError{"write it without leading zeros"}
	}
	if t[0] == '.' || t[0] == '+' || t[len(t)-1] == '.' {
		return 0, &numberError{"write it with digits before and after the point"}
	}
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(f, 0) || math.IsNaN(f) {
		return 0, &numberError{}
	}
	return f, nil
}

func (d *Doc) checkItems(n *node, count int, r rules) {
	if r.hasItems && (count < r.minItems || count > r.maxItems) {
		d.fault(n, "%s has %d entries: want %s", lastStep(n.path), count, r.itemsText())
	}
}

func contains(words []string, w string) bool {
	for _, have := range words {
		if have == w {
			return true
		}
	}
	return false
}

// lastStep names a value by its key: "address", or "fixtures, entry 3".
func lastStep(path string) string {
	steps, err := splitPath(path)
	if err != nil || len(steps) == 0 {
		return "the file"
	}
	last := steps[len(steps)-1]
	if last.key != "" {
		return last.key
	}
	name := "the list"
	if len(steps) > 1 && steps[len(steps)-2].key != "" {
		name = steps[len(steps)-2].key
	}
	return fmt.Sprintf("%s, entry %d", name, last.index+1)
}
