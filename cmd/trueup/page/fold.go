package page

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/loop/session"
	"trueup/loop/session/core"
)

const (
	logLines  = 400 // of the log that a page is sent
	pathSteps = 40  // of a fixture's path
)

// fold makes the state from the entries of a run, and notes what has changed. It is not safe for use by
// several goroutines.
type fold struct {
	state State
	index map[string]int
	words func(session.Entry) string // the plain line of an entry; "" has none

	taken []session.Readings // of each fixture

	far  session.Progress // how far the run is
	last lastEntry        // what Top is behind by
	ref  string           // the fixture that all are matched to; "" is none

	fresh bool         // pages must be sent the whole state
	top   bool         // Top has changed
	rows  map[int]bool // these have
	added int          // lines at the end of the log
}

// lastEntry is what [fold.catchUp] needs of the last entry.
type lastEntry struct {
	untold  bool // Top does not hold it yet
	time    time.Time
	fixture string
	read    bool // it has a reading
}

// changed tells whether there is something that the pages do not know; [fold.catchUp] comes before it.
func (f *fold) changed() bool { return f.fresh || f.top || len(f.rows) > 0 || f.added > 0 }

// settled forgets what had changed: it was told.
func (f *fold) settled() {
	f.fresh, f.top, f.rows, f.added = false, false, map[int]bool{}, 0
}

// change is what the pages do not know yet.
func (f *fold) change() Change {
	var c Change
	if f.top {
		c.Top = new(f.state.Top)
	}
	if len(f.rows) > 0 {
		c.Rows = make(map[string]Row, len(f.rows))
		for i := range f.rows {
			c.Rows[strconv.Itoa(i)] = f.state.Rows[i]
		}
	}
	c.Log = slices.Clone(f.state.Log[len(f.state.Log)-f.added:])
	return c
}

func (f *fold) say(at time.Time, text string, loud bool) {
	if text == "" {
		return
	}
	if len(f.state.Log) >= logLines {
		f.state.Log = slices.Delete(f.state.Log, 0, len(f.state.Log)-logLines+1)
	}
	f.state.Log = append(f.state.Log, Line{at, text, loud})
	f.added = min(f.added+1, len(f.state.Log))
}

// entry takes in one entry of the journal.
func (f *fold) entry(e session.Entry) {
	if e.Kind == core.KindRun && e.Run != nil {
		f.begin(e)
	}
	if f.words != nil {
		line := f.words(e)
		if at, _ := e.MeterAt(); at != "" { // a page does not type
			line = at
		}
		if e.Kind == core.KindStop && strings.HasPrefix(e.Note, byWhom) { // who stops it was said when it was pressed
			line = ""
		}
		if line == "" && e.Kind == core.KindUndo {
			line = e.Fixture + ": " + e.Note
		}
		f.say(e.Time, line, e.Kind == core.KindPause || e.Kind == core.KindConflict || e.Kind == core.KindStop)
	}
	t := &f.state.Top
	if e.Reading != nil && (e.Kind != core.KindBackground || e.Note == "") && (e.Kind != core.KindDrift) {
		t.Readings++
		f.top = true
	}
	f.whole(e)
	if i, ok := f.index[e.Fixture]; ok {
		f.fixture(i, e)
	}
	f.far.Take(&e)
	f.last = lastEntry{untold: true, time: e.Time, fixture: e.Fixture, read: e.Reading != nil}
}

// catchUp takes over into Top how far the run is. It is called when somebody is about to be told, not with every entry: where
// hundreds of fixtures are worked at side by side, as many are listed.
func (f *fold) catchUp() {
	if !f.last.untold {
		return
	}
	f.last.untold = false
	t := &f.state.Top
	at := make([]int, 0, len(f.far.At))
	for _, name := range slices.Backward(f.far.At) {
		at = append(at, f.index[name])
	}
	if i, ok := f.index[f.last.fixture]; ok && len(at) == 0 && f.isReference(i) && f.last.read {
		at = append(at, i)
	}
	left := 0
	if d, ok := f.far.Left(f.last.time); ok && t.Phase.Runs() {
		left = int(d.Seconds())
	}
	may := f.far.MaySkip() && t.Phase.Runs()
	if !slices.Equal(at, t.At) || t.MaySkip != may || t.Done != f.far.Done || t.Of != f.far.Of || t.Left != left || t.Paused != f.far.Wants {
		t.MaySkip = may
		t.At, t.Done, t.Of, t.Left, t.Paused, f.top = at, f.far.Done, f.far.Of, left, f.far.Wants, true
	}
}

