package page

import "time"

// State is all that a page shows. What moves often ([Row]) is apart from what stands ([Fixture]).
type State struct {
	Top      Top       `json:"top"`
	Fixtures []Fixture `json:"fixtures"`
	Rows     []Row     `json:"rows" doc:"one for each of fixtures, in the same order"`
	Paths    [][]Point `json:"paths" doc:"the last readings of each fixture, oldest first"`
	Log      []Line    `json:"log" doc:"the last lines, oldest first"`
}

// Phase is how far a run has come.
type Phase string

// The phases.
const (
	Idle    Phase = "idle"    // nothing runs
	Arming  Phase = "arming"  // meters and network are listened to; no light has moved
	Working Phase = "working" // light moves
	Holding Phase = "holding" // a person holds the run: the lamps stay as they are
	Ending  Phase = "ending"  // the lamps are handed back
	Over    Phase = "over"    // the run has ended; what it found is still shown
)

// Runs tells whether something may move light.
func (p Phase) Runs() bool { return p != Idle && p != Over }

// Top is what is said of the whole run.
type Top struct {
	Rig       string     `json:"rig"`
	Phase     Phase      `json:"phase" enum:"idle,arming,working,holding,ending,over"`
	Work      string     `json:"work" doc:"survey, match, verify, points, by hand or recall; empty before the first"`
	Run       string     `json:"run" doc:"name of the run's folder; empty where no files are kept"`
	Target    string     `json:"target"`
	Tolerance float64    `json:"tolerance_uv" doc:"radius in CIE 1976 u'v'"`
	Reference *Reference `json:"reference,omitempty" doc:"absent until it was read or named"`
	Began     time.Time  `json:"began"`
	Ended     time.Time  `json:"ended"`
	At        []int      `json:"at" doc:"the fixtures that are worked at, one for each probe that works"`
	MaySkip   bool       `json:"may_skip" doc:"a fixture is worked at that may be left; not while the reference is read, or between two fixtures"`
	Done      int        `json:"done" doc:"fixtures that have an outcome of this run"`
	Of        int        `json:"of" doc:"fixtures that shall have one"`
	Readings  int        `json:"readings"`
	Left      int        `json:"left_s" doc:"seconds until the run is over, predicted from its pace so far; 0: not known"`
	Paused    string     `json:"paused" doc:"why the run waits; empty: it does not"`
	Health    []Health   `json:"health"`
	Question  *Question  `json:"question,omitempty" doc:"what a person at the fixture is asked"`
	Operator  *Person    `json:"operator,omitempty" doc:"who operates; absent: nobody"`
	Watching  int        `json:"watching" doc:"pages that are open"`
	Lead      string     `json:"lead" doc:"what came of the run in a sentence; empty until it is over"`
	Spread    string     `json:"spread" doc:"how far the fixtures stand from each other, worst pair and level, once the run is over"`
	Stage     string     `json:"stage" doc:"what the stage shows now that the run is over"`
	Unwatched string     `json:"unwatched,omitempty" doc:"which fixtures may have changed their colour after they were read; absent: none that is known of, or the run has not ended"`
	Fault     string     `json:"fault" doc:"why the run ended early; empty: it did not"`

	Elsewhere []Elsewhere `json:"elsewhere,omitempty" doc:"how the runs of the site's other machines go, by name; only where a broker is set"`
}

// Elsewhere is how the run of another machine of the site goes, as that machine says. It is only shown.
type Elsewhere struct {
	Machine string    `json:"machine"`
	Online  bool      `json:"online"`
	Rig     string    `json:"rig"`
	Phase   Phase     `json:"phase"`
	Work    string    `json:"work"`
	Target  string    `json:"target"`
	Done    int       `json:"done"`
	Of      int       `json:"of"`
	Left    int       `json:"left_s"`
	Paused  string    `json:"paused"`
	Lead    string    `json:"lead"`
	Fault   string    `json:"fault"`
	Heard   time.Time `json:"heard" doc:"when its run was last told of"`
}

// Reference is the light that all are matched to.
type Reference struct {
	Name  string  `json:"name"`
	U     float64 `json:"u_prime"`
	V     float64 `json:"v_prime"`
	Sigma float64 `json:"sigma_uv" doc:"standard error per axis"`
	Words string  `json:"words"`
	// What tells a person which way is which: the Planckian locus about it, from warm to cool, and a point that is
	// greener. None where it is no white.
	Locus   []Point `json:"locus,omitempty"`
	Greener *Point  `json:"greener,omitempty"`
}

