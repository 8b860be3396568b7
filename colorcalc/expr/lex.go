package expr

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// maxText bounds an expression: nobody names a colour in more.
const maxText = 200

// Error says what is wrong with an expression, and where.
type Error struct {
	Text string
	Pos  int // byte offset of the fault in Text
	Msg  string
	Hint string // what to write instead; may be empty
}

// Error gives one line: message and column.
func (e *Error) Error() string {
	s := fmt.Sprintf("colour %q, character %d: %s", e.Text, e.Column(), e.Msg)
	if e.Hint != "" {
		s += "; " + e.Hint
	}
	return s
}

// Column counts characters from 1.
func (e *Error) Column() int { return utf8.RuneCountInString(e.Text[:min(e.Pos, len(e.Text))]) + 1 }

// Excerpt shows the text with a caret under the fault, in two lines.
func (e *Error) Excerpt() string {
	return e.Text + "\n" + strings.Repeat(" ", e.Column()-1) + "^"
}

type kind uint8

const (
	end kind = iota
	word
	number
	hex
)

// token is a word, a number or a run of hex digits after '#'.
type token struct {
	kind kind
	text string
	val  float64
	pos  int
}

// separator: characters between words and numbers that carry no meaning.
func separator(c byte) bool { return strings.IndexByte(" \t,;:=()", c) >= 0 }

func digit(c byte) bool { return c >= '0' && c <= '9' }

func letter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' }

// lex splits the text. A word begins with a letter and runs on over letters,
// digits and primes, a dash before a letter and a point before a digit; a
// number takes a sign, digits, a point and an exponent.
func lex(text string) ([]token, *Error) {
	var out []token
	for i := 0; i < len(text); {
		c := text[i]
		next := byte(0)
		if i+1 < len(text) {
			next = text[i+1]
		}
		switch {
		case separator(c):
			i++
		case c == '#':
			j := i + 1
			for j < len(text) && (digit(text[j]) || letter(text[j])) {
				j++
			}
			out = append(out, token{kind: hex, text: text[i+1 : j], pos: i})
			i = j
		case digit(c), c == '.' && digit(next), (c == '+' || c == '-') && (digit(next) || next == '.'):
			j := numberEnd(text, i)
			v, err := strconv.ParseFloat(text[i:j], 64)
			if err != nil {
				return nil, &Error{Text: text, Pos: i, Msg: fmt.Sprintf("%q is not a number", text[i:j])}
			}
			out = append(out, token{number, text[i:j], v, i})
			i = j
		case strings.HasPrefix(text[i:], "−"): // a true minus sign, as documents print it
			rest := text[i+len("−"):]
			j := numberEnd(rest, 0)
			v, err := strconv.ParseFloat(rest[:j], 64)
			if err != nil || v < 0 || rest[0] == '+' {
				return nil, &Error{Text: text, Pos: i, Msg: "a minus sign without a number"}
			}
			out = append(out, token{number, "-" + rest[:j], -v, i})
			i += len("−") + j
		case c == '%':
			out = append(out, token{kind: word, text: "%", pos: i})
			i++
		case strings.HasPrefix(text[i:], "°"):
			out = append(out, token{kind: word, text: "°", pos: i})
			i += len("°")
		case letter(c):
			j := wordEnd(text, i)
			out = append(out, token{kind: word, text: text[i:j], pos: i})
			i = j
		default:
			r, _ := utf8.DecodeRuneInString(text[i:])
			return nil, &Error{Text: text, Pos: i, Msg: fmt.Sprintf("unexpected %q", r), Hint: hintForms}
		}
	}
	return append(out, token{kind: end, pos: len(text)}), nil
}

func numberEnd(s string, i int) int {
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	for i < len(s) && (digit(s[i]) || s[i] == '.') {
		i++
	}
	if i < len(s) && s[i]|0x20 == 'e' {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if j < len(s) && digit(s[j]) {
			for i = j; i < len(s) && digit(s[i]); i++ {
			}
		}
	}
	return i
}

func wordEnd(s string, i int) int {
	start := i
	for i < len(s) {
		c := s[i]
		switch {
		case letter(c) || digit(c) || c == '\'':
			// "xy0.31": the number begins where a digit follows a keyword
			if digit(c) && takesNumbers(s[start:i]) && !uv60(s[start:]) {
				return i
			}
			i++
		case strings.HasPrefix(s[i:], "′"):
			i += len("′")
		case i+1 < len(s) && (c == '-' && letter(s[i+1]) || c == '.' && digit(s[i+1])):
			if takesNumbers(s[start:i]) {
				return i
			}
			i++ // LED-B1, P3-D65, BT.709
		default:
			return i
		}
	}
	return i
}

func uv60(s string) bool {
	return len(s) >= 4 && strings.EqualFold(s[:4], "uv60") && (len(s) == 4 || !digit(s[4]) && s[4] != '.')
}
