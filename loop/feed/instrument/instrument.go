package instrument

import (
	"encoding/json"
	"regexp"
	"time"
)

// Instrument is a description of how to read a meter, checked and ready. Get
// one from Parse. It holds no state and may serve
// many feeds.
type Instrument struct {
	Name string // as the description says
	File string
	Note string

	Serial SerialSettings
	Start  []Step // said when a link begins
	Stop   []Step // and at its end
	Poll   *Poll  // nil: the instrument talks by itself

	End      string // of a line; empty: CR, LF or both
	MaxLine  int    // bytes; 0: not said
	Echo     bool   // the instrument repeats what it is sent
	ignore   []*regexp.Regexp
	checksum *checksum
	block    *block

	as        string
	pattern   *regexp.Regexp
	separator string
	header    bool
	comma     bool
	address   string // osc

	fields   fields
	spectrum *spectrumPlace
	errors   []errorText
	fresh    string // what marks a reading as new: "line", "seq", "time", "change"

	// Latency and Integration are 0 where the description does not say.
	Latency     time.Duration
	Integration time.Duration
	round       float64 // 0: count the decimals
}

// SerialSettings is how a serial port is set up.
type SerialSettings struct {
	Baud     int
	DataBits int
	Parity   byte // N, E or O
	StopBits int
	DTR, RTS *bool // nil: as the system leaves it
}

// Step is one exchange at the start or the end of a link.
type Step struct {
	Send   []byte
	Expect *regexp.Regexp // nil: do not wait
	Within time.Duration
	Pause  time.Duration
}

// Poll asks for every reading.
type Poll struct {
	Send     []byte
	Every    time.Duration
	Within   time.Duration
	Triggers bool // the request starts a fresh measurement
}

// Talks reports whether the instrument is sent anything, or waited for.
func (i *Instrument) Talks() bool { return len(i.Start) > 0 || len(i.Stop) > 0 || i.Poll != nil }

// Asks tells whether the instrument is asked for each reading; one that is not
// must send by itself. Nil, JSON lines of our own, is never asked.
func (i *Instrument) Asks() bool { return i != nil && i.Poll != nil }

// Whole reports whether a message that came in one piece is one reading: OSC
// packets and JSON documents are not cut into lines. A nil Instrument stands for
// JSON lines of our own.
func (i *Instrument) Whole(m []byte) bool {
	if i == nil {
		return json.Valid(m)
	}
	return i.as == "osc" || i.as == "json" && i.block == nil && json.Valid(m)
}

// block gathers several lines into one message.
type block struct {
	begin, end *regexp.Regexp // end nil with lines 0: an empty line ends it
	lines      int
	max        int
}

// field is one value: where it stands, and how it becomes the house's unit.
type field struct {
	place  *fieldPath
	unit   unit
	scale  float64
	offset float64
	when   []string
	may    bool   // be missing
	layout string // time: a layout of package time, or "" for a number
	since  string // time as a number: "unix" or "start"
}

// fields are the values a description may name; nil where it does not.
type fields struct {
	x, y, uPrime, vPrime, bigX, bigY, bigZ, level, cct, duv  *field
	time, integration, seq, probe, serial, satur, underrange *field
}

// spectrumPlace is where a spectrum stands.
type spectrumPlace struct {
	place       *fieldPath
	rows        *regexp.Regexp
	nm, value   int // groups of rows
	start, step float64
	count       int
	scale       float64
	separator   string
	absolute    bool // W/m2/nm: the level follows
}

// errorText is a text that stands for no reading.
type errorText struct {
	when *regexp.Regexp
	is   string
	say  string
}
