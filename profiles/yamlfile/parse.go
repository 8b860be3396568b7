package yamlfile

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// Bounds on what is read; a file written by a person stays far below.
const (
	maxBytes = 256 << 10
	maxDepth = 32
	maxNodes = 200_000
	// maxTokens keeps the memory that the reading takes below 50 MB. A rig of
	// 400 fixtures with ten keys each has 18,000.
	maxTokens = 40_000
	// maxKeys of one group: the time to read a group grows with its square.
	maxKeys = 4000
)

// parse turns text into nodes. Unlike later steps it stops at the first error.
func (d *Doc) parse(data []byte) (bad *Error) {
	if len(data) > maxBytes {
		return &Error{File: d.file, Msg: fmt.Sprintf("the file has %d bytes; %d is the most that is read", len(data), maxBytes)}
	}
	text := strings.TrimPrefix(string(data), "\uFEFF")
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	d.lines = strings.Split(text, "\n")
	if !utf8.ValidString(text) {
		for i, l := range d.lines {
			if !utf8.ValidString(l) {
				return d.fatal(i+1, 1, "the line is not UTF-8 text").Advise("save the file as UTF-8 in the editor")
			}
		}
	}
	// The reader below recurses, and knows no bound; and it is somebody else's
	// code, fed with whatever a person may put into a file.
	defer func() {
		if r := recover(); r != nil {
			bad = d.fatal(1, 1, "the file can not be read as YAML")
		}
	}()
	if bad = d.checkSigns(); bad != nil {
		return bad
	}
	tokens := lexer.Tokenize(text)
	if bad = d.checkTokens(tokens); bad != nil {
		return bad
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		return d.syntax(err)
	}
	var body ast.Node
	for _, doc := range file.Docs {
		if doc.Body == nil {
			continue
		}
		if body != nil {
			line, col := place(doc.Body)
			return d.fatal(line, col, "a second document begins here").Advise("a file holds one document: take out the line with ---")
		}
		body = doc.Body
	}
	if body == nil {
		return d.fatal(1, 1, "the file is empty")
	}
	budget := maxNodes
	d.root, bad = d.convert(body, "$", 0, &budget)
	if bad == nil && d.root.kind != Map {
		return d.fatal(d.root.line, d.root.col, "the file must begin with a key such as \"name:\", not with %s", d.root.kind)
	}
	return bad
}

func (d *Doc) fatal(line, col int, format string, args ...any) *Error {
	line, col = d.clamp(line, col)
	return &Error{File: d.file, Line: line, Col: col, Msg: fmt.Sprintf(format, args...), Excerpt: excerpt(d.lines, line, col)}
}

// clamp keeps a place within the text, wherever the reader below thinks it is.
func (d *Doc) clamp(line, col int) (int, int) {
	return max(1, min(line, len(d.lines))), max(1, col)
}

func (d *Doc) syntax(err error) *Error {
	var s *yaml.SyntaxError
	if !errors.As(err, &s) || s.Token == nil || s.Token.Position == nil {
		return d.fatal(1, 1, "this is not YAML: %v", firstLine(err.Error()))
	}
	line, col := s.Token.Position.Line, s.Token.Position.Column
	if l, c := d.openQuote(line); l > 0 {
		return d.fatal(l, c, "this quote is not closed in its line").Advise("close the quote")
	}
	e := d.fatal(line, col, "this is not YAML: %s", firstLine(s.Message))
	here := ""
	if line >= 1 && line <= len(d.lines) {
		here = d.lines[line-1]
	}
	switch {
	case strings.HasPrefix(strings.TrimLeft(here, " "), "\t"):
		e.Advise("indent with spaces, not with a tab")
	case strings.Contains(s.Message, "not allowed in this context"):
		e.Advise("check the indentation of this line and the one above; a text with a colon in it needs quotes")
	case strings.Contains(s.Message, "end character"):
		e.Advise("close the quote")
	}
	return e
}

// openedQuote is a value that begins with a quote and has none behind it to the end of the line.
var openedQuote = regexp.MustCompile(`^[^#"']*(?::|-|,|\[|\{)\s*(")(?:[^"\\]|\\.)*$`)

