package core

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/loop"
	"trueup/loop/scene"
	"trueup/loop/solve"
)

// Core is a run. It is not safe for concurrent use.
type Core struct {
	cfg   Config
	units []*unit

	now       time.Duration // of the last event
	begun     bool
	holding   bool    // a person said Hold
	main      lane    // what concerns all lamps, and every visit where there is one lane
	lanes     []*lane // one for each group of probes, and the last for the reference; none: main does all
	byProbe   map[string]*lane
	lane      *lane         // whose task is told something now
	halting   bool          // a lane needs dark or reference: all come to a stand
	gate      []*lane       // that wait to light another lamp, in the order in which they came
	opened    time.Duration // when lamps were last exchanged; negative: never
	spill     spill
	spillRead map[string]time.Duration // when the survey read a probe last
	asks      uint64
	besides   uint64 // asks for readings of dark probes beside lamps of others
	strayed   bool   // lamps throw too much light on other probes for that
	do        Do     // being collected by Step

	ref          *Reference
	refAt        time.Duration // when the reference was first read
	refLux       float64       // its level by its last passage; 0: not known
	refBefore    *refKnown     // what was known of the reference before its last passage; nil: nothing was
	refBackAt    int           // readings of lamps when one was taken back last; -1: none was
	doubtedRef   bool          // its last passage may have been beside another background than was taken off
	meters       meters
	moving       *scene.Reference           // where the reference is, in time; nil for a named colour
	looked       int                        // readings of fixtures so far
	followed     int                        // looked at the last passage of the reference; -1 at the first
	following    time.Duration              // what that passage took
	watchFirst   int                        // so many units of each type are watched, though nobody asked for it
	background   map[string]*dark           // by probe; missing: none was measured
	deadTimes    map[string]time.Duration   // by Unit.SettleKey
	answers      map[string]*answer         // by Unit.SettleKey
	lags         map[string]*lagging        // by Unit.SettleKey
	audited      map[string]bool            // by Unit.SettleKey: a large step was looked at
	measuredDead map[string][]time.Duration // by type and feed, all that were measured in this run, the shortest first
	disputed     map[string]bool            // dead times that are measured again before they are believed
	unproven     map[string]bool            // dead times of earlier runs that no unit has been read by yet
	ownLeaps     []ownLeap                  // levels that leapt while the dark stayed as it was
	lost         []float64                  // doubts that the background gave to lamps that were read in vain, for each axis of u'v'
	saidLost     bool                       // that it did so was said
	sway         sway                       // of the reference, to and fro
	fleeting     map[string]bool            // dead times that hold for this run alone, or not even for that
	colouring    []*unit                    // on their way to their first colour in the dark, waited for by nobody
	presetDone   bool                       // dark units have been set to their first colour
	spending     *spending                  // of a wish by spectra; nil: there is none
	types        map[string]*steadiness     // of lamps, by Unit.Type
	paces        map[string]*meterPace      // of meters, by probe
	commonLux    float64                    // level all units are brought to at the end; 0: each keeps its own
}

