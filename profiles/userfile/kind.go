package userfile

// Kind is what a file is meant to be: the words for messages, and the most
// bytes that are read.
type Kind struct {
	Name string // with its article, as in "a rig"
	Max  int64
}

// written is the most of what a person writes by hand; yamlfile reads no more.
const written = 256 << 10

// The kinds of files.
var (
	Rig         = Kind{"a rig", written}
	Profile     = Kind{"a profile", written}
	Instrument  = Kind{"an instrument description", written}
	RigOrMeter  = Kind{"a rig or an instrument description", written}
	GelList     = Kind{"a list of filters", written}
	Palette     = Kind{"a list of colours", written}
	Stage       = Kind{"a stage file", written}
	Settings    = Kind{"the settings of this machine", written}
	Secrets     = Kind{"the secrets of this machine", written}
	Corrections = Kind{"the corrections of probes", written}
	Spectrum    = Kind{"a spectrum", 1 << 20}
	Camera      = Kind{"the sensitivities of a camera", 1 << 20}
	PatchList   = Kind{"a patch list", written}
	Certificate = Kind{"a certificate or its key", 1 << 20}
	Identity    = Kind{"the identity of this machine", 4 << 10}
	Claim       = Kind{"the claim of a run", 128 << 10} // of some 20000 universes
	Learnt      = Kind{"what was learnt of a fixture type", 4 << 20}

	// Recording is a meter's dialogue: two hours of five lines a second.
	Recording = Kind{"a recording", 4 << 20}
	// GDTF archives carry pictures and models; what we unpack of them is small.
	GDTF = Kind{"a GDTF file", 256 << 20}
	// Plan is a rig planned elsewhere, with the GDTF files of its fixtures.
	Plan       = Kind{"a planned rig", 4<<30 - 1}
	PlanOrList = Kind{"a planned rig or a patch list", 4<<30 - 1}
	// Journal of a run; it is read line by line, and nothing of it may be refused.
	Journal = Kind{"a journal", 1 << 40}
)
