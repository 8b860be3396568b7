package main

import (
	"io"
	"os"
	"strings"

	"github.com/charmbracelet/x/ansi"
	"golang.org/x/term"
)

// painter draws a block of lines in place, with the cursor on the line below it.
type painter struct {
	w     io.Writer
	size  func() (width, height int)
	cells []int // width of each line that is drawn
}

// usual size of a terminal that does not tell.
const usualWidth, usualHeight = 80, 24

func newPainter(f *os.File) *painter {
	return &painter{w: f, size: func() (int, int) { return sizeOf(f) }}
}

// sizeOf is how many cells a terminal has.
func sizeOf(f *os.File) (width, height int) {
	width, height, err := term.GetSize(int(f.Fd()))
	if err != nil || width < 1 || height < 1 {
		return usualWidth, usualHeight
	}
	return width, height
}

// up leads from the cursor to the first line of the block. Where the window became narrower since it was
// drawn, lines may have been wrapped.
func (d *painter) up(width, height int) string {
	rows := 0
	for _, c := range d.cells {
		rows += max(1, (c+width-1)/width)
	}
	if rows = min(rows, height-1); rows <= 0 {
		return "\r"
	}
	return "\r" + ansi.CursorUp(rows)
}

// draw puts lines in the place of those before. They must fit the size.
func (d *painter) draw(lines []string, width, height int) {
	var b strings.Builder
	b.WriteString(d.up(width, height))
	d.cells = d.cells[:0]
	for _, l := range lines {
		b.WriteString(l + ansi.EraseLineRight + "\n")
		d.cells = append(d.cells, ansi.StringWidth(l))
	}
	b.WriteString(ansi.EraseScreenBelow)
	io.WriteString(d.w, b.String())
}

// erase takes the block away.
func (d *painter) erase() {
	if len(d.cells) == 0 {
		return
	}
	io.WriteString(d.w, d.up(d.size())+ansi.EraseScreenBelow)
	d.cells = d.cells[:0]
}