// unit is a Unit and what the run has learnt of it.
type unit struct {
	*Unit
	settle       time.Duration
	least        time.Duration // of it, as a large step, or two readings of one setting, have shown; 0: none have
	untold       bool          // as found it gave no light, or none that its meter can tell
	weakAt       time.Duration // the arrival after which it was last read too weak to be seen
	prior        *solve.Prior
	past         *solve.Past // of the visits that prior is from
	found        *Stand
	unread       solve.Drive // its setting as found, where it was not read there; nil: it was, or is to be
	before       *Step
	outcome      *Outcome
	claim        *claim // of a landed unit, to be looked at again
	final        solve.Drive
	at           loop.Arrival  // where it stands; Sent nil: not moved yet
	adrift       bool          // it was left on its way: at is not where it stands
	presetting   bool          // on its way to another colour, dark
	litAt        time.Duration // when the setting that lit it had arrived; 0: it is dark, or was lit before the run
	slower       slower        // than its type, as far as it was seen to be
	rise         rise          // of its level, where it stands
	outAt        time.Duration // when the setting that put it out had arrived; below 0: before the run; 0: it was not put out yet
	tried        bool          // all its codes, and those beside, go down in the dark since its probe was read last there
	lookedAside  bool          // at a setting that may show a wrong address
	follows      int           // times in a row that the dark there had jumped after its colour was set
	inTheDark    solve.Drive   // its codes when its probe was read last in the dark; nil: they are not known
	glows        string        // with its dimmer at nothing, in words; "": that was not seen
	bright       bool          // lit, on its way up, or not dark yet
	own          colorcalc.XYZ // its light at its probe, as it was read last or as the survey of spill has it; zero: not known
	former       former        // what was known of its light before its last reading
	surveyed     float64       // its share of what the survey read at its probe with its lamps at a part of their light; 0: they were not, or it has been read since
	stood        solve.Drive   // where its visit last set it
	wished       solve.Drive   // where it was sent last
	unreadAhead  bool          // where the last visit left it, final, nobody has read it yet
	ahead        solve.Drive   // where its next visit lights it: its colour is set while it goes dark; nil: as it stands
	read         time.Duration // end of the last reading there
	watched      bool          // it was read long after it was lit
	watching     bool          // it is to be in the visit that goes on
	awaited      bool          // the reading that has come was waited for, for that
	moves        float64       // u'v' by which it changed its colour by itself then; 0: it did not
	looks        int           // readings of it so far
	tally        tally
	repeats      repeats       // since it stands
	fading       fading        // how it was lit last
	shown        bool          // its own light was seen
	faint        float64       // lux of a reading that may have been of another's
	faintAt      time.Duration // the arrival before it
	large        time.Duration // when a visit last wished for a large step of it
	early        bool          // the last reading began before all light stood
	lnSD         float64       // of the level of the last reading, ln
	levelRead    levelRead     // as it was read last
	beam         beam          // that somebody may stand in
	unseen       *unseen       // it was held since it gave no light
	again        bool          // it is to be visited again: it was held against a dark that was stale
	visitedAgain bool          // it was, for that
	darkLooks    int           // at the dark since it seemed to give no light
	seenBefore   bool          // the run that is verified saw it give light
	begun        time.Duration // when the visits to it began of which nothing is believed yet
	crossed      int           // times that the background has jumped in the course of them
	begunAnew    int           // of those: that they were begun anew, or hardly better off than the time before
	outrun       string        // that light is switched too often to read it, in words; "": it is not
	given        []given       // readings that the match of the visit that goes on was given
	wereSure     int           // of those, when a light beside its probe came or went last
	leap         leap          // its level was not foretold, and the dark was not read since
	vain         int           // looks at the dark that its level asked for and that explained nothing
	mostVain     float64       // the largest leap of it among them, ln
}

// tally counts what a unit has cost.
type tally struct {
	readings, steps int
	kept            int // of the readings: those that the estimate was given
	visited         bool
	began           time.Duration
	last            *Stand
}

