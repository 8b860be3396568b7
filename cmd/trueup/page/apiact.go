package page

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"reflect"

	"github.com/danielgtaylor/huma/v2"
)

func typeOf[T any]() reflect.Type { return reflect.TypeFor[T]() }

// done answers what needs no more than that it was done.
type done struct{}

func (s *Server) registerActions(api huma.API) {
	huma.Register(api, op("pair", http.MethodPost, "/api/pair", "Let this browser in, for a key that is good once", anybody), func(_ context.Context, in *struct {
		Body struct {
			Key string `json:"key" maxLength:"64"`
		}
	}) (*struct {
		SetCookie *http.Cookie `header:"Set-Cookie"`
	}, error) {
		if !s.people.spend(in.Body.Key) { // a key that is good gets in, however many others are tried beside it
			if !s.pairing.Allow() {
				return nil, huma.Error429TooManyRequests("too many keys were tried: wait a moment")
			}
			if s.tried.Allow() { // whoever guesses on must not drive a run's lines out of the log
				s.board.Say("somebody tried to pair a page with a key that is not good (any more)", true)
			}
			return nil, huma.Error403Forbidden("this key is not good, or not any more: each opens one page. The program, or a page that is paired, shows a new one")
		}
		if s.cfg.Paired != nil {
			s.cfg.Paired()
		}
		return &struct {
			SetCookie *http.Cookie `header:"Set-Cookie"`
		}{s.people.cookie()}, nil
	})
	huma.Register(api, op("invite", http.MethodPost, "/api/invite", "A key for one more page", operate), func(ctx context.Context, _ *struct{}) (*body[Invitation], error) {
		return answer(s.Invite())
	})
	huma.Register(api, op("plan", http.MethodPost, "/api/plan", "What an order would drive, within which limits; nothing moves", operate), func(ctx context.Context, in *struct{ Body Order }) (*body[Plan], error) {
		p, err := s.control.Prepare(ctx, in.Body)
		if err != nil {
			return nil, refused(err)
		}
		return answer(*p, nil)
	})
	huma.Register(api, op("start", http.MethodPost, "/api/start", "Start what a plan has shown: light moves", operate), func(ctx context.Context, in *struct {
		Body struct {
			Plan  string `json:"plan" maxLength:"64" doc:"the id of the plan"`
			Clear bool   `json:"clear" doc:"people are warned and the stage is clear; without it nothing starts"`
		}
	}) (*body[done], error) {
		if !in.Body.Clear {
			return nil, huma.Error422UnprocessableEntity("say first that people are warned and the stage is clear; no light was moved")
		}
		return answer(done{}, s.control.Start(in.Body.Plan, personOf(ctx).Name))
	})
	s.action(api, "hold", "Keep the fixtures as they are, begin nothing new", operate, s.control.Hold)
	s.action(api, "go-on", "Go on after a hold", operate, s.control.GoOn)
	s.action(api, "skip", "Leave the fixture that is worked at", operate, s.control.Skip)
	s.action(api, "leave", "Leave the fixtures as they stand, at once", operate, func(_ context.Context, who string) error { return s.control.Leave(who) })
	// Whoever sees that something goes wrong may stop it.
	s.action(api, "stop", "End the run gently: the fixtures are handed back", lookOn, func(_ context.Context, who string) error { return s.control.Stop(who) })
	s.action(api, "here", "The person is still at the page", lookOn, func(context.Context, string) error { return nil })
	huma.Register(api, op("answer", http.MethodPost, "/api/answer", "Answer a question to the person at the fixture", operate), func(_ context.Context, in *struct {
		Body struct {
			Question uint64 `json:"question"`
			Text     string `json:"text" maxLength:"80" doc:"a reading, undo, skip; empty: yes, or it is set"`
		}
	}) (*body[done], error) {
		if err := s.control.Answer(in.Body.Question, in.Body.Text); err != nil {
			return nil, huma.Error409Conflict(err.Error())
		}
		return answer(done{}, nil)
	})
	huma.Register(api, op("take-over", http.MethodPost, "/api/take-over", "Operate; all see who did before", lookOn), func(ctx context.Context, _ *struct{}) (*body[done], error) {
		s.people.take(personOf(ctx))
		return answer(done{}, nil)
	})
	huma.Register(api, op("hand-over", http.MethodPost, "/api/hand-over", "Let another page operate, or none", lookOn), func(ctx context.Context, in *struct {
		Body struct {
			To string `json:"to" maxLength:"32" doc:"id of a page; empty: none"`
		}
	}) (*body[done], error) {
		return answer(done{}, s.people.handOver(personOf(ctx), in.Body.To))
	})
}

// action registers something that needs no more than to be asked for.
func (s *Server) action(api huma.API, name, summary string, who role, do func(context.Context, string) error) {
	huma.Register(api, op(name, http.MethodPost, "/api/"+name, summary, who), func(ctx context.Context, _ *struct{}) (*body[done], error) {
		return answer(done{}, do(ctx, personOf(ctx).Name))
	})
}

// Invitation lets one more page in.
type Invitation struct {
	Address string `json:"address" doc:"with the key, after the #, where it goes to no server's log"`
	QR      string `json:"qr" doc:"the address as a QR code: an SVG path of 1 by 1 squares"`
	Size    int    `json:"size" doc:"of the code, in squares"`
	Minutes int    `json:"minutes" doc:"for which the key is good; it is good once"`
}

// Invite makes an invitation. Where no key is needed its address has none.
func (s *Server) Invite() (Invitation, error) {
	u := url.URL{Scheme: "http", Host: s.hostForPhones(), Path: "/"}
	if s.cfg.TLS != nil {
		u.Scheme = "https"
	}
	if !s.open {
		u.Fragment = "key=" + s.people.newKey()
	}
	code, err := codeOf(u.String())
	if err != nil {
		return Invitation{}, fmt.Errorf("QR code: %w", err)
	}
	return Invitation{Address: u.String(), QR: code.path(), Size: code.size, Minutes: int(keyLife.Minutes())}, nil
}
