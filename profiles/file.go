package profiles

import "trueup/profiles/yamlfile"

// The shape of a profile file, with the tags of yamlfile. Units stand in the
// names of the keys; levels of slots are whole numbers as a manual lists them
// (0..255 for one slot, 0..65535 for coarse and fine, 0..16777215 for three).
type fileProfile struct {
	Profile string     `yaml:"profile" need:"yes" help:"Name of the fixture, as reports show it."`
	Maker   string     `yaml:"maker" help:"Who makes it."`
	Note    string     `yaml:"note" help:"Anything worth remembering, such as the edition of the manual."`
	Modes   []fileMode `yaml:"modes" need:"yes" items:"1 64" help:"The modes of the fixture that are of use here."`
}

type fileMode struct {
	Mode       string         `yaml:"mode" need:"yes" help:"Name of the mode, as the fixture's menu shows it."`
	Kind       string         `yaml:"kind" need:"yes" one:"emitters cct xy hue-saturation fixed" help:"What the mode lets us set. emitters: a level for each emitter. cct: colour temperature and tint. xy: CIE 1931 chromaticity. fixed: nothing but, perhaps, the level."`
	Note       string         `yaml:"note" help:"Anything worth remembering."`
	Slots      *int           `yaml:"slots" min:"1" max:"512" help:"How many slots the mode takes. Left out for a fixture set by hand, or with no slots at all."`
	ByHand     bool           `yaml:"by_hand" help:"A person sets this mode at the fixture: every parameter has a knob instead of slots. Default false."`
	Heads      *fileHeads     `yaml:"heads" help:"For fixtures with several heads in equal distance. The slots given are those of the first head."`
	Dimmer     *fileDimmer    `yaml:"dimmer" help:"The master dimmer."`
	Curve      *yamlfile.Node `yaml:"curve" help:"How the light of the emitters follows their levels. Default unknown: the readings tell."`
	Emitters   []fileEmitter  `yaml:"emitters" items:"3 12" help:"The emitters, for kind emitters."`
	CCT        *fileCCT       `yaml:"cct" help:"Colour temperature, for kind cct."`
	Tint       *fileTint      `yaml:"tint" help:"Green/magenta, for kind cct."`
	X          *fileX         `yaml:"x" help:"CIE 1931 x, for kind xy."`
	Y          *fileX         `yaml:"y" help:"CIE 1931 y, for kind xy."`
	Gamut      [][]float64    `yaml:"gamut" items:"3 24" min:"0" max:"1" help:"Corners [x, y] of the colours that an xy mode can reach, where the manual has them."`
	Hue        *fileHue       `yaml:"hue" help:"Hue, for kind hue-saturation."`
	Saturation *filePercent   `yaml:"saturation" help:"Saturation, for kind hue-saturation."`
	Space      string         `yaml:"space" one:"unknown bt709 p3 bt2020 e1.54" help:"RGB space that hue and saturation stand in: ITU-R BT.709, P3 with D65, BT.2020, ANSI E1.54. Default unknown."`
	White      *fileWhite     `yaml:"white" help:"Light of a fixed fixture; for xy and hue-saturation the white of the mode. Default unknown."`
	Set        []filePin      `yaml:"set" items:"1 64" help:"Slots that must stand at one level for the others to work: crossfade, mode select, effect off."`
	Shutter    *fileShutter   `yaml:"shutter" help:"Shutter and strobe slot. It is held open."`
	NeverTouch []fileNever    `yaml:"never_touch" items:"1 64" help:"Slots that are sent nothing but a safe level: reset, lamp, fan, ID."`
	SettleMS   *float64       `yaml:"settle_ms" min:"0" max:"60000" help:"Milliseconds from the last slot to steady light. Default: it is measured."`
	WarmUpMin  *float64       `yaml:"warm_up_min" min:"0" max:"240" help:"Minutes from cold to steady light. Default unknown."`
}

type fileHeads struct {
	Count  int `yaml:"count" need:"yes" min:"1" max:"512" help:"How many heads."`
	Stride int `yaml:"stride" need:"yes" min:"1" max:"512" help:"Slots from one head's first slot to the next one's."`
}