// Fixture is what does not change while a run works.
type Fixture struct {
	Name    string `json:"name"`
	Profile string `json:"profile"`
	Mode    string `json:"mode"`
	Address string `json:"address"`
	Desk    string `json:"desk_channel"`
	Probe   string `json:"probe"`
	Col     int    `json:"col" doc:"place in a grid, from 1; 0: none"`
	Row     int    `json:"row"`
	ByHand  bool   `json:"by_hand"`
	Idle    string `json:"idle" doc:"why the run does not work at it; empty: it does"`
}

// Row is how a fixture stands. A figure that no reading stands behind is absent.
type Row struct {
	State         string   `json:"state" doc:"in words: waiting, moving, settling, matching, landed, ..."`
	Result        string   `json:"result" doc:"the outcome: landed, predicted, out of reach, unsettled or held; empty until there is one"`
	Verified      bool     `json:"verified" doc:"the outcome rests on a second visit"`
	Words         string   `json:"words" doc:"the difference, or the reason, in plain words"`
	Advice        string   `json:"advice,omitempty"`
	Found         *float64 `json:"found_uv,omitempty" doc:"distance from the target as found, by the first reading, or computed"`
	FoundComputed bool     `json:"found_computed,omitempty" doc:"it was not read as found: found_uv is computed from readings at other settings"`
	Unread        bool     `json:"unread,omitempty" doc:"it was matched without being read as found"`
	Now           *float64 `json:"now_uv,omitempty" doc:"distance from the target by the last reading, or by all readings once there is an outcome"`
	SD            float64  `json:"sd_uv,omitempty" doc:"standard deviation per axis; 0: not estimated"`
	Lux           float64  `json:"lux,omitempty" doc:"at the probe; 0: the feed tells no level"`
	Readings      int      `json:"readings" doc:"those that count"`
	Aside         int      `json:"set_aside,omitempty" doc:"readings that do not count"`
	At            *Point   `json:"at,omitempty" doc:"where it stood when it was read last"`
	Settings      string   `json:"settings,omitempty" doc:"what it was last set to, in its own units"`
}

// Point is a chromaticity in CIE 1976 u', v'.
type Point [2]float64

// Line is one line of the log.
type Line struct {
	Time time.Time `json:"time"`
	Text string    `json:"text"`
	Loud bool      `json:"loud" doc:"a person should look"`
}

// Health is how something outside is doing that the run needs.
type Health struct {
	Name string `json:"name"`
	Kind string `json:"kind" enum:"feed,network,desk,governor"`
	Good bool   `json:"good"`
	Word string `json:"word" doc:"in a word: live, stale, refused, ..."`
	Why  string `json:"why" doc:"empty when it is good"`
}

// Question is what a person at the lamp is asked: to dial something, or for a reading.
type Question struct {
	ID         uint64 `json:"id"`
	Kind       string `json:"kind" enum:"dial,read,place"`
	Lamp       string `json:"lamp,omitempty" doc:"dial: which; read: whose light, absent where it is that of none"`
	Dials      []Dial `json:"dials,omitempty" doc:"dial: what to set"`
	Place      string `json:"place,omitempty" doc:"place, read: to which point of the lit surface the meter is to be taken"`
	Probe      string `json:"probe,omitempty" doc:"read: where to measure; empty: there is one place"`
	Dark       bool   `json:"dark,omitempty" doc:"read: the fixtures are out"`
	Any        bool   `json:"any,omitempty" doc:"read: the light may be of a colour that the meter has no figures for; none says so"`
	Problem    string `json:"problem,omitempty" doc:"read: why the last answer was not taken"`
	Understood string `json:"understood,omitempty" doc:"read: how the last answer was understood; an empty answer says yes to it"`
	Undo       bool   `json:"undo" doc:"the last value may be taken back"`
	Skip       bool   `json:"skip" doc:"there is a fixture that may be left"`
}

// Dial is one knob to set. Was is empty where it was not set before.
type Dial struct {
	Name string `json:"name"`
	Was  string `json:"was,omitempty"`
	Set  string `json:"set"`
}

// Person is somebody at a page.
type Person struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

// Change is what has changed since an earlier state.
type Change struct {
	Top  *Top           `json:"top,omitempty"`
	Rows map[string]Row `json:"rows,omitempty" doc:"by index"`
	Log  []Line         `json:"log,omitempty" doc:"lines to add"`
}
