package feed

// The shape of an instrument description as a person writes it. Everything is
// text here; compile checks it and makes an Instrument. examples/instruments
// has one of each kind, and reference-instrument.yaml has every key.
type instrumentFile struct {
	Instrument string        `yaml:"instrument"`
	Note       string        `yaml:"note"`
	Serial     *serialFile   `yaml:"serial"`
	Start      []stepFile    `yaml:"start"`
	Poll       *pollFile     `yaml:"poll"`
	Stop       []stepFile    `yaml:"stop"`
	Lines      linesFile     `yaml:"lines"`
	Read       readFile      `yaml:"read"`
	Fields     fieldsFile    `yaml:"fields"`
	Errors     []errorFile   `yaml:"errors"`
	New        string        `yaml:"new"`
	Latency    string        `yaml:"latency"`
	Integrate  string        `yaml:"integration"`
	Round      *float64      `yaml:"round"`
	Spectrum   *spectrumFile `yaml:"spectrum"`
}

// serialFile: how a serial port is set up.
type serialFile struct {
	Baud    int    `yaml:"baud"`    // default 9600
	Framing string `yaml:"framing"` // default 8N1: data bits, parity N E O, stop bits
	DTR     *bool  `yaml:"dtr"`     // level of the line once open; default as the system leaves it
	RTS     *bool  `yaml:"rts"`
}

// stepFile: bytes to send, and what must come back before going on.
type stepFile struct {
	Send   string `yaml:"send"`
	Expect string `yaml:"expect"` // RE2; empty: do not wait
	Within string `yaml:"within"` // default 2 s
	Pause  string `yaml:"pause"`  // wait after it
}

// pollFile: ask for every reading.
type pollFile struct {
	Send     string `yaml:"send"`
	Every    string `yaml:"every"`    // default 0: as soon as the last one was answered
	Within   string `yaml:"within"`   // how long to wait for the answer; default 5 s
	Triggers bool   `yaml:"triggers"` // the request starts a fresh measurement
}

// linesFile: where a line ends, and what is not one.
type linesFile struct {
	End      string        `yaml:"end"`    // default: CR, LF or both
	Max      int           `yaml:"max"`    // bytes; default 65536
	Echo     bool          `yaml:"echo"`   // the instrument repeats what it is sent
	Ignore   []string      `yaml:"ignore"` // RE2; such lines are passed over
	Checksum *checksumFile `yaml:"checksum"`
	Block    *blockFile    `yaml:"block"`
}

// checksumFile: a check at the end of a line.
type checksumFile struct {
	Kind string `yaml:"kind"` // xor8, sum8, sum8-negated, crc16-modbus, crc16-ccitt
	Mark string `yaml:"mark"` // what stands between text and checksum; default "*"
	Skip int    `yaml:"skip"` // bytes at the start that do not count
	Mode string `yaml:"over"` // text (default), or text and mark
}

// blockFile: several lines that make one reading.
type blockFile struct {
	Begin string `yaml:"begin"` // RE2 of the first line
	End   string `yaml:"end"`   // RE2 of the last line; "" with lines: 0 means an empty line
	Lines int    `yaml:"lines"` // number of lines, where it is fixed
	Max   int    `yaml:"max"`   // most lines before it is given up; default 2000
}

// readFile: how to take a line apart.
type readFile struct {
	As        string `yaml:"as"`        // json, csv, columns, regexp, osc
	Pattern   string `yaml:"pattern"`   // regexp: RE2 with named groups
	Separator string `yaml:"separator"` // csv; default ","
	Header    bool   `yaml:"header"`    // csv: the first line of a link names the columns
	Decimal   string `yaml:"decimal"`   // point (default) or comma
	Address   string `yaml:"address"`   // osc: address pattern; default any
}

// fieldFile: one value and where it stands.
type fieldFile struct {
	From   string   `yaml:"from"`
	Unit   string   `yaml:"unit"`
	Scale  *float64 `yaml:"scale"`
	Offset *float64 `yaml:"offset"`
	When   []string `yaml:"when"` // for flags: the texts that raise it
}

type fieldsFile struct {
	X           *fieldFile `yaml:"x"`
	Y           *fieldFile `yaml:"y"`
	UPrime      *fieldFile `yaml:"u_prime"`
	VPrime      *fieldFile `yaml:"v_prime"`
	BigX        *fieldFile `yaml:"X"`
	BigY        *fieldFile `yaml:"Y"`
	BigZ        *fieldFile `yaml:"Z"`
	Level       *fieldFile `yaml:"level"`
	CCT         *fieldFile `yaml:"cct"`
	Duv         *fieldFile `yaml:"duv"`
	Time        *fieldFile `yaml:"time"`
	Integration *fieldFile `yaml:"integration"`
	Seq         *fieldFile `yaml:"seq"`
	Probe       *fieldFile `yaml:"probe"`
	Serial      *fieldFile `yaml:"serial"`
	Saturated   *fieldFile `yaml:"saturated"`
	Underrange  *fieldFile `yaml:"underrange"`
}

// errorFile: a text that stands for no reading.
type errorFile struct {
	When string `yaml:"when"` // RE2 over the whole line or block
	Is   string `yaml:"is"`   // saturated, underrange, fault, skip
	Say  string `yaml:"say"`  // what it means, for the person
}

// spectrumFile: where a spectrum stands.
type spectrumFile struct {
	From      string  `yaml:"from"`      // a list: JSON path, csv "7..", group
	Separator string  `yaml:"separator"` // within a group; default white space or comma
	Rows      string  `yaml:"rows"`      // RE2 with groups nm and value, one match per line of a block
	Start     string  `yaml:"start"`     // nm, like "380 nm", with from
	Step      string  `yaml:"step"`      // nm
	Scale     float64 `yaml:"scale"`
}
