package main

import (
	"io"

	"trueup/cmd/trueup/page"
	"trueup/loop/session"
)

// pageBeside shows a run of the terminal on the page as well: the same entries, and the same run to hold, skip and stop. over
// is told what came of it, and closes the page.
func pageBeside(out io.Writer, sig *signals, set *settings, j *session.Job, open func(session.Job) (*session.Run, error)) (shown func(session.Job) (*session.Run, error), over func(*session.Result, error), err error) {
	board := page.NewBoard(j.Rig.Name, epoch(), plainWords())
	control := page.NewControl(sig.ctx, board, nil)
	p, err := openPage(sig.ctx, out, set, j.Rig.Name, pageFlags{}, board, control, nil)
	if err != nil {
		return nil, nil, err
	}
	hears := j.Listen
	j.Listen = func(e session.Entry) {
		board.Entry(e)
		if hears != nil {
			hears(e)
		}
	}
	ended := func(*session.Result, error) {}
	shown = func(j session.Job) (*session.Run, error) {
		run, err := open(j)
		if err == nil {
			ended = control.Adopt(run, j, sig.cancel)
		}
		return run, err
	}
	return shown, func(res *session.Result, err error) {
		ended(res, err)
		p.close()
	}, nil
}