// openQuote is the first such line above a fault: the quote then ends at the next one, somewhere below, and what
// stands there is blamed. 0 for none. A text may go over several lines, so a file without a fault is not asked.
func (d *Doc) openQuote(before int) (line, col int) {
	for i, l := range d.lines[:min(max(before-1, 0), len(d.lines))] {
		if at := openedQuote.FindStringSubmatchIndex(l); at != nil {
			return i + 1, at[2] + 1
		}
	}
	return 0, 0
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}

func place(n ast.Node) (line, col int) {
	t := n.GetToken()
	switch n := n.(type) {
	case *ast.MappingNode:
		if !n.IsFlowStyle && len(n.Values) > 0 {
			t = n.Values[0].Key.GetToken()
		}
	case *ast.MappingValueNode:
		t = n.Key.GetToken()
	}
	if t == nil || t.Position == nil {
		return 1, 1
	}
	return t.Position.Line, t.Position.Column
}

func (d *Doc) convert(a ast.Node, path string, depth int, budget *int) (*node, *Error) {
	line, col := place(a)
	if *budget--; depth > maxDepth || *budget < 0 {
		return nil, d.fatal(line, col, "values are nested more than %d deep, or there are more than %d", maxDepth, maxNodes)
	}
	n := &node{doc: d, line: line, col: col, path: path}
	var pairs []*ast.MappingValueNode
	switch a := a.(type) {
	case *ast.NullNode:
		n.kind = Null
	case *ast.StringNode:
		n.kind, n.text = Scalar, a.Value
		n.quoted = a.Token != nil && (a.Token.Type == token.SingleQuoteType || a.Token.Type == token.DoubleQuoteType)
	case *ast.LiteralNode:
		n.kind, n.text, n.quoted = Scalar, a.Value.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		n.kind, n.text = Scalar, a.GetToken().Value
	case *ast.SequenceNode:
		n.kind = List
		for i, v := range a.Values {
			item, err := d.convert(v, fmt.Sprintf("%s[%d]", path, i), depth+1, budget)
			if err != nil {
				return nil, err
			}
			n.items = append(n.items, item)
		}
	case *ast.MappingValueNode:
		pairs = []*ast.MappingValueNode{a}
	case *ast.MappingNode:
		n.kind, pairs = Map, a.Values
	case *ast.AnchorNode, *ast.AliasNode:
		return nil, d.fatal(line, col, "anchors (&) and aliases (*) are not read here").Advise("write the value out, or put a text that begins with & or * in quotes")
	case *ast.TagNode:
		return nil, d.fatal(line, col, "tags (!) are not read here").Advise("take the tag away, or put a text that begins with ! in quotes")
	default:
		return nil, d.fatal(line, col, "this kind of YAML is not read here")
	}
	for _, p := range pairs {
		n.kind = Map
		if err := d.convertPair(n, p, depth, budget); err != nil {
			return nil, err
		}
	}
	return n, nil
}

func (d *Doc) convertPair(n *node, p *ast.MappingValueNode, depth int, budget *int) *Error {
	t := p.Key.GetToken()
	line, col := t.Position.Line, t.Position.Column
	var key string
	switch k := p.Key.(type) {
	case *ast.StringNode:
		key = k.Value
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.NullNode:
		key = t.Value
	case *ast.MergeKeyNode:
		return d.fatal(line, col, "merge keys (<<) are not read here").Advise("write the keys out")
	default:
		return d.fatal(line, col, "a key must be a plain word")
	}
	for _, e := range n.entries {
		if e.key == key {
			d.at(line, col, "the key %q stands here a second time (first on line %d)", key, e.line).Advise("keep one of the two")
			return nil
		}
	}
	value, err := d.convert(p.Value, n.path+Key(key), depth+1, budget)
	if err != nil {
		return err
	}
	if value.kind == Null {
		value.line, value.col = line, col
	}
	n.entries = append(n.entries, entry{key, line, col, value})
	return nil
}