// New makes a core that waits for Begin. Errors name what in the Config can not
// be worked with.
func New(cfg Config) (*Core, error) {
	if err := cfg.check(); err != nil {
		return nil, fmt.Errorf("run: %w", err)
	}
	c := &Core{cfg: cfg, followed: -1, opened: -exchange, spill: spill{}, spillRead: map[string]time.Duration{}, background: map[string]*dark{}, types: map[string]*steadiness{}, paces: map[string]*meterPace{}, deadTimes: map[string]time.Duration{}, answers: map[string]*answer{}, lags: map[string]*lagging{}, audited: map[string]bool{}, measuredDead: map[string][]time.Duration{},
		unproven: map[string]bool{}, disputed: map[string]bool{}, fleeting: map[string]bool{}, refBackAt: -1}
	c.lane = &c.main
	maps.Copy(c.deadTimes, cfg.DeadTimes)
	for key := range cfg.DeadTimes {
		c.unproven[key] = true
	}
	var err error
	if c.spending, err = newSpending(&c.cfg.Plan.Spend); err != nil {
		return nil, fmt.Errorf("run: %w", err)
	}
	if c.cfg.Batches == nil {
		c.cfg.Batches = map[string]*solve.Batch{}
	}
	for i := range c.cfg.Units {
		u := &unit{Unit: &c.cfg.Units[i], settle: c.cfg.Units[i].Settle}
		if key := u.SettleKey(); u.SettleKnown { // the run shows it again for nothing
			delete(c.deadTimes, key)
			delete(c.unproven, key)
		} else { // what is read before a visit has looked at the kept one waits for the longer of the two
			u.settle = max(u.settle, cfg.DeadTimes[key])
		}
		if len(u.Dark) > 0 && slices.Equal(u.Darkened(u.Rest), u.Rest) { // one that was lit by somebody before went out when this was sent first
			u.outAt = -cfg.StartShown
		}
		c.units = append(c.units, u)
	}
	c.meters = metersOf(c.units, cfg.Plan.Target.Reference)
	c.openLanes()
	return c, nil
}

// Learnt is what the units of each type have in common, as far as it is known
// now, by Unit.Type. The caller must not change it.
func (c *Core) Learnt() map[string]*solve.Batch { return c.cfg.Batches }

// DeadTimes are those known now, by Unit.SettleKey. The caller must not change it.
func (c *Core) DeadTimes() map[string]time.Duration { return c.deadTimes }

// Over tells whether the run has ended.
func (c *Core) Over() bool { return c.do.Done }

// Step takes an event and says what to do. After Done every event leads to
// nothing.
func (c *Core) Step(e Event) Do {
	over := c.do.Done && !(e.Kind == Resumed && c.broken())
	c.do = Do{Done: over}
	c.now = max(c.now, e.At)
	until := c.wake()
	if !over {
		c.take(&e)
		c.goOnTogether()
	}
	idle := e.Kind == Tick && len(c.do.Asks)+len(c.do.Wishes) == 0 && c.wake() == until
	if len(c.do.Entries) == 0 && !idle && !over {
		c.enter(Entry{Kind: KindEvent})
	}
	if len(c.do.Entries) > 0 {
		c.do.Entries[0].Event = &e
	}
	if !c.do.Done && !c.holding {
		c.do.Wake = c.wake()
	}
	return c.do
}

func (c *Core) take(e *Event) {
	switch e.Kind {
	case Begin:
		if !c.begun {
			c.begun = true
			c.begin()
		}
		return
	case Stop:
		c.stop(e.Why, ended(e.Why))
		return
	case Fault:
		c.stop(e.Why, errors.New(e.Why))
		return
	case Conflict:
		c.enter(Entry{Kind: KindConflict, Note: e.Why})
		return
	}
	if !c.begun {
		return
	}
	switch e.Kind {
	case Arrived:
		c.arrived(e)
	case Refused:
		c.refused(e)
	case Read:
		if !c.heardBeside(e) {
			c.taken(e)
		}
	case NoReading:
		if c.heardBeside(e) {
			return
		}
		if l := c.laneOfAsk(e.Ask); l != nil {
			l.asked = 0
			c.silent(l, e)
		}
	case Resumed:
		c.resumed(e)
	case Tick:
		for _, l := range c.all() {
			if l.until > 0 && c.now >= l.until && !c.holding && !c.do.Done {
				l.until = 0
				c.tell(l, input{woke: true})
			}
		}
	case Hold:
		if !c.holding {
			c.holding = true
			c.enter(Entry{Kind: KindHold, Note: "held by a person: the fixtures stay as they are"})
		}
	case GoOn:
		c.goOn()
	case Skip:
		c.skip(c.present(), "skipped by a person")
	case Next:
		c.next()
	case Undo:
		c.undo(c.present())
	}
}

