package gdtf

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
)

// Bounds on description.xml.
const (
	maxDepth = 64
	maxNodes = 400_000
	maxAttrs = 64
)

// node is one XML element: GDTF keeps everything in attributes.
type node struct {
	name string
	attr map[string]string
	kids []*node
	line int
}

// get is an attribute's text; empty where it is missing.
func (n *node) get(key string) string {
	if n == nil {
		return ""
	}
	return n.attr[key]
}

// or is an attribute's text, or def where it is missing or empty.
func (n *node) or(key, def string) string {
	if v := n.get(key); v != "" {
		return v
	}
	return def
}

// child is the first child with a name; nil where there is none.
func (n *node) child(name string) *node {
	if n == nil {
		return nil
	}
	for _, k := range n.kids {
		if k.name == name {
			return k
		}
	}
	return nil
}

// all are the children with a name, in order.
func (n *node) all(name string) []*node {
	if n == nil {
		return nil
	}
	var found []*node
	for _, k := range n.kids {
		if k.name == name {
			found = append(found, k)
		}
	}
	return found
}

// parseXML reads a document into nodes. Document types, entities and other
// character sets than UTF-8 are refused; nesting and size are bounded.
func parseXML(data []byte) (*node, error) {
	d := xml.NewDecoder(bytes.NewReader(data)) // strict, and no entities of its own
	var root *node
	var open []*node
	count := 0
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		line, _ := d.InputPos()
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		switch t := tok.(type) {
		case xml.Directive:
			return nil, fmt.Errorf("line %d: a document type is not allowed here", line)
		case xml.StartElement:
			if count++; count > maxNodes {
				return nil, fmt.Errorf("line %d: more than %d elements", line, maxNodes)
			}
			if len(open) >= maxDepth {
				return nil, fmt.Errorf("line %d: elements are nested deeper than %d", line, maxDepth)
			}
			if len(t.Attr) > maxAttrs {
				return nil, fmt.Errorf("line %d: %s has more than %d attributes", line, t.Name.Local, maxAttrs)
			}
			n := &node{name: t.Name.Local, line: line}
			if len(t.Attr) > 0 {
				n.attr = make(map[string]string, len(t.Attr))
			}
			for _, a := range t.Attr {
				if _, twice := n.attr[a.Name.Local]; twice {
					return nil, fmt.Errorf("line %d: %s has the attribute %s twice", line, n.name, a.Name.Local)
				}
				n.attr[a.Name.Local] = a.Value
			}
			switch {
			case len(open) > 0:
				top := open[len(open)-1]
				top.kids = append(top.kids, n)
			case root == nil:
				root = n
			default:
				return nil, fmt.Errorf("line %d: a second root element %s", line, n.name)
			}
			open = append(open, n)
		case xml.EndElement:
			open = open[:len(open)-1]
		}
	}
	if root == nil {
		return nil, errors.New("no XML element")
	}
	return root, nil
}
