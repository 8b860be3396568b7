package instrument

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
)

// maxList bounds the values of one spectrum.
const maxList = 4096

// jsonView is a JSON document, numbers kept as text so that their decimals can
// be counted.
type decodedJSON struct{ root any }

func openJSON(m []byte) (decoded, error) {
	d := json.NewDecoder(bytes.NewReader(m))
	d.UseNumber()
	var v decodedJSON
	if err := d.Decode(&v.root); err != nil {
		return nil, fmt.Errorf("not JSON: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("more than one JSON value in a line")
	}
	return v, nil
}

func (v decodedJSON) find(p *fieldPath) (any, bool) {
	at := v.root
	for _, s := range p.path {
		switch x := at.(type) {
		case map[string]any:
			var ok bool
			if at, ok = x[s.key]; !ok || s.key == "" {
				return nil, false
			}
		case []any:
			if s.key != "" || s.index >= len(x) {
				return nil, false
			}
			at = x[s.index]
		default:
			return nil, false
		}
	}
	return at, at != nil
}

func jsonText(v any) (string, bool) {
	switch x := v.(type) {
	case json.Number:
		return x.String(), true
	case string:
		return x, true
	case bool:
		if x {
			return "true", true
		}
		return "false", true
	}
	return "", false
}

func (v decodedJSON) get(p *fieldPath) (string, bool) {
	x, ok := v.find(p)
	if !ok {
		return "", false
	}
	return jsonText(x)
}

func (v decodedJSON) list(p *fieldPath) ([]string, bool) {
	x, ok := v.find(p)
	if !ok {
		return nil, false
	}
	a, ok := x.([]any)
	if !ok || len(a) > maxList {
		return nil, false
	}
	out := make([]string, len(a))
	for i, e := range a {
		if out[i], ok = jsonText(e); !ok {
			return nil, false
		}
	}
	return out, true
}

// csvView is one line of separated values.
type decodedCSV struct {
	cells []string
	names map[string]int // lower-case header to column number
}

// splitCSV splits at the separator. Cells may stand in double quotes, with ""
// for a quote. A separator of white space takes any run of it as one.
func splitCSV(line, sep string) []string {
	if strings.TrimSpace(sep) == "" && sep != "\t" {
		return strings.Fields(line)
	}
	var cells []string
	for {
		t := strings.TrimLeft(line, " ")
		if strings.HasPrefix(t, `"`) {
			var b strings.Builder
			t = t[1:]
			for {
				i := strings.IndexByte(t, '"')
				if i < 0 {
					b.WriteString(t)
					t = ""
					break
				}
				b.WriteString(t[:i])
				t = t[i+1:]
				if !strings.HasPrefix(t, `"`) {
					break
				}
				b.WriteByte('"')
				t = t[1:]
			}
			_, rest, more := strings.Cut(t, sep)
			cells = append(cells, b.String())
			if !more {
				return cells
			}
			line = rest
			continue
		}
		cell, rest, more := strings.Cut(line, sep)
		cells = append(cells, strings.TrimSpace(cell))
		if !more || len(cells) > 2*maxList {
			return cells
		}
		line = rest
	}
}

func (v decodedCSV) index(p *fieldPath) int {
	if p.name != "" {
		return v.names[strings.ToLower(p.name)]
	}
	return p.column
}

func (v decodedCSV) get(p *fieldPath) (string, bool) {
	i := v.index(p)
	if i < 1 || i > len(v.cells) {
		return "", false
	}
	return v.cells[i-1], true
}

func (v decodedCSV) list(p *fieldPath) ([]string, bool) {
	lo, hi := p.column, p.last
	if hi < 0 {
		hi = len(v.cells)
		for hi >= lo && v.cells[hi-1] == "" {
			hi-- // a separator at the end of a line
		}
	}
	if lo < 1 || hi > len(v.cells) || hi < lo || hi-lo >= maxList {
		return nil, false
	}
	return v.cells[lo-1 : hi], true
}

// columnsView is a line with values at fixed places.
type decodedColumns struct{ line string }

func (v decodedColumns) get(p *fieldPath) (string, bool) {
	hi := p.hi
	if hi == 0 || hi > len(v.line) {
		hi = len(v.line)
	}
	if p.lo > hi {
		return "", false
	}
	s := strings.TrimSpace(v.line[p.lo-1 : hi])
	return s, s != ""
}

func (v decodedColumns) list(p *fieldPath) ([]string, bool) {
	s, ok := v.get(p)
	return listOf(s, ""), ok
}

// regexpView is a line that matched the pattern.
type decodedRegexp struct {
	groups []string
	sep    string
}

var errNoMatch = errors.New("the pattern does not match")

func openRegexp(re *regexp.Regexp, m []byte, sep string) (decoded, error) {
	g := re.FindSubmatch(m)
	if g == nil {
		return nil, errNoMatch
	}
	v := decodedRegexp{groups: make([]string, len(g)), sep: sep}
	for i := range g {
		v.groups[i] = string(g[i])
	}
	return v, nil
}

func (v decodedRegexp) get(p *fieldPath) (string, bool) {
	s := strings.TrimSpace(v.groups[p.group])
	return s, s != ""
}

func (v decodedRegexp) list(p *fieldPath) ([]string, bool) {
	s, ok := v.get(p)
	return listOf(s, v.sep), ok
}

// listOf splits a text of many values; without a separator at white space,
// commas and semicolons.
func listOf(s, sep string) []string {
	var out []string
	if sep == "" {
		out = strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\t' || r == ',' || r == ';' || r == '\r' || r == '\n' })
	} else {
		for _, e := range strings.Split(strings.TrimSuffix(strings.TrimSpace(s), sep), sep) {
			out = append(out, strings.TrimSpace(e))
		}
	}
	if len(out) > maxList {
		return nil
	}
	return out
}
