package instrument

import "trueup/profiles/yamlfile"

// The shape of an instrument description as a person writes it. Everything is
// text here; compile checks it and makes an Instrument. The tags are read by
// yamlfile, for reading and for the schema alike.
type instrumentFile struct {
	Instrument  string        `yaml:"instrument" need:"yes" help:"name of the instrument, as it is called on the job"`
	Note        string        `yaml:"note" help:"anything a reader should know"`
	Serial      *serialFile   `yaml:"serial" help:"how a serial port is set up"`
	Start       []stepFile    `yaml:"start" items:"1 32" help:"dialogue when the link begins"`
	Poll        *pollFile     `yaml:"poll" help:"ask for every reading; without it the instrument talks by itself"`
	Stop        []stepFile    `yaml:"stop" items:"1 32" help:"what is sent at the end"`
	Lines       linesFile     `yaml:"lines" help:"where a line ends, and which lines are none"`
	Read        readFile      `yaml:"read" need:"yes" help:"how a line is taken apart"`
	Fields      fieldsNodes   `yaml:"fields" help:"where each value stands: FROM alone, or from, unit, scale, offset"`
	Spectrum    *spectrumFile `yaml:"spectrum" help:"where a spectrum stands"`
	Errors      []errorFile   `yaml:"errors" items:"1 64" help:"texts that stand for no reading"`
	New         string        `yaml:"new" one:"line seq time change" help:"what marks one reading as new; default line: every line is"`
	Latency     string        `yaml:"latency" help:"from end of integration to arrival at the latest, like 300 ms"`
	Integration string        `yaml:"integration" help:"how long light is gathered, where the instrument does not tell"`
	Round       *float64      `yaml:"round" min:"0" max:"0.05" help:"step of x and y on the display; default: from the decimals written"`

	fields fieldsFile
}

// serialFile: how a serial port is set up.
type serialFile struct {
	Baud    int    `yaml:"baud" min:"50" max:"12000000" help:"default 9600"`
	Framing string `yaml:"framing" help:"data bits, parity N E O, stop bits; default 8N1"`
	DTR     *bool  `yaml:"dtr" help:"level of the line once open; default as the system leaves it"`
	RTS     *bool  `yaml:"rts" help:"level of the line once open; default as the system leaves it"`
}

// stepFile: bytes to send, and what must come back before going on.
type stepFile struct {
	Send   string `yaml:"send" help:"text, or control characters by name: CR, LF, CR LF, ESC"`
	Expect string `yaml:"expect" help:"pattern (RE2) of the answer; without it nobody waits"`
	Within string `yaml:"within" help:"default 2 s"`
	Pause  string `yaml:"pause" help:"wait after it"`
}

// pollFile: ask for every reading.
type pollFile struct {
	Send     string `yaml:"send" need:"yes" help:"what asks for a reading"`
	Every    string `yaml:"every" help:"default: as soon as the last one was answered"`
	Within   string `yaml:"within" help:"how long to wait for the answer; default 5 s"`
	Triggers bool   `yaml:"triggers" help:"the request starts a fresh measurement (true), or fetches the last one (false)"`
}

// linesFile: where a line ends, and what is not one.
type linesFile struct {
	End      string        `yaml:"end" help:"CR, LF, CR LF, or a text; default: CR, LF or both"`
	Max      int           `yaml:"max" min:"1" max:"1048576" help:"longest line in bytes; default 65536"`
	Echo     bool          `yaml:"echo" help:"the instrument repeats what it is sent"`
	Ignore   []string      `yaml:"ignore" items:"1 64" help:"patterns (RE2) of lines that are passed over"`
	Checksum *checksumFile `yaml:"checksum" help:"a check at the end of every line"`
	Block    *blockFile    `yaml:"block" help:"several lines that make one reading"`
}

// checksumFile: a check at the end of a line.
type checksumFile struct {
	Kind string `yaml:"kind" need:"yes" one:"xor8 sum8 sum8-negated crc16-modbus crc16-ccitt"`
	Mark string `yaml:"mark" help:"what stands between text and checksum; default *"`
	Skip int    `yaml:"skip" min:"0" max:"64" help:"bytes at the start that do not count"`
	Mode string `yaml:"over" one:"text text~and~mark" help:"what it is taken over; default text"`
}

// blockFile: several lines that make one reading.
type blockFile struct {
	Begin string `yaml:"begin" need:"yes" help:"pattern (RE2) of the first line"`
	End   string `yaml:"end" help:"pattern (RE2) of the last line; default: an empty line"`
	Lines int    `yaml:"lines" min:"1" max:"10000" help:"number of lines, where it is fixed"`
	Max   int    `yaml:"max" min:"1" max:"10000" help:"lines after which it is given up; default 2000"`
}

