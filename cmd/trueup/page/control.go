package page

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"

	"trueup/cmd/trueup/report"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/profiles/oserror"
)

// Order is what a person asks for.
type Order struct {
	Work      string `json:"work" enum:"survey,match,verify,points,by hand,recall,resume" doc:"what is to be done"`
	Run       string `json:"run,omitempty" maxLength:"200" doc:"verify, points, recall and resume: name of the earlier run; empty: the newest that fits"`
	Reference string `json:"reference,omitempty" maxLength:"200" doc:"name of the fixture that all are matched to; empty: as the rig file says"`
	Color     string `json:"color,omitempty" maxLength:"200" doc:"colour that all are matched to, such as 4300 K duv -0.002; empty: as the rig file says"`
	// BestCommon asks, in a match, for the colour nearest to Color, or else to what the rig file says, that the most fixtures reach.
	BestCommon bool     `json:"best_common,omitempty" doc:"match: the colour nearest to color, or to what the rig file says, that all fixtures reach, or the most"`
	Only       []string `json:"only,omitempty" maxItems:"4000" doc:"names of the fixtures to work at; empty: all"`
	Points     string   `json:"points,omitempty" maxLength:"4000" doc:"points: which of the lit surface are read: a number, a grid such as 4x3, or names with commas"`
	Probe      string   `json:"probe,omitempty" maxLength:"200" doc:"points: which probe is taken from point to point; empty: the only one"`
	WarmUp     int      `json:"warm_up_s,omitempty" minimum:"0" maximum:"3600" doc:"seconds for which all fixtures are lit before the first is read"`
	Watch      int      `json:"watch_s,omitempty" minimum:"0" maximum:"120" doc:"match: seconds after it was lit at which a fixture is read again, the first of each type; 0: one to three of each type where that takes little of the run, and those known to change their colour"`
	WatchNone  bool     `json:"watch_none,omitempty" doc:"match: none is read again but those known to change their colour; without watch_s"`
	AsFound    bool     `json:"as_found,omitempty" doc:"match: every fixture is read as found, also where fixtures of its type have been matched before"`
}

// Plan is what an order would drive, within which limits: it is shown before anything is asked to move.
type Plan struct {
	ID         string   `json:"id" doc:"to start exactly this; it is good for ten minutes and once"`
	Work       string   `json:"work"`
	Rig        string   `json:"rig"`
	File       string   `json:"file"`
	Output     string   `json:"output" doc:"how levels go out"`
	Target     string   `json:"target"`
	Tolerance  float64  `json:"tolerance_uv"`
	Level      float64  `json:"level_fraction" doc:"of full light"`
	Drives     []Drive  `json:"drives"`
	Limits     []string `json:"limits"`
	Loud       string   `json:"loud,omitempty" doc:"what should not be overlooked"`
	Notes      []string `json:"notes,omitempty"`
	Cautions   string   `json:"cautions" doc:"in full"`
	MovesLight bool     `json:"moves_light"`
}

// Drive is one head that a plan drives, or says that it does not.
type Drive struct {
	Name       string  `json:"name"`
	Slots      string  `json:"slots" doc:"as the trade writes them, 1/101-108; empty: not driven"`
	Profile    string  `json:"profile"`
	Mode       string  `json:"mode"`
	Parameters int     `json:"parameters"`
	Cap        float64 `json:"level_cap" doc:"fraction of full light"`
}

// Prepared is an order, ready to be opened.
type Prepared struct {
	Plan Plan
	Job  session.Job
	// Undo: a typed value can be taken back.
	Undo bool
	Open func(context.Context, session.Job) (*session.Run, error)
	// After keeps what the run leaves for others; nil for nothing.
	After func(*session.Run) error
}

// Control arms, starts, holds and stops runs, one at a time, as the commands do. Its methods may be called
// from any goroutine.
type Control struct {
	board   *Board
	prepare func(context.Context, Order) (*Prepared, error)
	ask     *questions
	counts  counts
	base    context.Context
	all     sync.WaitGroup

	mu      sync.Mutex
	pending map[string]waiting
	running bool
	run     *session.Run
	stop    context.CancelCauseFunc
	left    bool
	foreign bool // the run is a terminal's
}

type waiting struct {
	*Prepared
	until time.Time
}

const (
	planLife = 10 * time.Minute
	maxPlans = 16
)

