package yamlfile

import "fmt"

// Kind is the shape of a value.
type Kind int

// The shapes. The zero Kind is a value that is not there.
const (
	Absent Kind = iota
	Null        // a key with nothing after it
	Scalar      // a number, a word, a text
	List
	Map
)

// String names the shape as a message does.
func (k Kind) String() string {
	return [...]string{"nothing", "nothing", "a single value", "a list", "a group of keys"}[k]
}

// Node is one value of a file. A field of type Node keeps its value for later.
type Node struct{ n *node }

type node struct {
	doc       *Doc
	kind      Kind
	text      string // of a scalar
	quoted    bool   // written in quotes or as a block: text even if it looks like a number
	line, col int
	path      string
	entries   []entry // of a map, in the order of the file, doubles taken out
	items     []*node // of a list
}

type entry struct {
	key       string
	line, col int // of the key
	value     *node
}

func (n *node) find(key string) (entry, bool) {
	for _, e := range n.entries {
		if e.key == key {
			return e, true
		}
	}
	return entry{}, false
}

// Kind gives the shape of the value.
func (v Node) Kind() Kind {
	if v.n == nil {
		return Absent
	}
	return v.n.kind
}

// Text gives a scalar as it is written, without quotes; "" for other shapes.
func (v Node) Text() string {
	if v.n == nil {
		return ""
	}
	return v.n.text
}

// IsNumber reports whether the value is written as a number (not in quotes).
func (v Node) IsNumber() bool {
	if v.n == nil || v.n.kind != Scalar || v.n.quoted {
		return false
	}
	_, err := parseNumber(v.n.text)
	return err == nil
}

// Path gives the place of the value as Errorf takes it, such as
// $.fixtures[2].address.
func (v Node) Path() string {
	if v.n == nil {
		return "$"
	}
	return v.n.path
}

// Decode reads the value into out, a non-nil pointer, under the same rules as
// the whole file. What is wrong is collected in the Doc; ok says whether
// nothing was. An absent value leaves out as it is.
func (v Node) Decode(out any) (ok bool) {
	if v.n == nil {
		return true
	}
	before := v.n.doc.count
	v.n.doc.decodeInto(v.n, out)
	return v.n.doc.count == before
}

// Items gives the items of a list; none for other shapes.
func (v Node) Items() []Node {
	if v.n == nil {
		return nil
	}
	all := make([]Node, len(v.n.items))
	for i, item := range v.n.items {
		all[i] = Node{item}
	}
	return all
}

// Keys gives the keys of a map in the order of the file.
func (v Node) Keys() []string {
	if v.n == nil {
		return nil
	}
	keys := make([]string, len(v.n.entries))
	for i, e := range v.n.entries {
		keys[i] = e.key
	}
	return keys
}

// Get gives the value of a key of a map, or an absent Node.
func (v Node) Get(key string) Node {
	if v.n == nil {
		return Node{}
	}
	e, _ := v.n.find(key)
	return Node{e.value}
}

// Errorf collects an error at the value, under the rules of Doc.Errorf.
func (v Node) Errorf(format string, args ...any) *Error {
	if v.n == nil {
		return &Error{Msg: fmt.Sprintf(format, args...)}
	}
	return v.n.doc.at(v.n.line, v.n.col, format, args...)
}
