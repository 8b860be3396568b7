package yamlfile

import (
	"strings"

	"github.com/goccy/go-yaml/token"
)

// checkSigns refuses a text that would fall into too many words and signs,
// before the lexer makes a token of each: those take a thousand times the room
// of the text. Signs within quotes and comments count too; no person writes
// this many there either.
func (d *Doc) checkSigns() *Error {
	n := 0
	for i, line := range d.lines {
		for j := range len(line) {
			switch c := line[j]; {
			case strings.IndexByte("[]{},#&*!?%|>@\"'", c) >= 0:
				n++
			case (c == ':' || c == '-') && (j+1 == len(line) || line[j+1] == ' ' || line[j+1] == '\t'):
				n++
			}
		}
		if n > maxTokens {
			return d.tooLong(i+1, 1)
		}
	}
	return nil
}

func (d *Doc) tooLong(line, col int) *Error {
	return d.fatal(line, col, "the file is too long to be read: more than %d words and signs", maxTokens)
}

// checkTokens refuses what the parser would have to recurse into too deeply.
func (d *Doc) checkTokens(tokens token.Tokens) *Error {
	if len(tokens) > maxTokens {
		t := tokens[maxTokens]
		return d.tooLong(t.Position.Line, t.Position.Column)
	}
	if bad := d.checkFirstTab(tokens); bad != nil {
		return bad
	}
	if bad := d.checkDepth(tokens); bad != nil {
		return bad
	}
	return d.checkGroups(tokens)
}

// checkFirstTab: the parser lets a tab before the first key pass.
func (d *Doc) checkFirstTab(tokens token.Tokens) *Error {
	for _, t := range tokens {
		if t.Type == token.CommentType || t.Position == nil {
			continue
		}
		first, _ := d.clamp(t.Position.Line, 1)
		if text := d.lines[first-1]; strings.HasPrefix(strings.TrimLeft(text, " "), "\t") {
			return d.fatal(first, 1, "this is not YAML: the line begins with a tab").Advise("indent with spaces, not with a tab")
		}
		break
	}
	return nil
}

// checkDepth bounds brackets within brackets, and what one line may nest.
func (d *Doc) checkDepth(tokens token.Tokens) *Error {
	flow, run, line := 0, 0, 0
	for _, t := range tokens {
		switch t.Type {
		case token.MappingStartType, token.SequenceStartType:
			flow++
		case token.MappingEndType, token.SequenceEndType:
			flow = max(0, flow-1)
		}
		switch t.Type {
		case token.SequenceEntryType, token.MappingKeyType, token.MappingValueType, token.AnchorType, token.TagType:
			if t.Position.Line != line {
				line, run = t.Position.Line, 0
			}
			if flow == 0 {
				run++
			}
		}
		if flow > maxDepth || run > maxDepth {
			return d.fatal(t.Position.Line, t.Position.Column, "values are nested more than %d deep", maxDepth)
		}
	}
	return nil
}

// checkGroups bounds the keys of one group, told apart by their column, or by
// the brackets around them.
func (d *Doc) checkGroups(tokens token.Tokens) *Error {
	byColumn := map[int]int{}
	var flow []int
	deeper := func(col int) {
		for c := range byColumn {
			if c > col {
				delete(byColumn, c)
			}
		}
	}
	for i, t := range tokens {
		n := 0
		switch t.Type {
		case token.MappingStartType, token.SequenceStartType:
			flow = append(flow, 0)
		case token.MappingEndType, token.SequenceEndType:
			flow = flow[:max(0, len(flow)-1)]
		case token.SequenceEntryType:
			deeper(t.Position.Column)
		case token.MappingValueType:
			if len(flow) > 0 {
				flow[len(flow)-1]++
				n = flow[len(flow)-1]
				break
			}
			col := tokens[max(0, i-1)].Position.Column
			deeper(col)
			byColumn[col]++
			n = byColumn[col]
		}
		if n > maxKeys {
			return d.fatal(t.Position.Line, t.Position.Column, "a group has more than %d keys", maxKeys)
		}
	}
	return nil
}
