package expr

import (
	"fmt"
	"strings"
)

// checkCommas refuses a comma that may be a decimal sign: "95,05 100" read as
// three numbers would silently be another colour. A comma without a space, with
// digits alone on both sides, separates two numbers only where all numbers are
// separated so ("1,0,0") and none of them begins with a zero ("95,05").
func checkCommas(text string, tokens []token) error {
	doubtful, decimal := -1, false // the token before the first such comma; whether it is a decimal sign
	for i := 0; i+1 < len(tokens); i++ {
		a, b := tokens[i], tokens[i+1]
		if a.kind != number || b.kind != number {
			continue
		}
		between := text[min(a.pos+len(a.text), b.pos):b.pos]
		if between != "," {
			decimal = true
			continue
		}
		if strings.ContainsAny(a.text, ".eE") || strings.ContainsAny(b.text, ".eE+-") {
			continue
		}
		if doubtful < 0 {
			doubtful = i
		}
		decimal = decimal || len(b.text) > 1 && b.text[0] == '0'
	}
	if doubtful < 0 || !decimal {
		return nil
	}
	a, b := tokens[doubtful], tokens[doubtful+1]
	return &Error{Text: text, Pos: a.pos, Msg: fmt.Sprintf("%s,%s may be one number or two", a.text, b.text),
		Hint: fmt.Sprintf("the decimal sign is a point: write %s.%s; between two numbers put a space behind the comma", a.text, b.text)}
}