// fileBase is what every parameter has.
type fileBase struct {
	Slots  []int     `yaml:"slots" items:"1 3" min:"1" max:"512" help:"Slots, counted from 1, coarse first: one for 8 bit, two for 16, three for 24."`
	Levels []int     `yaml:"levels" items:"2 2" min:"0" max:"16777215" help:"Lowest and highest level of the scale; no other is sent. Default: all."`
	Start  *float64  `yaml:"start" min:"-100000" max:"16777215" help:"What it shows when a run begins, for a knob what it is at. Without a desk the first packet sends it at once, and the run ends on it. Default: the lowest level; beside a desk as that has it."`
	Knob   *fileKnob `yaml:"knob" help:"For by_hand: what the knob or menu shows."`
	Common bool      `yaml:"common" help:"One for all heads. Default false."`
}

type fileDimmer struct {
	fileBase
	Curve *yamlfile.Node `yaml:"curve" help:"How light follows the level. Default unknown: the readings tell."`
}

type fileKnob struct {
	Shows string  `yaml:"shows" need:"yes" help:"The word on the knob or in the menu."`
	Unit  string  `yaml:"unit" help:"The unit it shows, such as K or %. Default none."`
	From  float64 `yaml:"from" need:"yes" min:"-100000" max:"100000" help:"What it shows at one end."`
	To    float64 `yaml:"to" need:"yes" min:"-100000" max:"100000" help:"What it shows at the other end."`
	Step  float64 `yaml:"step" need:"yes" min:"0.0001" max:"10000" help:"The smallest step it makes."`
}

type fileEmitter struct {
	Name   string `yaml:"name" need:"yes" help:"Name of the emitter."`
	Colour string `yaml:"colour" help:"The trade's word for it, such as red, lime or warm white. Default: the name. It gives a wide first guess."`
	fileBase
	Curve       *yamlfile.Node `yaml:"curve" help:"How light follows the level. Default: the curve of the mode."`
	XY          []float64      `yaml:"xy" items:"2 2" min:"0" max:"1" help:"CIE 1931 x and y at full."`
	UV          []float64      `yaml:"uv" items:"2 2" min:"0" max:"0.65" help:"CIE 1976 u' and v' at full."`
	DominantNM  *float64       `yaml:"dominant_nm" min:"400" max:"690" help:"Dominant wavelength in nm, for a coloured LED."`
	PeakNM      *float64       `yaml:"peak_nm" min:"340" max:"720" help:"Peak wavelength in nm, for a coloured LED."`
	Kelvin      *float64       `yaml:"kelvin" min:"1000" max:"25000" help:"Colour temperature in kelvin, for a white emitter."`
	Duv         *float64       `yaml:"duv" min:"-0.05" max:"0.05" help:"Beside kelvin: distance from the black body, + green, - magenta (ANSI C78.377). Default 0."`
	Spectrum    string         `yaml:"spectrum" help:"File with its spectrum (CSV or TM-27), in the folder of the profile. Of a CSV with several columns it is the one headed by the emitter's name. It tells the colour too, unless that is given."`
	Uncertainty *float64       `yaml:"uncertainty" min:"0.0005" max:"0.1" help:"How far off, in u'v', the chromaticity given may be (standard deviation). Default: 0.006 if given by figures, more for a word."`
	Flux        *float64       `yaml:"flux" min:"0.000001" max:"1000000" help:"Light at full, in lumens or any unit common to all emitters. Default: a guess by colour."`
	CapPercent  *float64       `yaml:"cap_percent" min:"0" max:"100" help:"Highest level sent, in percent of the range. Default 100; 5 for UV and violet, which meters hardly see."`
}

type fileCCT struct {
	fileBase
	Kelvin []float64  `yaml:"kelvin" items:"2 2" min:"1000" max:"25000" help:"Colour temperature at the lowest and at the highest level. A knob in K has it already."`
	Scale  string     `yaml:"scale" one:"kelvin mired" help:"Equal steps are equal in kelvin, or in mired. Default kelvin."`
	Steps  []fileStep `yaml:"steps" items:"2 256" help:"For scales in steps: each range of levels with its colour temperature."`
}

