package feed

import (
	"regexp"
	"time"
)

// Instrument is a description of how to read a meter, checked and ready. Get
// one from LoadInstrument or ParseInstrument. It holds no state and may serve
// many feeds.
type Instrument struct {
	Name string // as the description says
	File string
	Note string

	Serial SerialSettings
	start  []step
	stop   []step
	poll   *poll

	end      lineEnd
	maxLine  int
	echo     bool
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

// step is one exchange at the start or the end of a link.
type step struct {
	send   []byte
	expect *regexp.Regexp // nil: do not wait
	within time.Duration
	pause  time.Duration
}

// poll asks for every reading.
type poll struct {
	send     []byte
	every    time.Duration
	within   time.Duration
	triggers bool
}

// block gathers several lines into one message.
type block struct {
	begin, end *regexp.Regexp // end nil with lines 0: an empty line ends it
	lines      int
	max        int
}

// field is one value: where it stands, and how it becomes the house's unit.
type field struct {
	place  *place
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
	place       *place
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
