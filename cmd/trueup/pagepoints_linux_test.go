package main

import "strings"

// choosesTheBestCommon asks for the colour that all fixtures reach near another, and looks at what each choice costs.
func choosesTheBestCommon(s *screenOf) {
	s.t.Helper()
	s.click("#begin-run")
	s.click(`input[name="work"][value="match"]`)
	s.js(`(() => { const e = document.getElementById("target"); e.value = "common"; e.dispatchEvent(new Event("change")); })()`)
	s.says("colour-l", "Near which colour")
	s.click("#colour")
	s.js(`document.getElementById("colour").value = "4600 K"`)
	s.bothFormsOfDialog("choose-common")
	s.click("#order-go")
	s.until(`!document.getElementById("plan").hidden`)
	if notes := s.js(`document.getElementById("plan-notes").innerText`); !strings.Contains(notes, "4600 K: u′v′") || !strings.Contains(notes, "reached by") {
		s.t.Errorf("%s: the plan does not say what each choice costs: %q", s.name, notes)
	}
	s.bothFormsOfDialog("arm-common")
	s.click("#arm .shut")
}

// readsPoints has the matched look lit and read at two points, to which whoever operates takes the meter; who looks on sees it, and
// cannot answer.
func readsPoints(s, looksOn *screenOf) {
	s.t.Helper()
	s.click("#begin-run")
	s.click(`input[name="work"][value="points"]`)
	s.js(`document.getElementById("points").value = "2x1"`)
	s.js(`document.getElementById("probe").value = "mark"`) // where there are several none is chosen by itself
	s.click("#order-go")
	s.until(`!document.getElementById("plan").hidden`)
	s.bothFormsOfDialog("arm-points")
	s.click("#clear")
	s.click("#go")
	s.says("question-h", "Point 1 of 2, column 1, row 1: put the meter there")
	s.bothForms("point")
	looksOn.says("question-h", "Point 1 of 2")
	looksOn.bothForms("point")
	if looksOn.js(`document.querySelectorAll("#answers button").length`) != "0" {
		s.t.Error("who looks on can answer for the person with the meter")
	}
	s.click("#is-there")
	s.says("question-h", "Point 2 of 2")
	s.click("#is-there")
	s.says("doing", over)
	s.says("words", "Of 2 points of the lit surface 2 were read.")
	if log := s.js(`document.getElementById("log").innerText`); !strings.Contains(log, "column 2, row 1: put the meter there") || strings.Contains(log, "type next") {
		s.t.Errorf("%s: the log says %q", s.name, log)
	}
	s.bothForms("points-read")
}
