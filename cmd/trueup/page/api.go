package page

import (
	"context"
	"errors"
	"io"
	"log"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
	"github.com/rs/zerolog"

	"trueup/profiles/oserror"
	"trueup/profiles/yamlfile"
)

// role is what somebody must be to ask for an operation.
type role string

const (
	anybody role = "anybody"  // also without a cookie
	lookOn  role = "look on"  // let in
	operate role = "operates" // and operates, or is the first to
)

const roleKey = "role"

type personKey struct{}

// personOf is who asks; the zero Person before the way in.
func personOf(ctx context.Context) Person {
	p, _ := ctx.Value(personKey{}).(Person)
	return p
}

func (s *Server) registerAPI(mux *http.ServeMux) {
	cfg := huma.DefaultConfig("trueup page", s.cfg.Program)
	cfg.DocsPath, cfg.SchemasPath, cfg.CreateHooks = "", "", nil // a page of documentation would load from outside
	cfg.OpenAPIPath = "/api/openapi"
	cfg.Info.Description = "What the page of a rig asks for and is told. Every action goes through the same run and governor as the commands."
	cfg.Components.SecuritySchemes = map[string]*huma.SecurityScheme{"cookie": {Type: "apiKey", In: "cookie", Name: cookieName}}
	api := humago.New(mux, cfg)
	api.UseMiddleware(s.letIn(api))
	s.registerLooks(api)
	s.registerActions(api)
	s.registerFiles(api)
	s.registerEvents(api)
}

// letIn lets nobody past whom the operation is not for.
func (s *Server) letIn(api huma.API) func(huma.Context, func(huma.Context)) {
	return func(c huma.Context, next func(huma.Context)) {
		want, _ := c.Operation().Metadata[roleKey].(role)
		if want == anybody {
			next(c)
			return
		}
		r, _ := humago.Unwrap(c)
		who, ok := s.people.who(r)
		if !ok {
			huma.WriteErr(api, c, http.StatusUnauthorized, "this page is not paired: open the address with the key that the program shows")
			return
		}
		s.people.here(who, 0)
		if want == operate {
			if err := s.people.operates(who); err != nil {
				huma.WriteErr(api, c, http.StatusForbidden, err.Error())
				return
			}
		}
		next(huma.WithValue(c, personKey{}, who))
	}
}

// op describes an operation.
func op(id, method, path, summary string, who role) huma.Operation {
	o := huma.Operation{OperationID: id, Method: method, Path: path, Summary: summary, MaxBodyBytes: maxBody, BodyReadTimeout: readTime,
		Metadata: map[string]any{roleKey: who}, Errors: []int{http.StatusUnprocessableEntity, http.StatusTooManyRequests}}
	if who != anybody {
		o.Security = []map[string][]string{{"cookie": {}}}
		o.Errors = append(o.Errors, http.StatusUnauthorized)
	}
	if who == operate {
		o.Errors = append(o.Errors, http.StatusForbidden)
	}
	if method == http.MethodPost {
		o.Errors = append(o.Errors, http.StatusConflict)
	}
	return o
}

// refused turns an error into an answer.
func refused(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, ErrBusy), errors.Is(err, ErrNoRun), errors.Is(err, errNothingToSkip), errors.Is(err, ErrNoPlan), errors.Is(err, ErrLeaving), errors.Is(err, ErrChecking), errors.Is(err, ErrForeign):
		return huma.Error409Conflict(err.Error())
	case errors.Is(err, ErrLookOn):
		return huma.Error403Forbidden(err.Error())
	}
	var located yamlfile.Errors
	if errors.As(err, &located) {
		return huma.Error422UnprocessableEntity(located.Report())
	}
	return huma.Error422UnprocessableEntity(oserror.Text(err))
}

// body wraps what an operation answers.
type body[T any] struct{ Body T }

func answer[T any](v T, err error) (*body[T], error) {
	if err != nil {
		return nil, refused(err)
	}
	return &body[T]{v}, nil
}

// quiet is where net/http says what clients do wrong.
func quiet(l zerolog.Logger) *log.Logger { return log.New(debugWriter{l}, "", 0) }

type debugWriter struct{ log zerolog.Logger }

func (w debugWriter) Write(p []byte) (int, error) {
	w.log.Debug().Bytes("http", p).Msg("page")
	return len(p), nil
}

var _ io.Writer = debugWriter{}