// taken hands a reading to whom it was asked for.
func (c *Core) taken(e *Event) {
	l := c.laneOfAsk(e.Ask)
	if l == nil || e.Reading == nil || l.task == nil {
		if e.Reading != nil {
			m := c.measured(e.Reading, solve.Reading{UV: e.Reading.UV, Y: e.Reading.Y})
			c.enter(Entry{Kind: KindAside, Reading: &m, Note: "nothing waits for this reading any more"})
		}
		return
	}
	l.asked = 0
	c.heard(l, e.Reading.Probe)
	c.timed(e.Reading)
	c.noiseAt(e.Reading.Probe).shows(e.Reading.RoundXY)
	if l.glimpsed(c, e.Reading) {
		return
	}
	if u := l.task.unit(); u != nil {
		u.read = e.Reading.At
		if c.ours(u) {
			c.looked++
			u.looks++
		}
	}
	c.tell(l, input{reading: e.Reading})
}

// refused ends the visit of a unit that does not take its wish, or whose
// neighbour does not go dark.
func (c *Core) refused(e *Event) {
	_, u := c.laneMoving(e.Head)
	if u == nil {
		c.coloured(e)
	}
	for _, l := range c.all() {
		if !slices.Contains(l.moving, u) || c.do.Done {
			continue
		}
		if u.presetting { // it is dark as it is; what it does not take is found at its own visit
			u.adrift = true
			l.moving = slices.DeleteFunc(l.moving, func(o *unit) bool { return o == u })
			c.stand(l)
			continue
		}
		why := e.Why
		if u != l.lead {
			why = fmt.Sprintf("%s does not go dark: %s", u.Info.Name, e.Why)
		}
		l.abandon()
		l.moving, l.lead = nil, nil
		c.tell(l, input{refused: why, by: u, why: e.Why})
	}
}

func (c *Core) goOn() {
	if !c.holding {
		return
	}
	c.holding = false
	c.enter(Entry{Kind: KindHold, Note: "goes on"})
	for _, l := range c.all() {
		if !c.do.Done {
			c.takeUp(l)
		}
	}
}

// takeUp does what a lane wanted when a person held the run.
func (c *Core) takeUp(l *lane) {
	if w := l.held; w != nil {
		l.held = nil
		if w.read != nil {
			w.read.After = max(w.read.After, c.now)
		}
		if a := c.perform(l, *w); a != nil {
			c.tell(l, input{arrived: a})
		}
	}
}

// laneOfAsk is the lane that waits for the answer to an ask; nil for none.
func (c *Core) laneOfAsk(id uint64) *lane {
	for _, l := range c.all() {
		if id != 0 && l.asked == id {
			return l
		}
	}
	return nil
}

// laneMoving is the lane that waits for a head, and the head's unit; nil for none.
func (c *Core) laneMoving(head int) (*lane, *unit) {
	for _, l := range c.all() {
		for _, u := range l.moving {
			if u.Head == head {
				return l, u
			}
		}
	}
	return nil, nil
}

// leave drops what a lane waits for.
func (c *Core) leave(l *lane) {
	if l.asked != 0 {
		c.do.Drop = append(c.do.Drop, l.asked)
	}
	for _, u := range l.moving {
		if l == &c.main || !c.waitedFor(l, u) {
			c.do.Forget = append(c.do.Forget, u.Head)
		}
	}
	c.dropBeside("")
	l.abandon()
	l.asked, l.until, l.moving, l.lead, l.later, l.held, l.mute = 0, 0, nil, nil, nil, nil, 0
	c.ungate(l)
}

// skippable is a task that a person may leave.
type skippable interface {
	skipped(c *Core, why string)
}