// begin takes in what a run is about.
func (f *fold) begin(e session.Entry) {
	s := &f.state
	i := e.Run
	t := &s.Top
	t.Rig, t.Work, t.Target, t.Tolerance, t.Began, t.Ended = i.Rig, i.Work, i.Target, i.Tolerance, e.Time, time.Time{}
	f.ref, f.far = "", session.Progress{}
	if i.Core != nil {
		f.ref, t.Work = i.Core.Plan.Target.Reference, string(i.Core.Work)
	}
	t.MaySkip = false
	t.Reference, t.At, t.Done, t.Of, t.Readings, t.Left, t.Paused, t.Unwatched = nil, []int{}, 0, 0, 0, 0, "", ""
	f.index, f.taken = map[string]int{}, make([]session.Readings, len(i.Fixtures))
	s.Fixtures, s.Rows, s.Paths, s.Log = []Fixture{}, []Row{}, [][]Point{}, []Line{}
	for k, x := range i.Fixtures {
		f.index[x.Name] = k
		fx := Fixture{Name: x.Name, Profile: x.Profile, Mode: x.Mode, Address: x.Address, Desk: x.DeskChannel, Probe: x.Probe, Col: x.Col, Row: x.Row, ByHand: x.ByHand}
		state := "waiting"
		switch {
		case x.LeftOut:
			fx.Idle = "left out"
		case x.Fixed:
			fx.Idle = "not ours to change"
		case x.ByHand && i.Mode != string(core.ByHand):
			fx.Idle = "set by hand"
		}
		if fx.Idle != "" {
			state = fx.Idle
		}
		s.Fixtures = append(s.Fixtures, fx)
		s.Rows = append(s.Rows, Row{State: state})
		s.Paths = append(s.Paths, []Point{})
	}
	f.fresh, f.added = true, 0
}

// whole takes in what an entry says of the whole run.
func (f *fold) whole(e session.Entry) {
	t := &f.state.Top
	switch e.Kind {
	case core.KindReference:
		r := e.Reference
		t.Reference = &Reference{Name: r.Name, U: r.UV.U, V: r.UV.V, Sigma: r.SigmaUV, Words: whiteWords(r.UV)}
		t.Reference.Locus, t.Reference.Greener = waysAbout(r.UV)
	case core.KindHold:
		if t.Phase == Working || t.Phase == Holding {
			t.Phase = Holding
			if e.Note == "goes on" {
				t.Phase = Working
			}
		}
	case core.KindStop:
		t.Fault = e.Note
		t.Phase = Ending
	case core.KindResume:
		t.Fault = ""
	case core.KindEnd:
		t.Phase, t.Unwatched = Ending, e.Unwatched
	default:
		return
	}
	f.top = true
}

// fixture takes in what an entry says of one fixture.
func (f *fold) fixture(i int, e session.Entry) {
	r := &f.state.Rows[i]
	f.taken[i].Take(&e)
	switch e.Kind {
	case core.KindStep:
		r.State = "moving"
		if e.Step != nil {
			r.Settings = settingsText(e.Step.Settings)
		}
	case core.KindSent:
		r.State = "settling"
	case core.KindReading, core.KindFound:
		f.reading(i, r, e)
	case core.KindAside:
		r.Words = e.Note
	case core.KindAccount:
		r.Words = e.Account.Words
	case core.KindReference:
		r.State, r.Words = "the reference", e.Note
	case core.KindUndo:
		*r = Row{State: "begun anew", Words: e.Note}
	case core.KindOutcome, core.KindVerify:
		f.outcome(i, r, e)
	case core.KindClaim:
		verified := r.Verified
		f.outcome(i, r, e)
		if r.Verified = verified; verified {
			r.State += ", read again"
		}
	case core.KindResume:
		r.Result, r.State = "", "goes on"
	case core.KindPause:
		r.Words = e.Note
	default:
		return
	}
	r.Readings, r.Aside = f.taken[i].Count, f.taken[i].Aside
	f.rows[i] = true
}

