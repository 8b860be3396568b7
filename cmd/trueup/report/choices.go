package report

import (
	"io"

	"trueup/loop/session"
)

type choiceJSON struct {
	uvJSON
	Off     float64         `json:"off_wish_uv"`
	Reached int             `json:"reached_by"`
	Lux     float64         `json:"brightest_lux,omitempty"`
	Weakest string          `json:"weakest,omitempty"`
	Out     []shortfallJSON `json:"left_out"`
}

type shortfallJSON struct {
	Fixture string  `json:"fixture"`
	Off     float64 `json:"off_uv"`
	SD      float64 `json:"sd_uv,omitempty"`
}

// WriteChoicesJSON writes what the choices of a common colour cost: the wish first, the best common colour last.
func WriteChoicesJSON(w io.Writer, rig, wish, from string, fixtures int, all []session.Choice) error {
	out := struct {
		Rig      string       `json:"rig"`
		Wish     string       `json:"wish"`
		From     string       `json:"predicted_from"`
		Fixtures int          `json:"fixtures"`
		Choices  []choiceJSON `json:"choices"`
	}{Rig: rig, Wish: wish, From: from, Fixtures: fixtures}
	for _, c := range all {
		j := choiceJSON{uvJSON: uvJSON{c.UV.U, c.UV.V}, Off: c.Off, Reached: c.Reached, Lux: c.Lux, Weakest: c.Weakest, Out: []shortfallJSON{}}
		for _, s := range c.Out {
			j.Out = append(j.Out, shortfallJSON{s.Fixture, s.Off, s.SD})
		}
		out.Choices = append(out.Choices, j)
	}
	return JSON(w, out)
}