// What a request can be refused for.
var (
	ErrBusy    = errors.New("a run is at work: stop it first")
	ErrNoRun   = errors.New("no run is at work")
	ErrNoPlan  = errors.New("this plan is too old, or was started already: look at it again")
	ErrLeaving = errors.New("the program is ending: no run is begun any more")
	ErrForeign = errors.New("this page belongs to a run that was started in a terminal: start others there, or with trueup serve")
)

// NewControl makes a control that begins nothing by itself. Runs end gently when ctx does. prepare is nil where
// a page only shows a run of the terminal.
func NewControl(ctx context.Context, b *Board, prepare func(context.Context, Order) (*Prepared, error)) *Control {
	return &Control{board: b, prepare: prepare, ask: newQuestions(b), base: ctx, pending: map[string]waiting{}}
}

// Prepare says what an order would do. Nothing is moved.
func (c *Control) Prepare(ctx context.Context, o Order) (*Plan, error) {
	if c.prepare == nil {
		return nil, ErrForeign
	}
	if c.board.Phase().Runs() {
		return nil, ErrBusy
	}
	p, err := c.prepare(ctx, o)
	if err != nil {
		return nil, err
	}
	p.Plan.ID = token()
	c.mu.Lock()
	defer c.mu.Unlock()
	now := time.Now()
	for id, w := range c.pending {
		if now.After(w.until) || len(c.pending) >= maxPlans {
			delete(c.pending, id)
		}
	}
	c.pending[p.Plan.ID] = waiting{p, now.Add(planLife)}
	return &p.Plan, nil
}

// Start begins what was prepared. who is said in the log.
func (c *Control) Start(id, who string) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case c.base.Err() != nil:
		return ErrLeaving
	case c.running:
		return ErrBusy
	}
	w, ok := c.pending[id]
	if !ok || time.Now().After(w.until) {
		return ErrNoPlan
	}
	clear(c.pending)
	ctx, stop := context.WithCancelCause(c.base)
	c.running, c.stop, c.left, c.run = true, stop, false, nil
	c.board.Top(func(t *Top) {
		t.Phase, t.Work, t.Run, t.Fault, t.Lead, t.Spread, t.Stage, t.Paused = Arming, w.Plan.Work, "", "", "", "", "", ""
		t.Target, t.Tolerance, t.Began, t.Ended, t.Left = w.Plan.Target, w.Plan.Tolerance, time.Now(), time.Time{}, 0
		t.Reference, t.Done, t.Of, t.Readings, t.Unwatched, t.Health = nil, 0, 0, 0, "", []Health{} // of the run before
	})
	c.board.Say(fmt.Sprintf("%s starts: %s", who, w.Plan.Work), false)
	c.all.Go(func() {
		defer stop(nil)
		c.work(ctx, w.Prepared)
	})
	return nil
}

func (c *Control) work(ctx context.Context, p *Prepared) {
	j := p.Job
	heard := j.Listen
	surface := pointsOf{c: c}
	j.Listen = func(e session.Entry) {
		surface.entry(ctx, &e)
		c.board.Entry(e)
		c.counts.entry(e)
		if heard != nil {
			heard(e)
		}
	}
	j.Say = func(text string) { c.board.Say(text, false) }
	j.Feeds.Ask, j.Feeds.Undo, j.Feeds.Skip, j.Dial = c.ask.read(p.Undo), p.Undo, true, c.ask.dial
	run, err := p.Open(ctx, j)
	var res *session.Result
	if err == nil {
		for _, e := range run.Before() {
			c.board.Entry(e)
		}
		res, err = c.workAt(ctx, run, j.Work)
		if p.After != nil {
			err = errors.Join(err, p.After(run))
		}
	}
	c.ended(j, res, err)
}

func (c *Control) workAt(ctx context.Context, run *session.Run, work core.Work) (*session.Result, error) {
	c.mu.Lock()
	c.run = run
	if c.left {
		run.Leave()
	}
	c.mu.Unlock()
	c.board.Top(func(t *Top) {
		t.Run = runName(run.Dir())
		if t.Phase == Arming {
			t.Phase = Working
		}
		t.Work = string(work)
	})
	during, over := context.WithCancel(ctx)
	defer over()
	go c.watchHealth(during, run)
	return run.Work(ctx)
}