func (f *fold) reading(i int, r *Row, e session.Entry) {
	m := e.Reading
	if m == nil {
		return
	}
	if r.Result == "" || r.Verified {
		r.State = "matching"
	}
	if e.Kind == core.KindFound {
		r.State = "as found"
		if t := f.state.Top; t.Work == string(core.Survey) {
			r.State = "read as found"
			if t.Reference != nil {
				r.Words = colorcalc.Describe(colorcalc.UV{U: t.Reference.U, V: t.Reference.V}.XY(), m.UV.XY())
			}
		}
	}
	if f.isReference(i) {
		r.State = "being read"
	} else if m.Delta != 0 { // else nothing is known yet that it could be held against
		r.Now = new(m.Delta)
		if e.Kind == core.KindFound {
			r.Found = new(m.Delta)
		}
	}
	r.SD, r.Lux = m.SigmaUV, m.Lux
	r.At = &Point{m.UV.U, m.UV.V}
	p := append(f.state.Paths[i], *r.At)
	if len(p) > pathSteps {
		p = slices.Delete(p, 0, len(p)-pathSteps)
	}
	f.state.Paths[i] = p
}

func (f *fold) outcome(i int, r *Row, e session.Entry) {
	o := e.Outcome
	r.Result, r.State, r.Verified, r.Advice = o.Result.String(), o.Result.String(), e.Kind == core.KindVerify, o.Advice
	if r.Verified {
		r.State += ", read again"
	}
	r.Words = o.Words
	if !o.Landed() && o.Reason != "" {
		r.Words = o.Reason
	}
	if o.Found != nil {
		r.Found, r.FoundComputed = new(o.Found.Delta), o.Found.Computed
	} else if r.FoundComputed {
		r.Found, r.FoundComputed = nil, false
	}
	r.Now, r.Unread = nil, r.Unread || o.Unread()
	if s := o.Final; s != nil {
		r.Now, r.SD, r.Lux, r.At = new(s.Delta), s.SD, s.Lux, &Point{s.UV.U, s.UV.V}
	}
}

func (f *fold) isReference(i int) bool {
	r, name := f.state.Top.Reference, f.state.Fixtures[i].Name
	return name == f.ref || r != nil && name == r.Name
}

// whiteWords says a chromaticity as a person does.
func whiteWords(uv colorcalc.UV) string {
	k, d, err := colorcalc.CCT(uv.XY())
	if err != nil {
		return fmt.Sprintf("u′ %.4f v′ %.4f", uv.U, uv.V)
	}
	return fmt.Sprintf("%.0f K, Duv %s", float64(k), d.Text())
}

// waysAbout gives the Planckian locus about a white, from warm to cool, and a point that is greener.
func waysAbout(uv colorcalc.UV) (locus []Point, greener *Point) {
	k, d, err := colorcalc.CCT(uv.XY())
	if err != nil {
		return nil, nil
	}
	const steps, step = 12, 6 // mired
	for i := -steps; i <= steps; i++ {
		m := float64(k.Mired()) - float64(i*step)
		if m <= 0 {
			continue
		}
		if p, err := colorcalc.White(colorcalc.Kelvin(1e6/m), 0); err == nil {
			locus = append(locus, Point{p.UV().U, p.UV().V})
		}
	}
	if p, err := colorcalc.White(k, d+0.005); err == nil {
		greener = &Point{p.UV().U, p.UV().V}
	}
	return locus, greener
}

func settingsText(all []session.Setting) string {
	var words []string
	for _, s := range all {
		words = append(words, strings.TrimSpace(fmt.Sprintf("%s %.5g %s", s.Name, s.Value, s.Unit)))
	}
	return strings.Join(words, ", ")
}
