package page

import (
	"context"
	"errors"
	"net/http"
	"slices"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"trueup/loop/session"
	"trueup/loop/session/rig"
)

// Me is who a page is.
type Me struct {
	You      Person `json:"you"`
	Program  string `json:"program"`
	Starts   bool   `json:"starts" doc:"runs can be started here; else the page shows a run of the terminal"`
	Presence int    `json:"presence_s" doc:"a run ends when the operator's page is gone for so many seconds; 0: never"`
	Open     bool   `json:"open" doc:"on this machine alone: no key is needed"`
}

// Choices is what can be chosen for a run, as the rig file is now.
type Choices struct {
	Works     []string `json:"works"`
	Target    string   `json:"target" doc:"as the rig file says"`
	Fixtures  []string `json:"fixtures" doc:"that can be the reference"`
	Groups    []Group  `json:"groups"`
	Probes    []string `json:"probes" doc:"that light falls on; one of them is taken from point to point"`
	ByPerson  bool     `json:"by_person" doc:"a person reads the meter"`
	Aloft     bool     `json:"people_aloft"`
	Reference string   `json:"reference" doc:"empty: a colour"`
}

// Group is a named set of fixtures.
type Group struct {
	Name     string   `json:"name"`
	Fixtures []string `json:"fixtures"`
}

// ErrChecking refuses a second check beside the first: they would take the meters from each other.
var ErrChecking = errors.New("the rig is being checked already: wait for what that finds")

// Checked is what a check of the rig has found.
type Checked struct {
	OK     bool     `json:"ok"`
	Text   string   `json:"text"`
	Faults []string `json:"faults"`
}

func (s *Server) registerLooks(api huma.API) {
	huma.Register(api, op("me", http.MethodGet, "/api/me", "Who this page is", lookOn), func(ctx context.Context, _ *struct{}) (*body[Me], error) {
		return answer(Me{You: personOf(ctx), Program: s.cfg.Program, Starts: s.control.prepare != nil, Presence: int(s.cfg.Presence.Seconds()), Open: s.open}, nil)
	})
	huma.Register(api, op("state", http.MethodGet, "/api/state", "Everything that the page shows", lookOn), func(context.Context, *struct{}) (*body[State], error) {
		return answer(s.board.Now(), nil)
	})
	huma.Register(api, op("people", http.MethodGet, "/api/people", "Whose pages are open", lookOn), func(context.Context, *struct{}) (*body[[]Person], error) {
		return answer(s.people.others(), nil)
	})
	huma.Register(api, op("choices", http.MethodGet, "/api/choices", "What can be chosen for a run", lookOn), func(context.Context, *struct{}) (*body[Choices], error) {
		return answer(s.choices())
	})
	huma.Register(api, op("check", http.MethodPost, "/api/check", "Check the rig, its feeds and its network; no level is sent", lookOn), func(ctx context.Context, _ *struct{}) (*body[Checked], error) {
		if s.cfg.Check == nil {
			return nil, refused(ErrForeign)
		}
		if s.board.Phase().Runs() {
			return nil, refused(ErrBusy) // it would take the meters from the run
		}
		if !s.checking.TryLock() {
			return nil, refused(ErrChecking)
		}
		defer s.checking.Unlock()
		text, faults := s.cfg.Check(ctx)
		c := Checked{OK: len(faults) == 0, Text: text, Faults: []string{}}
		for _, f := range faults {
			c.Faults = append(c.Faults, f.Error())
		}
		return answer(c, nil)
	})
}

func (s *Server) choices() (c Choices, err error) {
	if s.cfg.Rig == nil {
		return c, ErrForeign
	}
	r, err := s.cfg.Rig()
	if err != nil {
		return c, err
	}
	c = Choices{Works: []string{}, Target: session.TargetText(r), Fixtures: []string{}, Groups: []Group{}, Probes: []string{}, ByPerson: session.ReadByHand(r), Aloft: r.Safety.Limits.PeopleAloft, Reference: r.Target.Reference}
	sent, hand := false, false
	for _, f := range r.Fixtures {
		c.Fixtures = append(c.Fixtures, f.Name)
		sent, hand = sent || f.Sent(), hand || f.ByHand
		if !slices.Contains(c.Probes, f.Probe) {
			c.Probes = append(c.Probes, f.Probe)
		}
	}
	if sent {
		c.Works = append(c.Works, "match", "survey", "verify", "points", "recall")
	}
	if hand {
		c.Works = append(c.Works, "by hand")
	}
	c.Works = append(c.Works, "resume")
	for _, g := range r.Groups {
		c.Groups = append(c.Groups, Group{g.Name, namesIn(r, g)})
	}
	return c, nil
}

func namesIn(r *rig.Rig, g rig.Group) []string {
	names := []string{}
	for _, i := range g.Fixtures {
		names = append(names, r.Fixtures[i].Name)
	}
	return slices.Compact(names)
}

func (s *Server) registerEvents(api huma.API) {
	o := op("events", http.MethodGet, eventsPath, "Everything that the page shows, as it changes", lookOn)
	o.Description = "Server-sent events. state holds a State, change a Change, beat comes when there is nothing to say. An event's id, sent back as Last-Event-ID, goes on after it."
	reg := api.OpenAPI().Components.Schemas
	o.Responses = map[string]*huma.Response{"200": {Description: "a stream of events", Content: map[string]*huma.MediaType{"text/event-stream": {Schema: &huma.Schema{OneOf: []*huma.Schema{
		reg.Schema(typeOf[State](), true, "State"), reg.Schema(typeOf[Change](), true, "Change")}}}}}}
	huma.Register(api, o, func(ctx context.Context, in *struct {
		Last string `header:"Last-Event-ID" maxLength:"100" doc:"id of the last event seen"`
	}) (*huma.StreamResponse, error) {
		who := personOf(ctx)
		if !s.people.openPage(who) {
			return nil, huma.Error429TooManyRequests("too many pages are open")
		}
		return &huma.StreamResponse{Body: func(c huma.Context) {
			defer s.people.here(who, -1)
			_, w := humago.Unwrap(c)
			c.SetHeader("Content-Type", "text/event-stream")
			c.SetHeader("X-Accel-Buffering", "no")
			if err := s.board.stream(c.Context(), w, in.Last, flushOf(w), deadlineOf(w)); err != nil {
				s.cfg.Log.Debug().Err(err).Msg("a page has gone")
			}
		}}, nil
	})
}