// ended says what came of a run.
func (c *Control) ended(j session.Job, res *session.Result, err error) {
	c.mu.Lock()
	left := c.left
	c.running, c.run, c.stop = false, nil, nil
	c.mu.Unlock()
	fault := ""
	if err != nil {
		fault = oserror.Text(err)
		c.board.Say(fault, true)
	}
	c.board.Top(func(t *Top) {
		t.Phase, t.Ended, t.Left, t.At, t.Paused, t.Fault = Over, time.Now(), 0, []int{}, "", fault
		t.Health = []Health{} // nobody looks any more
		if res != nil {
			t.Stage = StageNow(j, left, err)
		}
		if res != nil && res.Summary != nil && j.Work != core.Recall {
			var b strings.Builder
			report.WriteSpread(&b, res.Summary)
			t.Lead, t.Spread = report.Lead(res.Summary), strings.TrimSpace(b.String())
		}
	})
}

// Wait returns when no run is at work any more.
func (c *Control) Wait() { c.all.Wait() }

// during calls what with the run that is at work.
func (c *Control) during(what func(*session.Run)) error {
	c.mu.Lock()
	run := c.run
	c.mu.Unlock()
	if run == nil {
		return ErrNoRun
	}
	what(run)
	return nil
}

// controlTime bounds the wait for a run that has no time for a person.
const controlTime = 5 * time.Second

// Hold keeps the lamps as they are and begins nothing new.
func (c *Control) Hold(ctx context.Context, who string) error {
	return c.tell(ctx, who+" holds the run", (*session.Run).Hold)
}

// GoOn ends Hold.
func (c *Control) GoOn(ctx context.Context, who string) error {
	return c.tell(ctx, who+" lets the run go on", (*session.Run).GoOn)
}

// Skip leaves the fixture that is worked at. Where there is none, that is an error.
func (c *Control) Skip(ctx context.Context, who string) error {
	left := ""
	if err := c.during(func(r *session.Run) {
		ctx, end := context.WithTimeout(ctx, controlTime)
		defer end()
		left = r.Skip(ctx)
	}); err != nil {
		return err
	}
	if left == "" {
		return errNothingToSkip
	}
	c.board.Say(who+" skips "+left, false)
	return nil
}

// errNothingToSkip answers a skip that left no fixture.
var errNothingToSkip = errors.New(SkippedWords(""))

// SkippedWords says what came of a skip, by the name of the fixture that was left; "" for none.
func SkippedWords(left string) string {
	if left == "" {
		return "nothing was skipped: no fixture is worked at just now"
	}
	return left + ": skipped"
}

func (c *Control) tell(ctx context.Context, text string, how func(*session.Run, context.Context)) error {
	return c.during(func(r *session.Run) {
		c.board.Say(text, false)
		ctx, end := context.WithTimeout(ctx, controlTime)
		defer end()
		how(r, ctx)
	})
}

// byWhom begins the reason of a run that somebody at a page stopped.
const byWhom = "by "

// Stop ends the run gently: the lamps are handed back. It is also good while a run is armed.
func (c *Control) Stop(who string) error {
	c.mu.Lock()
	defer c.mu.Unlock() // a run that ends meanwhile says so afterwards, and the page does not stay at its end
	if c.stop == nil {
		return ErrNoRun
	}
	c.board.Say(who+" stops the run", true)
	c.board.Top(func(t *Top) { t.Phase = Ending })
	c.stop(errors.New(byWhom + who))
	return nil
}

// Leave does not wait for the hand-over: the lamps stay as they are at once.
func (c *Control) Leave(who string) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if !c.running || c.foreign {
		return ErrNoRun
	}
	if c.left {
		return nil
	}
	c.left = true
	c.board.Say(who+" leaves the fixtures as they stand", true)
	if c.run != nil {
		c.run.Leave()
	}
	c.stop(fmt.Errorf(byWhom+"%s, who left the fixtures as they stood", who))
	return nil
}

// Answer answers a question; an empty text says yes to what was understood, or that a lamp is set.
func (c *Control) Answer(id uint64, text string) error { return c.ask.answer(id, text) }

// Adopt shows a run that was started elsewhere, and lets pages hold, skip and stop it. The returned function
// is called with what came of it.
func (c *Control) Adopt(run *session.Run, j session.Job, stop context.CancelCauseFunc) (over func(*session.Result, error)) {
	c.mu.Lock()
	c.running, c.run, c.stop, c.foreign = true, run, stop, true
	c.mu.Unlock()
	c.board.Top(func(t *Top) { t.Phase, t.Run, t.Work = Working, runName(run.Dir()), string(j.Work) })
	ctx, end := context.WithCancel(c.base)
	go c.watchHealth(ctx, run)
	return func(res *session.Result, err error) {
		end()
		c.ended(j, res, err)
	}
}
