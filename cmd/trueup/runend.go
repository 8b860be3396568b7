package main

import (
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"trueup/cmd/trueup/page"
	"trueup/loop/session"
	"trueup/loop/session/core"
)

// stopped tells whether a person or a signal ended what was asked for.
func stopped(err error) bool { return errors.Is(err, session.ErrStopped) || errors.Is(err, errStopped) }

// armedRun arms a run over the network by open, shows it while it works, and stops it on
// a signal.
func armedRun(c *cobra.Command, sig *signals, set *settings, j session.Job, open func(session.Job) (*session.Run, error)) (*session.Run, *session.Result, error) {
	out := c.OutOrStdout()
	show := newProgress(out)
	var keys *terminal
	if session.ReadByHand(j.Rig) {
		j.Feeds.Ask, j.Feeds.Skip = newTerminal(c.InOrStdin(), out).ask, true
		show.paint = nil // questions need the screen
	} else {
		keys = keyboard(c.InOrStdin(), show.above())
	}
	told, err := openSiteOf(sig.ctx, set, j.Rig.Name, j.Log)
	if err != nil {
		return nil, nil, err
	}
	defer told.close()
	hears := j.Listen
	j.Listen = func(e session.Entry) {
		told.entry(e)
		if (e.Kind == core.KindPause || e.Kind == core.KindPoint) && show.inPlace() {
			show.call(e.Note)
		}
		show.Entry(e)
		if hears != nil {
			hears(e)
		}
	}
	j.Say = func(text string) { fmt.Fprintln(show.above(), text) }
	if j.WriteUp == nil && j.Work != core.Recall {
		j.WriteUp = writeUp
	}
	run, err := open(j)
	if err != nil {
		return nil, nil, sig.cause(err)
	}
	sig.saysOn(show.above())
	sig.armed(run)
	show.earlier(run.Before())
	stop := keys.obey(run, show.above())
	defer stop()
	told.phase(page.Working, nil)
	still := show.keepUp()
	res, err := run.Work(sig.ctx)
	still()
	show.close(j.Rig.Safety.Limits, time.Now())
	told.phase(page.Over, err)
	return run, res, err
}

// endOfRun shows what came of a run by show, what the stage shows now, and how to go on; it gives
// the exit code.
func endOfRun(w io.Writer, sig *signals, j session.Job, res *session.Result, err error, show func() error) error {
	if res != nil && res.Summary != nil {
		err = errors.Join(err, show())
		sayStage(w, j, res, sig.left(), err)
	}
	switch {
	case stopped(err):
		return &exitError{exitStopped, err}
	case err != nil:
		return err
	case j.Work != core.Survey && !allLanded(res.Summary):
		return &exitError{exitNotAll, nil}
	}
	return nil
}

// sayStage says what the stage shows after a run, how to get the look back, and how to go
// on with what is not done.
func sayStage(w io.Writer, j session.Job, res *session.Result, left bool, err error) {
	fmt.Fprintln(w, page.StageNow(j, left, err))
	if s := res.Summary; s.Info.Work != string(core.Survey) && !left && anySetting(s) {
		fmt.Fprintf(w, "to see the matched look: trueup recall %s%s\n", typed(res.Dir), stageWords(j.Rig))
	}
	if !res.Summary.Complete {
		fmt.Fprintf(w, "to go on where it broke off: trueup resume %s%s\n", typed(res.Dir), stageWords(j.Rig))
	}
}

func anySetting(s *session.Summary) bool {
	for _, f := range s.Fixtures {
		if wasRead(&f) {
			return true
		}
	}
	return false
}
