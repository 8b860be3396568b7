// Package printable shows text that comes from elsewhere (a network, an
// instrument, a file) so that a terminal does nothing but print it. Control
// characters can move the cursor, clear the screen or type for the person;
// bidirectional overrides and characters without width make a name look like
// another. All of these are written as \u and four hexadecimal digits, which
// means the same within JSON. It imports nothing of ours.
package printable

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"sync"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// Rune reports whether a character only prints. The spaces of Unicode do; line
// ends, tabs, controls (C0, C1), format characters (bidirectional, zero width,
// tags) and what Unicode does not assign do not.
func Rune(r rune) bool { return unicode.IsPrint(r) || unicode.Is(unicode.Zs, r) }

// most characters of a foreign text in a message.
const most = 200

// Text shows a foreign text on one line, at most 200 characters of it.
func Text(s string) string {
	var b strings.Builder
	n := 0
	for _, r := range s {
		if n++; n > most {
			b.WriteString("…")
			break
		}
		write(&b, r)
	}
	return b.String()
}

func write(b *strings.Builder, r rune) {
	switch {
	case Rune(r):
		b.WriteRune(r) // also U+FFFD, for what is not UTF-8
	case r > 0xffff:
		hi, lo := utf16.EncodeRune(r)
		fmt.Fprintf(b, `\u%04x\u%04x`, hi, lo)
	default:
		fmt.Fprintf(b, `\u%04x`, r)
	}
}

// Writer lets through what only prints, line ends and tabs, and escapes the
// rest. What is one text to the program is one to it, whatever the pieces it is
// written in. It may be used from any goroutine.
type Writer struct {
	mu   sync.Mutex
	to   io.Writer
	tail []byte // the beginning of a character whose end has not come
}

// NewWriter writes to w.
func NewWriter(w io.Writer) *Writer { return &Writer{to: w} }

// Unwrap is the writer below, for those who draw: it takes everything.
func (w *Writer) Unwrap() io.Writer { return w.to }

// Write implements io.Writer.
func (w *Writer) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	text := append(w.tail, p...)
	w.tail = nil
	var b strings.Builder
	for len(text) > 0 {
		if !utf8.FullRune(text) {
			w.tail = bytes.Clone(text)
			break
		}
		r, n := utf8.DecodeRune(text)
		text = text[n:]
		if r == '\n' || r == '\t' {
			b.WriteRune(r)
		} else {
			write(&b, r)
		}
	}
	if _, err := io.WriteString(w.to, b.String()); err != nil {
		return 0, err
	}
	return len(p), nil
}