// readFile: how to take a line apart.
type readFile struct {
	As        string `yaml:"as" need:"yes" one:"json csv columns regexp osc"`
	Pattern   string `yaml:"pattern" help:"regexp: a pattern (RE2) with named groups, (?P<x>...)"`
	Separator string `yaml:"separator" help:"csv: a text, or TAB or SPACE (any run of white space); default ,"`
	Header    bool   `yaml:"header" help:"csv: a line of names comes before the values"`
	Decimal   string `yaml:"decimal" one:"point comma"`
	Address   string `yaml:"address" help:"osc: pattern of the addresses that count; default all"`
}

// fieldFile: one value and where it stands.
type fieldFile struct {
	From   string   `yaml:"from" need:"yes" help:"json: path; csv: column number or name; columns: 11-17; regexp: group; osc: argument number; topic/2: part of the topic"`
	Unit   string   `yaml:"unit" help:"lx klx fc cd/m2, K mired, s ms us, %; for time: unix ms, since start ms, RFC 3339, or 2006-01-02 15:04:05"`
	Scale  *float64 `yaml:"scale" help:"the number is multiplied by this"`
	Offset *float64 `yaml:"offset" help:"then this is added"`
	When   []string `yaml:"when" items:"1 32" help:"saturated, underrange: the texts that raise it"`
	// A line that was cut short must not pass for one that tells less.
	Optional bool `yaml:"optional" help:"the instrument may leave it out; else a line without it is no reading"`
}

// fieldsNodes are the fields as they stand in the file.
type fieldsNodes struct {
	X           yamlfile.Node `yaml:"x" help:"CIE 1931 x"`
	Y           yamlfile.Node `yaml:"y" help:"CIE 1931 y"`
	UPrime      yamlfile.Node `yaml:"u_prime" help:"CIE 1976 u'"`
	VPrime      yamlfile.Node `yaml:"v_prime" help:"CIE 1976 v'"`
	BigX        yamlfile.Node `yaml:"X" help:"CIE 1931 X"`
	BigY        yamlfile.Node `yaml:"Y" help:"CIE 1931 Y"`
	BigZ        yamlfile.Node `yaml:"Z" help:"CIE 1931 Z"`
	Level       yamlfile.Node `yaml:"level" help:"illuminance or luminance beside a colour"`
	CCT         yamlfile.Node `yaml:"cct" help:"correlated colour temperature"`
	Duv         yamlfile.Node `yaml:"duv" help:"+ green, - magenta"`
	Time        yamlfile.Node `yaml:"time" help:"end of integration by the instrument's clock"`
	Integration yamlfile.Node `yaml:"integration" help:"how long light was gathered"`
	Seq         yamlfile.Node `yaml:"seq" help:"number of the reading"`
	Probe       yamlfile.Node `yaml:"probe" help:"name of the measuring head"`
	Serial      yamlfile.Node `yaml:"serial" help:"serial number of the measuring head"`
	Saturated   yamlfile.Node `yaml:"saturated" help:"with when: texts that say so"`
	Underrange  yamlfile.Node `yaml:"underrange" help:"with when: texts that say so"`
}

// fieldsFile are the same, read.
type fieldsFile struct {
	X, Y, UPrime, VPrime, BigX, BigY, BigZ, Level, CCT, Duv      *fieldFile
	Time, Integration, Seq, Probe, Serial, Saturated, Underrange *fieldFile
}

// errorFile: a text that stands for no reading.
type errorFile struct {
	When string `yaml:"when" need:"yes" help:"pattern (RE2) over the whole line or block; of an underrange text (?P<probe>...) is the head that it is of"`
	Is   string `yaml:"is" one:"saturated underrange fault skip" help:"default fault"`
	Say  string `yaml:"say" help:"what it means, for the person"`
}

// spectrumFile: where a spectrum stands.
type spectrumFile struct {
	From      string  `yaml:"from" help:"a list: json path, csv range 5..85, regexp group, first osc argument"`
	Separator string  `yaml:"separator" help:"between the values of a group; default white space, comma or semicolon"`
	Rows      string  `yaml:"rows" help:"pattern (RE2) with groups nm and value, one row a line of a block"`
	Start     string  `yaml:"start" help:"first wavelength, with from, like 380 nm"`
	End       string  `yaml:"end" help:"last wavelength, with from; a list of another length was cut short"`
	Step      string  `yaml:"step" help:"distance of wavelengths, with from, like 5 nm"`
	Scale     float64 `yaml:"scale" help:"values are multiplied by this"`
	Unit      string  `yaml:"unit" one:"relative W/m2/nm W/sr/m2/nm" help:"after scale; a level is computed where it is not relative (the default)"`
}