type fileStep struct {
	Levels []int   `yaml:"levels" need:"yes" items:"2 2" min:"0" max:"16777215" help:"Lowest and highest level of this step."`
	Kelvin float64 `yaml:"kelvin" need:"yes" min:"1000" max:"25000" help:"Its colour temperature."`
}

type fileTint struct {
	fileBase
	Duv          []float64 `yaml:"duv" items:"2 2" min:"-0.1" max:"0.1" help:"Duv at the lowest and at the highest level, + green, - magenta."`
	PercentGreen []float64 `yaml:"percent_green" items:"2 2" min:"-200" max:"200" help:"The same in percent of a full plus green (+) or minus green (-) filter; taken as 0.0003 Duv per percent, a rule of thumb that the readings correct."`
	Toward       string    `yaml:"toward" one:"green magenta unknown" help:"Where the size of the scale is not known: what a higher level does. Default unknown."`
}

type fileX struct {
	fileBase
	Range []float64 `yaml:"range" items:"2 2" min:"0" max:"1" help:"The value at the lowest and at the highest level. Default 0 and 1."`
}

type fileHue struct {
	fileBase
	Degrees []float64 `yaml:"degrees" items:"2 2" min:"-360" max:"720" help:"Hue in degrees at the lowest and at the highest level; red 0, green 120, blue 240. Default 0 and 360."`
}

type filePercent struct {
	fileBase
	Percent []float64 `yaml:"percent" items:"2 2" min:"0" max:"100" help:"Saturation in percent at the lowest and at the highest level. Default 0 and 100."`
}

type fileWhite struct {
	XY     []float64 `yaml:"xy" items:"2 2" min:"0" max:"1" help:"CIE 1931 x and y."`
	UV     []float64 `yaml:"uv" items:"2 2" min:"0" max:"0.65" help:"CIE 1976 u' and v'."`
	Kelvin *float64  `yaml:"kelvin" min:"1000" max:"25000" help:"Colour temperature in kelvin."`
	Duv    *float64  `yaml:"duv" min:"-0.05" max:"0.05" help:"Beside kelvin: + green, - magenta. Default 0."`
}

type filePin struct {
	Name     string `yaml:"name" need:"yes" help:"What the slot is, such as crossfade."`
	Slots    []int  `yaml:"slots" need:"yes" items:"1 3" min:"1" max:"512" help:"Slots, counted from 1, coarse first."`
	To       int    `yaml:"to" need:"yes" min:"0" max:"16777215" help:"The level it is held at."`
	Why      string `yaml:"why" help:"Why it must stand there."`
	EachHead bool   `yaml:"each_head" help:"It repeats with the heads. Default false."`
}

type fileShutter struct {
	Slots    []int   `yaml:"slots" need:"yes" items:"1 1" min:"1" max:"512" help:"Its slot, counted from 1."`
	Open     int     `yaml:"open" need:"yes" min:"0" max:"255" help:"A level at which it is open and does not strobe."`
	Closed   [][]int `yaml:"closed" items:"1 16" min:"0" max:"255" help:"Ranges [from, to] of levels at which it is closed."`
	Strobe   [][]int `yaml:"strobe" items:"1 32" min:"0" max:"255" help:"Ranges [from, to] of levels at which it strobes."`
	EachHead bool    `yaml:"each_head" help:"It repeats with the heads. Default false."`
}

type fileNever struct {
	Name     string `yaml:"name" need:"yes" help:"What the slots do: reset, lamp, fan, ID."`
	Slots    []int  `yaml:"slots" need:"yes" items:"1 64" min:"1" max:"512" help:"The slots, counted from 1."`
	Safe     int    `yaml:"safe" need:"yes" min:"0" max:"255" help:"The level at which they do nothing."`
	EachHead bool   `yaml:"each_head" help:"They repeat with the heads. Default false."`
}
