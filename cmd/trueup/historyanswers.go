package main

import (
	"context"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/history"
)

// historyAnswers answers what a person asks: from the server of the settings, which knows the runs of the other machines too; without one, or where it
// is away, from the index of this machine.
type historyAnswers struct {
	index  *history.Index
	server *history.Server // nil: it is not asked
	away   func(error)
}

// sharedHistory sends the server what it does not have, before it is asked.
func sharedHistory(c *cobra.Command, set *settings, x *history.Index) *historyAnswers {
	a := &historyAnswers{index: x, away: func(err error) { _ = shareWith(c.Context(), x, set, nil, err, c.ErrOrStderr()) }}
	ctx, cancel := context.WithTimeout(c.Context(), askedSharePatience)
	defer cancel()
	s, err := historyServer(ctx, set)
	if s != nil || err != nil {
		a.server = s
		if err := shareWith(ctx, x, set, s, err, c.ErrOrStderr()); err != nil && s != nil && history.Away(err) {
			a.close()
			a.server = nil // it was said once, and asking it again would wait again
		}
	}
	return a
}

func (a *historyAnswers) close() {
	if a.server != nil {
		a.server.Close()
	}
}

// Names lists the rigs and the units that are known.
func (a *historyAnswers) Names(ctx context.Context) ([]string, error) {
	return answer(ctx, a, (*history.Server).Names, (*history.Index).Names)
}

// Of lists what became of the lamps of a rig or of one unit.
func (a *historyAnswers) Of(ctx context.Context, name string) ([]history.Lamp, error) {
	return answer(ctx, a, func(s *history.Server, ctx context.Context) ([]history.Lamp, error) { return s.Of(ctx, name) },
		func(x *history.Index, ctx context.Context) ([]history.Lamp, error) { return x.Of(ctx, name) })
}

func answer[T any](ctx context.Context, a *historyAnswers, there func(*history.Server, context.Context) (T, error), here func(*history.Index, context.Context) (T, error)) (T, error) {
	if a.server != nil {
		within, cancel := context.WithTimeout(ctx, sharePatience)
		defer cancel()
		got, err := there(a.server, within)
		if err == nil {
			return got, nil
		}
		a.away(err)
		a.close()
		a.server = nil
	}
	return here(a.index, ctx)
}