// skip leaves the fixture that the lane is at.
func (c *Core) skip(l *lane, why string) {
	if b := l.waiting(); b != nil { // background or reference are read first, for others too
		if s, ok := b.task.(skippable); ok {
			l.drop()
			s.skipped(c, why)
		}
		return
	}
	l.task = atFixture(l.task)
	s, ok := l.task.(skippable)
	if !ok {
		return // between fixtures there is nothing to leave
	}
	c.leave(l)
	s.skipped(c, why)
	c.tell(l, input{})
}

// undo begins the present fixture anew: the last value a person gave was wrong.
func (c *Core) undo(l *lane) {
	l.task = atFixture(l.task)
	v, ok := l.task.(interface{ restart(c *Core) })
	if !ok {
		c.stop("the reference was typed wrongly: begin again", nil)
		return
	}
	c.leave(l)
	u := l.task.unit()
	c.enter(Entry{Kind: KindUndo, Fixture: u.Info.Name, Note: "a value was typed wrongly: this fixture is begun anew"})
	v.restart(c)
	c.tell(l, input{})
}

// ErrStopped is wrapped by the error of a run that a person or a signal ended.
var ErrStopped = errors.New("stopped")

// ended is such an error, in the words of whoever ended the run.
type ended string

func (e ended) Error() string { return string(e) }

func (e ended) Is(target error) bool { return target == ErrStopped }

// stop ends the run early: the fixture that was worked at is held.
func (c *Core) stop(why string, err error) {
	if err == nil {
		err = errors.New(why)
	}
	var at []string
	for _, l := range c.all() {
		t := l.task
		if b := l.waiting(); b != nil {
			t = b.task
		}
		if t == nil || t.unit() == nil || !c.ours(t.unit()) {
			continue
		}
		u := t.unit()
		at = append(at, u.Info.Name)
		if u.outcome == nil { // else what the first visit found stands, unproven
			u.outcome = c.outcomeOf(u, solve.Decision{Outcome: solve.Held, Reason: why})
			c.enter(Entry{Kind: KindOutcome, Fixture: u.Info.Name, Outcome: u.outcome})
		} else if o := *u.outcome; o.Result == solve.Predicted && u.tally.readings > o.Readings {
			o.Reason = fmt.Sprintf("%s; read on a second visit that was not ended, nothing is claimed of it", strings.TrimSuffix(o.Reason, solve.NotReadYet))
			o.Readings = u.tally.readings
			u.outcome = &o
			c.enter(Entry{Kind: KindOutcome, Fixture: u.Info.Name, Outcome: u.outcome})
		}
	}
	c.takeBack()
	if len(at) > 0 {
		err = fmt.Errorf("%s: %w", strings.Join(at, ", "), err)
	}
	if k, ok := c.main.task.(*keeping); ok {
		k.ended(c)
	}
	c.enter(Entry{Kind: KindStop, Note: why})
	for _, l := range c.all() {
		c.leave(l)
	}
	c.do.Done, c.do.Err = true, err
	c.do.Wishes, c.do.Asks = nil, nil
}

// finish ends the run in order.
func (c *Core) finish() {
	note := map[Work]string{Survey: "survey done", Verify: "verification done"}[c.cfg.Work]
	if note == "" {
		note = "run done"
	}
	c.conclude()
	c.enter(Entry{Kind: KindEnd, Note: note + c.heldAgainst(), Unwatched: c.unwatchedWords()})
	c.do.Done = true
}

func (c *Core) enter(e Entry) { c.do.Entries = append(c.do.Entries, e) }

// ours tells whether a unit is to be moved in this run.
func (c *Core) ours(u *unit) bool {
	return u.Head >= 0 && u.Info.Name != c.cfg.Plan.Target.Reference
}

func (c *Core) find(name string) *unit {
	for _, u := range c.units {
		if u.Info.Name == name {
			return u
		}
	}
	return nil
}
