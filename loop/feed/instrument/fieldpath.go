package instrument

import (
	"fmt"
	"strconv"
	"strings"
)

// place is a compiled "from": where in a message a value stands. Which members
// count depends on the way of reading.
type fieldPath struct {
	text   string     // as written
	topic  int        // n > 0: segment n of the topic, address or path the message came by
	path   []jsonStep // json
	column int        // csv: 1-based; 0: by name; osc: argument, 1-based
	last   int        // csv: end of a range, -1 open
	name   string     // csv: header; regexp: group
	lo, hi int        // columns: first and last character, 1-based; hi 0: to the end
	group  int        // regexp: number of the group
}

type jsonStep struct {
	key   string
	index int // used when key is ""
}

// view is a message taken apart.
type decoded interface {
	get(p *fieldPath) (text string, ok bool)
	list(p *fieldPath) (texts []string, ok bool)
}

// compilePlace reads the text of a "from" for a way of reading.
func compileFieldPath(as, from string, groups []string, header bool) (*fieldPath, error) {
	p := &fieldPath{text: from}
	if rest, ok := strings.CutPrefix(from, "topic/"); ok {
		n, err := strconv.Atoi(rest)
		if err != nil || n < 1 || n > 64 {
			return nil, fmt.Errorf("%q: want topic/1, topic/2, ...: a part of the topic or address the message came by", from)
		}
		p.topic = n
		return p, nil
	}
	if strings.TrimSpace(from) == "" {
		return nil, fmt.Errorf("says not where the value stands: want %s", fieldPathWords(as))
	}
	bad := func() (*fieldPath, error) { return nil, fmt.Errorf("%q: want %s", from, fieldPathWords(as)) }
	switch as {
	case "json":
		return p, p.compilePath(from)
	case "csv":
		if a, b, ok := strings.Cut(from, ".."); ok {
			lo, err := strconv.Atoi(a)
			if err != nil || lo < 1 {
				return bad()
			}
			p.column, p.last = lo, -1
			if b != "" {
				if p.last, err = strconv.Atoi(b); err != nil || p.last < lo {
					return bad()
				}
			}
			return p, nil
		}
		if n, err := strconv.Atoi(from); err == nil {
			if n < 1 || n > 10_000 {
				return bad()
			}
			p.column = n
			return p, nil
		}
		if !header {
			return nil, fmt.Errorf("%q is a column name, but header is not set: want a column number, or header: true", from)
		}
		p.name = from
		return p, nil
	case "columns":
		a, b, ok := strings.Cut(from, "-")
		lo, err := strconv.Atoi(a)
		if err != nil || lo < 1 {
			return bad()
		}
		p.lo, p.hi = lo, lo
		if ok && b == "" {
			p.hi = 0
		} else if ok {
			if p.hi, err = strconv.Atoi(b); err != nil || p.hi < lo {
				return bad()
			}
		}
		return p, nil
	case "regexp":
		for i, g := range groups {
			if g == from {
				p.group = i
				return p, nil
			}
		}
		named := []string{}
		for _, g := range groups {
			if g != "" {
				named = append(named, g)
			}
		}
		return nil, fmt.Errorf("%q is no group of the pattern; it has: %s", from, strings.Join(named, ", "))
	case "osc":
		n, err := strconv.Atoi(from)
		if err != nil || n < 1 || n > 1024 {
			return bad()
		}
		p.column = n
		return p, nil
	}
	return bad()
}

func fieldPathWords(as string) string {
	switch as {
	case "json":
		return "a path like data.colour.x or probes[0].lux"
	case "csv":
		return "a column number, a range like 5..85, or a column name"
	case "columns":
		return "character positions like 11-17"
	case "regexp":
		return "the name of a group of the pattern"
	case "osc":
		return "the number of an argument, the first being 1"
	}
	return "json, csv, columns, regexp or osc in read.as first"
}

// compilePath reads a dotted path with indices: a.b[2].c, or [0].x.
func (p *fieldPath) compilePath(s string) error {
	rest := strings.TrimPrefix(s, "$.")
	for rest != "" {
		if rest[0] == '[' {
			in, after, ok := strings.Cut(rest[1:], "]")
			n, err := strconv.Atoi(in)
			if !ok || err != nil || n < 0 {
				return fmt.Errorf("%q: want %s", s, fieldPathWords("json"))
			}
			p.path = append(p.path, jsonStep{index: n})
			rest = strings.TrimPrefix(after, ".")
			continue
		}
		i := strings.IndexAny(rest, ".[")
		key := rest
		if i >= 0 {
			key, rest = rest[:i], rest[i:]
			if rest[0] == '.' {
				rest = rest[1:]
				if rest == "" {
					return fmt.Errorf("%q ends with a dot", s)
				}
			}
		} else {
			rest = ""
		}
		if key == "" {
			return fmt.Errorf("%q: want %s", s, fieldPathWords("json"))
		}
		p.path = append(p.path, jsonStep{key: key})
	}
	if len(p.path) == 0 || len(p.path) > 32 {
		return fmt.Errorf("%q: want %s", s, fieldPathWords("json"))
	}
	return nil
}
