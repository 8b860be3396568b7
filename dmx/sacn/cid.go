package sacn

import "encoding/hex"

// CID names a sender for its whole life (E1.31 5.6): a UUID. A source is its
// CID, never its IP address; two programs with one CID are one source to every
// receiver. The zero CID is none.
//
// What a program gives as its CID is its identity; on the wire it carries our
// mark as well. Sender and Receiver both see to that, so that none of ours goes
// out unmarked.
type CID [16]byte

// mark makes our sources known to each other, so that one overlay never feeds
// on another: a version 8 UUID (RFC 9562 5.8, "vendor specific") that begins so.
var mark = [4]byte{'l', 'e', 'v', 'l'}

// marked is c as it stands on the wire.
func (c CID) marked() CID {
	if c == (CID{}) {
		return c
	}
	copy(c[:], mark[:])
	c[6] = c[6]&0x0f | 0x80 // version 8
	c[8] = c[8]&0x3f | 0x80 // variant of RFC 9562
	return c
}

// Ours tells whether c is that of a Sender of this package, here or on another
// machine. A stranger could forge it; then we refuse to overlay, and say so.
func (c CID) Ours() bool { return c != (CID{}) && c == c.marked() }

// String writes the CID as UUIDs are written (RFC 9562 4).
func (c CID) String() string {
	h := hex.EncodeToString(c[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}
