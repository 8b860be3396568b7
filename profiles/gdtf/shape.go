package gdtf

// The shape of the profile file, as far as drafts use it.
type outProfile struct {
	Profile string    `yaml:"profile"`
	Maker   string    `yaml:"maker,omitempty"`
	Note    string    `yaml:"note,omitempty"`
	Modes   []outMode `yaml:"modes"`
}

type outMode struct {
	Mode       string       `yaml:"mode"`
	Kind       string       `yaml:"kind"`
	Slots      int          `yaml:"slots"`
	Heads      *outHeads    `yaml:"heads,omitempty"`
	Dimmer     *outParam    `yaml:"dimmer,omitempty"`
	Emitters   []outEmitter `yaml:"emitters,omitempty"`
	CCT        *outParam    `yaml:"cct,omitempty"`
	Tint       *outParam    `yaml:"tint,omitempty"`
	X          *outParam    `yaml:"x,omitempty"`
	Y          *outParam    `yaml:"y,omitempty"`
	Hue        *outParam    `yaml:"hue,omitempty"`
	Saturation *outParam    `yaml:"saturation,omitempty"`
	Space      string       `yaml:"space,omitempty"`
	Set        []outPin     `yaml:"set,omitempty"`
	Shutter    *outShutter  `yaml:"shutter,omitempty"`
	NeverTouch []outNever   `yaml:"never_touch,omitempty"`
}

type outHeads struct {
	Count  int `yaml:"count"`
	Stride int `yaml:"stride"`
}

type outParam struct {
	Slots   []int     `yaml:"slots,flow"`
	Levels  []uint32  `yaml:"levels,flow,omitempty"`
	Common  bool      `yaml:"common,omitempty"`
	Kelvin  []float64 `yaml:"kelvin,flow,omitempty"`
	Toward  string    `yaml:"toward,omitempty"`
	Range   []float64 `yaml:"range,flow,omitempty"`
	Degrees []float64 `yaml:"degrees,flow,omitempty"`
	Percent []float64 `yaml:"percent,flow,omitempty"`
}

type outEmitter struct {
	Name        string `yaml:"name"`
	Colour      string `yaml:"colour,omitempty"`
	outParam    `yaml:",inline"`
	XY          []float64 `yaml:"xy,flow,omitempty"`
	DominantNM  float64   `yaml:"dominant_nm,omitempty"`
	Uncertainty float64   `yaml:"uncertainty,omitempty"`
	Flux        float64   `yaml:"flux,omitempty"`
	Curve       string    `yaml:"curve,omitempty"`
}

type outPin struct {
	Name     string `yaml:"name"`
	Slots    []int  `yaml:"slots,flow"`
	To       uint32 `yaml:"to"`
	Why      string `yaml:"why,omitempty"`
	EachHead bool   `yaml:"each_head,omitempty"`
}

type outShutter struct {
	Slots    []int       `yaml:"slots,flow"`
	Open     uint32      `yaml:"open"`
	Closed   [][2]uint32 `yaml:"closed,flow,omitempty"`
	Strobe   [][2]uint32 `yaml:"strobe,flow,omitempty"`
	EachHead bool        `yaml:"each_head,omitempty"`
}

type outNever struct {
	Name     string `yaml:"name"`
	Slots    []int  `yaml:"slots,flow"`
	Safe     uint32 `yaml:"safe"`
	EachHead bool   `yaml:"each_head,omitempty"`
}
