package xmltree

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Bounds on a document.
const (
	MaxDepth    = 64
	MaxElements = 120_000 // that are kept: a plan of 4000 fixtures with 30 each
	maxAllAttrs = 300_000 // of all elements that are kept
	maxSkipped  = 1_000_000
	maxAttrs    = 64
	maxText     = 4096 // bytes of one element's text; what is longer is cut
)

// Parse reads a document and returns its root. Elements with one of the names
// in skip are left out, with all that is in them; they must still be well
// formed. Errors name the line.
func Parse(r io.Reader, skip ...string) (*Node, error) {
	p := parser{d: xml.NewDecoder(r), skip: skip} // strict, and no entities of its own
	for {
		tok, err := p.d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		line, _ := p.d.InputPos()
		if err == nil {
			err = p.token(tok, line)
		}
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, plain(err))
		}
	}
	if p.root == nil {
		return nil, errors.New("no XML element")
	}
	return p.root, nil
}

// plain takes the line, which is said already, off an error of the decoder, and
// says in words that the text ended.
func plain(err error) error {
	var syntax *xml.SyntaxError
	switch {
	case !errors.As(err, &syntax):
		return err
	case strings.Contains(syntax.Msg, "EOF"):
		return errors.New("the text ends in the middle of an element: the file is cut short or damaged")
	}
	return fmt.Errorf("not well-formed XML: %s", syntax.Msg)
}

type parser struct {
	d       *xml.Decoder
	skip    []string
	root    *Node
	open    []*Node
	inside  int // depth below a skipped element; 0 outside
	kept    int
	attrs   int
	skipped int
}

func (p *parser) token(tok xml.Token, line int) error {
	switch t := tok.(type) {
	case xml.Directive:
		return errors.New("a document type is not allowed here")
	case xml.StartElement:
		return p.start(t, line)
	case xml.EndElement:
		if p.inside > 0 {
			p.inside--
			return nil
		}
		top := p.open[len(p.open)-1]
		top.Text = strings.TrimSpace(top.Text)
		p.open = p.open[:len(p.open)-1]
	case xml.CharData:
		if p.inside > 0 || len(p.open) == 0 {
			return nil
		}
		top := p.open[len(p.open)-1]
		if top.Text == "" && strings.TrimSpace(string(t)) == "" {
			return nil // the space between elements
		}
		if room := maxText - len(top.Text); room > 0 {
			top.Text += strings.ToValidUTF8(string(t[:min(len(t), room)]), "")
		}
	}
	return nil
}

func (p *parser) start(t xml.StartElement, line int) error {
	if len(p.open)+p.inside >= MaxDepth {
		return fmt.Errorf("elements are nested deeper than %d", MaxDepth)
	}
	if p.inside > 0 || len(p.open) > 0 && slices.Contains(p.skip, t.Name.Local) {
		p.inside++
		if p.skipped++; p.skipped > maxSkipped {
			return fmt.Errorf("more than %d elements", maxSkipped)
		}
		return nil
	}
	if p.kept++; p.kept > MaxElements {
		return fmt.Errorf("more than %d elements", MaxElements)
	}
	if len(t.Attr) > maxAttrs {
		return fmt.Errorf("%s has more than %d attributes", t.Name.Local, maxAttrs)
	}
	n := &Node{Name: t.Name.Local, Line: line}
	if p.attrs += len(t.Attr); p.attrs > maxAllAttrs {
		return fmt.Errorf("more than %d attributes", maxAllAttrs)
	}
	if len(t.Attr) > 0 {
		n.attr = make([]attr, 0, len(t.Attr))
	}
	for _, a := range t.Attr {
		if n.has(a.Name.Local) {
			return fmt.Errorf("%s has the attribute %s twice", n.Name, a.Name.Local)
		}
		n.attr = append(n.attr, attr{a.Name.Local, a.Value})
	}
	switch {
	case len(p.open) > 0:
		top := p.open[len(p.open)-1]
		top.kids = append(top.kids, n)
	case p.root == nil:
		p.root = n
	default:
		return fmt.Errorf("a second root element %s", n.Name)
	}
	p.open = append(p.open, n)
	return nil
}
