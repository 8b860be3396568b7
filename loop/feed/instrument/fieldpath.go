package instrument

import (
	"fmt"
	"slices"
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

// decoded is a message taken apart.
type decoded interface {
	get(p *fieldPath) (text string, ok bool)
	list(p *fieldPath) (texts []string, ok bool)
}

// compileFieldPath reads the text of a "from" for a way of reading.
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
	compile, known := map[string]func() error{
		"json": func() error { return p.compilePath(from) }, "csv": func() error { return p.compileCell(from, header) },
		"columns": func() error { return p.compileColumns(from) }, "regexp": func() error { return p.compileGroup(from, groups) },
		"osc": func() error { return p.compileArgument(from) },
	}[as]
	if !known {
		return nil, wrongPath(as, from)
	}
	if err := compile(); err != nil {
		return nil, err
	}
	return p, nil
}

func wrongPath(as, from string) error { return fmt.Errorf("%q: want %s", from, fieldPathWords(as)) }

// compileCell reads a column of csv: its number, a range, or its name.
func (p *fieldPath) compileCell(from string, header bool) error {
	if a, b, ok := strings.Cut(from, ".."); ok {
		lo, err := strconv.Atoi(a)
		if err != nil || lo < 1 {
			return wrongPath("csv", from)
		}
		p.column, p.last = lo, -1
		if b == "" {
			return nil
		}
		if p.last, err = strconv.Atoi(b); err != nil || p.last < lo {
			return wrongPath("csv", from)
		}
		return nil
	}
	if n, err := strconv.Atoi(from); err == nil {
		if n < 1 || n > 10_000 {
			return wrongPath("csv", from)
		}
		p.column = n
		return nil
	}
	if !header {
		return fmt.Errorf("%q is a column name, but header is not set: want a column number, or header: true", from)
	}
	p.name = from
	return nil
}

// compileColumns reads character positions: 5, 11-17, 20-.
func (p *fieldPath) compileColumns(from string) error {
	a, b, ranged := strings.Cut(from, "-")
	lo, err := strconv.Atoi(a)
	if err != nil || lo < 1 {
		return wrongPath("columns", from)
	}
	p.lo, p.hi = lo, lo
	if !ranged {
		return nil
	}
	if b == "" {
		p.hi = 0
		return nil
	}
	if p.hi, err = strconv.Atoi(b); err != nil || p.hi < lo {
		return wrongPath("columns", from)
	}
	return nil
}

func (p *fieldPath) compileGroup(from string, groups []string) error {
	if p.group = slices.Index(groups, from); p.group >= 0 {
		return nil
	}
	named := slices.DeleteFunc(slices.Clone(groups), func(g string) bool { return g == "" })
	return fmt.Errorf("%q is no group of the pattern; it has: %s", from, strings.Join(named, ", "))
}

func (p *fieldPath) compileArgument(from string) error {
	n, err := strconv.Atoi(from)
	if err != nil || n < 1 || n > 1024 {
		return wrongPath("osc", from)
	}
	p.column = n
	return nil
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
