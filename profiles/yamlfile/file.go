package yamlfile

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Doc is a file that was read: the place of every value, and what is wrong.
type Doc struct {
	file   string
	lines  []string
	root   *node
	errs   Errors
	count  int             // of errors found, kept or not
	silent map[[2]int]bool // places of values that could not be read
}

// Decode reads a file's text into out, a pointer to a struct with the tags of
// the package comment. file is the name used in messages; nothing is opened.
//
// All errors are found at once; err is Errors. When the text is YAML at all
// the Doc is not nil even if err is not: the caller goes on with its own
// checks (Doc.Errorf) and returns Doc.Err in the end. Fields that could not be
// read keep the value they had.
func Decode(file string, data []byte, out any) (*Doc, error) {
	d := &Doc{file: file, silent: map[[2]int]bool{}}
	if err := d.parse(data); err != nil {
		return nil, Errors{err}
	}
	d.decodeInto(d.root, out)
	return d, d.Err()
}

// Err gives all errors collected so far, sorted, as Errors; nil for none.
func (d *Doc) Err() error {
	if d == nil || len(d.errs) == 0 {
		return nil
	}
	all := slices.Clone(d.errs)
	all.sort()
	if d.count > len(d.errs) {
		all = append(all, &Error{File: d.file, Msg: fmt.Sprintf("and %d more errors", d.count-len(d.errs))})
	}
	return all
}

// Root gives the whole file as a value.
func (d *Doc) Root() Node { return Node{d.root} }

// Errorf collects an error at a path such as $.fixtures[2].address. A key with
// other signs than letters, digits, - and _ is written ['like this'], a quote
// in it doubled. Where the path does not exist the error stands at the nearest
// value above it. An error at a value that Decode could not read is dropped, as
// it only follows from that, and so is one said before in the same words.
func (d *Doc) Errorf(path, format string, args ...any) *Error {
	line, col := d.Place(path)
	return d.at(line, col, format, args...)
}

// fault is an error of Decode at a value: what others say of it is dropped.
func (d *Doc) fault(n *node, format string, args ...any) *Error {
	e := d.at(n.line, n.col, format, args...)
	d.silent[[2]int{n.line, n.col}] = true
	return e
}

// Place gives line and column of the value at a path, of its key if the value
// is a list or a group of keys, or of the nearest thing above it that exists.
func (d *Doc) Place(path string) (line, col int) {
	line, col, _ = d.locate(path)
	return line, col
}

// Has reports whether the file has a value at the path.
func (d *Doc) Has(path string) bool {
	_, _, exact := d.locate(path)
	return exact
}

// Failed reports whether an error stands at the value of path or within it, so
// that a caller need not check what could not be read.
func (d *Doc) Failed(path string) bool {
	n, _, _, exact := d.walk(path)
	if !exact {
		return false
	}
	return d.failedIn(n)
}

func (d *Doc) failedIn(n *node) bool {
	if d.silent[[2]int{n.line, n.col}] {
		return true
	}
	for _, e := range n.entries {
		if d.failedIn(e.value) {
			return true
		}
	}
	for _, item := range n.items {
		if d.failedIn(item) {
			return true
		}
	}
	return false
}

func (d *Doc) at(line, col int, format string, args ...any) *Error {
	line, col = d.clamp(line, col)
	e := &Error{File: d.file, Line: line, Col: col, Msg: fmt.Sprintf(format, args...)}
	if d.silent[[2]int{line, col}] {
		return e
	}
	for _, have := range d.errs {
		if have.Line == line && have.Col == col && have.Msg == e.Msg {
			return have
		}
	}
	d.count++
	if len(d.errs) < maxErrors {
		e.Excerpt = excerpt(d.lines, line, col)
		d.errs = append(d.errs, e)
	}
	return e
}

func (d *Doc) locate(path string) (line, col int, exact bool) {
	_, line, col, exact = d.walk(path)
	return line, col, exact
}

func (d *Doc) walk(path string) (n *node, line, col int, exact bool) {
	n = d.root
	line, col = n.line, n.col
	steps, err := splitPath(path)
	if err != nil {
		return n, line, col, false
	}
	for _, s := range steps {
		switch {
		case s.key != "" && n.kind == Map:
			e, ok := n.find(s.key)
			if !ok {
				return n, line, col, false
			}
			n, line, col = e.value, e.line, e.col
			if n.kind == Scalar {
				line, col = n.line, n.col
			}
		case s.key == "" && n.kind == List && s.index < len(n.items):
			n = n.items[s.index]
			line, col = n.line, n.col
		default:
			return n, line, col, false
		}
	}
	return n, line, col, true
}

type step struct {
	key   string // or, if empty,
	index int
}

var errPath = errors.New("not a path such as $.fixtures[2].address")

func splitPath(path string) ([]step, error) {
	rest, ok := strings.CutPrefix(path, "$")
	if !ok {
		return nil, errPath
	}
	var steps []step
	for rest != "" {
		switch {
		case strings.HasPrefix(rest, "['"):
			key, after, ok := quotedKey(rest[2:])
			if !ok {
				return nil, errPath
			}
			steps, rest = append(steps, step{key: key}), after
		case rest[0] == '[':
			end := strings.IndexByte(rest, ']')
			if end < 0 {
				return nil, errPath
			}
			i, err := strconv.Atoi(rest[1:end])
			if err != nil || i < 0 {
				return nil, errPath
			}
			steps, rest = append(steps, step{index: i}), rest[end+1:]
		case rest[0] == '.':
			rest = rest[1:]
			end := strings.IndexAny(rest, ".[")
			if end < 0 {
				end = len(rest)
			}
			if end == 0 {
				return nil, errPath
			}
			steps, rest = append(steps, step{key: rest[:end]}), rest[end:]
		default:
			return nil, errPath
		}
	}
	return steps, nil
}

// quotedKey reads a key behind [' up to '], in which two quotes stand for one.
func quotedKey(text string) (key, rest string, ok bool) {
	for {
		i := strings.IndexByte(text, '\'')
		if i < 0 {
			return "", "", false
		}
		key, text = key+text[:i], text[i+1:]
		if !strings.HasPrefix(text, "'") {
			break
		}
		key, text = key+"'", text[1:]
	}
	rest, ok = strings.CutPrefix(text, "]")
	return key, rest, ok && key != ""
}

// Key gives one step of a path for a key of any spelling.
func Key(key string) string {
	for _, r := range key {
		if !(r == '_' || r == '-' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z') {
			return "['" + strings.ReplaceAll(key, "'", "''") + "']"
		}
	}
	if key == "" {
		return "['']"
	}
	return "." + key
}
