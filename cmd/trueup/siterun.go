package main

import (
	"context"
	"fmt"
	"os"
	"strings"

	"github.com/rs/zerolog"

	"trueup/cmd/trueup/page"
	"trueup/cmd/trueup/site"
	"trueup/loop/feed"
	"trueup/loop/session"
)

// siteOfRun tells the broker of the settings how a run goes. All its methods do nothing on nil, which is
// what there is without a broker.
type siteOfRun struct {
	site  *site.Site
	board *page.Board
	own   bool // the board is nobody else's
}

// openSite opens this machine's place on the broker of the settings, for what a board shows; nil without a
// broker. It does not wait for the broker.
func openSite(ctx context.Context, set *settings, b *page.Board, log zerolog.Logger) (*siteOfRun, error) {
	if set.Broker == "" {
		return nil, nil
	}
	secrets, err := readSecrets()
	if err != nil {
		return nil, err
	}
	var s feed.Secret
	if secrets != nil {
		s = secrets.Site.secret()
	}
	broker, err := feed.NewBroker(set.Broker, s)
	if err != nil {
		return nil, &exitError{exitUsage, fmt.Errorf("site_broker: %w", err)}
	}
	name := set.Machine
	if name == "" {
		if name, err = os.Hostname(); err != nil {
			return nil, &exitError{exitUsage, fmt.Errorf("site_machine: this machine has no host name (%w): give it one", err)}
		}
		name = strings.NewReplacer("/", "-", "+", "-", "#", "-", "$", "-").Replace(name)
	}
	st, err := site.Open(ctx, site.Config{Broker: broker, Machine: name, Log: log})
	if err != nil {
		return nil, &exitError{exitUsage, err}
	}
	st.Show(b)
	return &siteOfRun{site: st, board: b}, nil
}

// openSiteOf does the same for a run of the terminal, on a board of its own.
func openSiteOf(ctx context.Context, set *settings, rigName string, log zerolog.Logger) (*siteOfRun, error) {
	if set.Broker == "" {
		return nil, nil
	}
	s, err := openSite(context.WithoutCancel(ctx), set, page.NewBoard(rigName, epoch(), plainWords()), log)
	if s != nil {
		s.own = true
	}
	return s, err
}

// entry takes in an entry of the run's journal. A board of a terminal's run folds it as well; that of a page
// gets it from its control.
func (s *siteOfRun) entry(e session.Entry) {
	if s == nil {
		return
	}
	if s.own {
		s.board.Entry(e)
	}
	s.site.Entry(e)
}

// phase says how far a terminal's run has come, and why it ended.
func (s *siteOfRun) phase(p page.Phase, why error) {
	if s == nil {
		return
	}
	s.board.Top(func(t *page.Top) {
		if t.Phase = p; why != nil {
			t.Fault = why.Error()
		}
	})
}

func (s *siteOfRun) close() {
	if s != nil {
		s.site.Close()
	}
}
