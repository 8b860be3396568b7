package xmltree

import (
	"slices"
)

// Node is one XML element. All of its methods can be called on nil, which is
// an element without anything in it.
type Node struct {
	Name string
	Text string // what stands between its children, without space around it
	Line int
	attr []attr
	kids []*Node
}

// attr is one attribute: few of them are found faster in a list than in a map,
// which takes ten times the room.
type attr struct{ name, value string }

func (n *Node) has(key string) bool {
	return slices.ContainsFunc(n.attr, func(a attr) bool { return a.name == key })
}

// Get is an attribute's text; empty where it is missing.
func (n *Node) Get(key string) string {
	if n == nil {
		return ""
	}
	for _, a := range n.attr {
		if a.name == key {
			return a.value
		}
	}
	return ""
}

// Or is an attribute's text, or def where it is missing or empty.
func (n *Node) Or(key, def string) string {
	if v := n.Get(key); v != "" {
		return v
	}
	return def
}

// Child is the first child with a name; nil where there is none.
func (n *Node) Child(name string) *Node {
	for _, k := range n.Kids() {
		if k.Name == name {
			return k
		}
	}
	return nil
}

// All are the children with a name, in order.
func (n *Node) All(name string) []*Node {
	var found []*Node
	for _, k := range n.Kids() {
		if k.Name == name {
			found = append(found, k)
		}
	}
	return found
}

// Kids are all children, in order.
func (n *Node) Kids() []*Node {
	if n == nil {
		return nil
	}
	return n.kids
}

// Value is the text of the first child with a name; empty where there is none.
func (n *Node) Value(name string) string {
	if k := n.Child(name); k != nil {
		return k.Text
	}
	return ""
}
