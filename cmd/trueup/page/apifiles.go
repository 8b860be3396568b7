package page

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"trueup/cmd/trueup/report"
	"trueup/profiles/oserror"
)

// sealed is the policy of a report that is shown: its own styles, nothing from outside, no scripts.
const sealed = "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:"

// download is a file of a run.
type download struct {
	ContentType string `header:"Content-Type"`
	Disposition string `header:"Content-Disposition"`
	Policy      string `header:"Content-Security-Policy"`
	Body        []byte
}

func (s *Server) registerFiles(api huma.API) {
	huma.Register(api, op("runs", http.MethodGet, "/api/runs", "The last runs of this rig, newest first", lookOn), func(context.Context, *struct{}) (*body[[]Earlier], error) {
		return answer(s.runs.list())
	})
	o := op("file", http.MethodGet, "/api/runs/{run}/{file}", "A file of a run: report, settings sheet or journal", lookOn)
	o.Errors = append(o.Errors, http.StatusNotFound)
	huma.Register(api, o, func(_ context.Context, in *struct {
		Run  string `path:"run" maxLength:"200"`
		File string `path:"file" enum:"report.html,settings.csv,settings.json,journal.jsonl"`
	}) (*download, error) {
		text, kind, err := s.runs.file(in.Run, in.File)
		if err != nil {
			return nil, huma.Error404NotFound(oserror.Text(err))
		}
		d := &download{ContentType: kind, Policy: sealed, Body: text, Disposition: `attachment; filename="` + in.Run + "-" + in.File + `"`}
		if in.File == "report.html" {
			d.Disposition = "inline"
		}
		return d, nil
	})
	c := op("cue", http.MethodGet, "/api/runs/{run}/cue", "The look of a run as a cue that desks can load (USITT ASCII)", lookOn)
	c.Errors = append(c.Errors, http.StatusNotFound)
	huma.Register(api, c, func(_ context.Context, in *struct {
		Run       string  `path:"run" maxLength:"200"`
		Cue       string  `query:"cue" required:"true" maxLength:"16" doc:"number of the cue, free in the show"`
		Up        float64 `query:"up" default:"4" minimum:"0" maximum:"3600"`
		Down      float64 `query:"down" default:"4" minimum:"0" maximum:"3600"`
		ByAddress bool    `query:"by_address" doc:"count channels by address, not by desk_channel"`
	}) (*download, error) {
		sum, err := s.runs.summary(in.Run)
		if err != nil {
			return nil, huma.Error404NotFound(oserror.Text(err))
		}
		text, _, err := report.Cue(sum, report.CueOptions{Cue: in.Cue, Up: in.Up, Down: in.Down, ByAddress: in.ByAddress})
		if err != nil {
			return nil, huma.Error422UnprocessableEntity(err.Error())
		}
		return &download{ContentType: "text/plain; charset=utf-8", Policy: sealed, Body: text, Disposition: `attachment; filename="` + in.Run + "-cue-" + in.Cue + `.asc"`}, nil
	})
}
