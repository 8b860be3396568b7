package main

import (
	"context"
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// press types on the keyboard, whatever has the focus.
func (s *screenOf) press(keys string) {
	s.t.Helper()
	ctx, cancel := context.WithTimeout(s.ctx, time.Minute)
	defer cancel()
	s.must(fmt.Sprintf("press %q", keys), chromedp.Do(ctx, chromedp.KeyEvent(keys)))
}

// tabTo goes on with the tab key until an element has the focus.
func (s *screenOf) tabTo(id string) {
	s.t.Helper()
	s.until(fmt.Sprintf(`(() => { const e = document.getElementById(%q); return e && !e.disabled && e.checkVisibility(); })()`, id))
	for range 120 {
		if s.js("document.activeElement.id") == id {
			return
		}
		s.press("\t")
	}
	s.shot("fault")
	s.t.Fatalf("%s: the tab key does not lead to #%s", s.name, id)
}

// A job by hand is done from end to end with the keyboard alone: tab, space, return, and what the meter shows.
func TestPageByKeyboardAlone(t *testing.T) {
	if os.Getenv("TRUEUP_LONG") != "1" {
		t.Skip("half a minute of real time; set TRUEUP_LONG=1")
	}
	t.Parallel()
	p := serveByHand(t)
	s := openScreen(t, browsers(t), "keyboard", 1280, 800, p.url())
	s.says("link", "live")
	s.tabTo("begin-run")
	s.press("\r")
	s.tabTo("order-go") // by hand is all that this rig can do, and is chosen
	s.press("\r")
	s.tabTo("clear")
	s.press(" ")
	s.tabTo("go")
	s.press("\r")
	dialled, read := 0, 0
	for dialled < 2 || read < 2 {
		s.until(`!document.getElementById("question").hidden && ["is-set", "is-right", "typed"].includes(document.activeElement.id)`)
		was, at := s.js("document.activeElement.id"), s.js(`document.getElementById("question").dataset.id`)
		switch was {
		case "is-set":
			dialled++
			s.press("\r")
		case "is-right":
			read++
			s.press("\r")
		default: // the field has the focus by itself: the meter's figures are typed at once
			s.press("4150 0.002\r")
		}
		s.until(fmt.Sprintf(`document.getElementById("question").dataset.id !== %q`, at))
	}
	s.tabTo("stop")
	s.press("\r")
	s.says("doing", over)
	s.tabTo("begin-run")
}
