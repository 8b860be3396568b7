package report

import "strings"

// cautionPart is a paragraph, or a list of items.
type cautionPart struct {
	Text  string
	Items []string
}

// cautionParts reads the program's standing words: paragraphs and items ("- ") that go over several lines, with an empty
// line between one kind and the other.
func cautionParts(text string) (parts []cautionPart) {
	for block := range strings.SplitSeq(text, "\n\n") {
		var p cautionPart
		for line := range strings.Lines(block) {
			line = strings.TrimRight(line, "\n")
			switch item, isItem := strings.CutPrefix(line, "- "); {
			case isItem:
				p.Items = append(p.Items, item)
			case len(p.Items) > 0:
				p.Items[len(p.Items)-1] += " " + strings.TrimSpace(line)
			default:
				p.Text = strings.TrimSpace(p.Text + " " + strings.TrimSpace(line))
			}
		}
		parts = append(parts, p)
	}
	return parts
}
