package rigtest

import (
	"math"
	"strings"

	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// What a run says of a lamp is read here and nowhere else: when the run says it
// in another way, this file changes.

// claimedSD is the standard deviation, for each axis, of lamp less reference as the run
// believes it.
func claimedSD(o *core.Outcome, ref *core.Reference) float64 {
	return math.Hypot(o.Final.SD, ref.SigmaUV)
}

// causes are words of an outcome's reason that accuse the lamp, its patch or its
// profile. What is said of the meter or of the colour's reach accuses nobody.
var causes = map[string][]string{
	"not answering": {"does not respond", "another fixture is measured", "wrong address", "another source"},
	"address":       {"its address looks"},
	"another mode":  {"it looks to be in"},
	"no light":      {"no light to speak of", "fixture dark"},
	"swapped":       {"look swapped"},
	"wrong mode":    {"not as this mode should"},
	"wrong law":     {"dimming curve"},
	"lamp drift":    {"the light drifts"},
	"jumps":         {"light jumps", "fixture that jumps"},
	"dead emitter":  {"gives no light:", "dead emitter"},
	"tint sign":     {"tint works the other way"},
	"scale":         {"scale runs evenly in"},
	"limiter":       {"limits itself"},
	"sets itself":   {"by itself"},
	"beat":          {"beat"},
	"meter noise":   nil,
	nothingClaimed:  {"blink", "too little light"},
}

// nothingClaimed is said of the room, not of the lamp.
const nothingClaimed = "nothing claimed"

// names tells whether an entry says one of the causes of a list.
func names(e *core.Entry, list string) bool {
	text := e.Note
	if e.Account != nil {
		text += e.Account.Words
	}
	if e.Outcome != nil {
		text += e.Outcome.Reason + e.Outcome.Advice
	}
	for cause, words := range causes {
		if list == "" || !strings.Contains(list, cause) {
			continue
		}
		for _, w := range words {
			if strings.Contains(text, w) {
				return true
			}
		}
	}
	return false
}

// lasting are causes that are named of a lamp that lands, too.
var lasting = []string{"dead emitter", "tint sign", "scale", "sets itself"}

// accusation is the cause that an outcome names, "" for none; a lamp that is held is
// accused of something in any case.
func accusation(o *core.Outcome) string {
	if o == nil {
		return ""
	}
	for _, cause := range lasting {
		for _, w := range causes[cause] {
			if strings.Contains(o.Reason+o.Advice, w) {
				return cause
			}
		}
	}
	if o.Result != solve.Landed && o.Result != solve.OutOfReach {
		for cause, words := range causes {
			for _, w := range words {
				if strings.Contains(o.Reason, w) {
					return cause
				}
			}
		}
	}
	if o.Result == solve.Held {
		return "held"
	}
	return ""
}
