// Package xmltree reads XML documents that may be hostile into a tree: document
// types, entities and other character sets than UTF-8 are refused; nesting, the
// number of elements and the length of texts are bounded.
package xmltree
