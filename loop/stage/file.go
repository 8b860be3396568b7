package stage

import (
	"fmt"
	"time"

	"trueup/profiles/printable"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// File is a stage file: what really stands where a rig says that something
// stands. Everything in it has a default, so that an empty file, or none, is a
// stage of ordinary lamps that differ as lamps do.
type File struct {
	Seed    uint64       `yaml:"seed" help:"the same seed gives the same fixtures and the same noise"`
	Spill   float64      `yaml:"spill" min:"0" max:"1" help:"share of a fixture's light that falls on the probes of others"`
	Bounce  *MovedFile   `yaml:"spill_colour" help:"how far the colour of that spilt light is off"`
	Lux     float64      `yaml:"lux" min:"1" max:"100000" help:"level at its probe of a fixture at full, lux; default 600"`
	Ambient *AmbientFile `yaml:"ambient" help:"light that is there whatever the fixtures do"`
	Meter   *MeterFile   `yaml:"meter"`
	Spectro *SpectroFile `yaml:"spectrometer" help:"the meters are spectrometers and tell a spectrum beside x, y and lux; {} for an ordinary one"`
	Probes  []ProbeFile  `yaml:"probes" items:"0 200" help:"what is odd about single probes"`
	Lamps   []LampFile   `yaml:"lamps" items:"0 2000" help:"what differs from ordinary fixtures, by profile or by fixture"`

	doc *yamlfile.Doc
}

// AmbientFile is spill of daylight or work light.
type AmbientFile struct {
	Lux    float64 `yaml:"lux" need:"yes" min:"0" max:"100000"`
	Kelvin float64 `yaml:"kelvin" need:"yes" min:"1700" max:"20000"`
	Duv    float64 `yaml:"duv" min:"-0.03" max:"0.03"`

	Walk  float64    `yaml:"walk" min:"0" max:"1" help:"random walk of the level: fraction after one minute, growing with the root of time"`
	Tint  float64    `yaml:"colour_walk" min:"0" max:"0.05" help:"random walk of the colour: of each of u' and v' after one minute"`
	Drift float64    `yaml:"drift" min:"-1" max:"10" help:"steady change of the level: fraction in ten minutes"`
	Swing *SwingFile `yaml:"swing" help:"the level swings, as under clouds that pass"`
	Step  *StepFile  `yaml:"step" help:"one sudden change"`
	Blink *BlinkFile `yaml:"blink" help:"a neighbour that goes on and off"`
}

// MovedFile is a step in u', v'.
type MovedFile struct {
	DU float64 `yaml:"du" min:"-0.1" max:"0.1"`
	DV float64 `yaml:"dv" min:"-0.1" max:"0.1"`
}

// StepFile is a sudden change of a light: of the ambient light, or by a filter put in
// or taken off.
type StepFile struct {
	At     float64  `yaml:"at_s" need:"yes" min:"0.1" max:"86400" help:"seconds after the stage began"`
	Factor *float64 `yaml:"factor" min:"0" max:"20" help:"level from then on, of the level before; default 1"`
	DU     float64  `yaml:"du" min:"-0.1" max:"0.1"`
	DV     float64  `yaml:"dv" min:"-0.1" max:"0.1"`
}

// SwingFile is a level that swings smoothly.
type SwingFile struct {
	Share  float64 `yaml:"share" need:"yes" min:"0" max:"1" help:"how far it swings at the most, of the ambient lux"`
	Period float64 `yaml:"period_s" need:"yes" min:"1" max:"3600" help:"of the faster of two waves"`
}

// BlinkFile is a neighbour that goes on and off.
type BlinkFile struct {
	Share float64 `yaml:"share" need:"yes" min:"0" max:"100" help:"its light, of the ambient lux, on top of that"`
	From  float64 `yaml:"from_s" need:"yes" min:"0.1" max:"3600" help:"shortest time on or off"`
	To    float64 `yaml:"to_s" need:"yes" min:"0.1" max:"3600" help:"longest time on or off"`
}

// SpectroFile describes spectrometers, all alike. Their x, y and lux are those of the meter: they are corrected for bandwidth and stray
// light, the spectrum is not.
type SpectroFile struct {
	Bandwidth *float64 `yaml:"bandwidth_nm" min:"0" max:"40" help:"full width at half maximum of what one value gathers; default 8"`
	Stray     *float64 `yaml:"stray" min:"0" max:"0.1" help:"share of all light that is spread evenly over the spectrum; default 0.002"`
	Sigma     *float64 `yaml:"sigma" min:"0" max:"0.5" help:"noise of each value, of the largest; default 0.002"`
	Step      *float64 `yaml:"step_nm" min:"1" max:"20" help:"from value to value; default 5"`
}

// ProbeFile is what is odd about one probe.
type ProbeFile struct {
	Probe string  `yaml:"probe" need:"yes" help:"name of a probe of the rig"`
	DU    float64 `yaml:"du" min:"-0.05" max:"0.05" help:"how far it reads from the truth in u'"`
	DV    float64 `yaml:"dv" min:"-0.05" max:"0.05" help:"how far it reads from the truth in v'"`
	Sees  string  `yaml:"turned_to" help:"a fixture that it sees in the place of its own"`
	Hands float64 `yaml:"hand_every_s" min:"0" max:"86400" help:"a hand is over it for 200 ms about so often; 0 = never"`
}

// MeterFile describes the meters, all alike.
type MeterFile struct {
	Integration *float64 `yaml:"integration_ms" min:"5" max:"10000" help:"window over which light is averaged; default 150"`
	Period      *float64 `yaml:"period_ms" min:"5" max:"60000" help:"from reading to reading; default 200"`
	Latency     *float64 `yaml:"latency_ms" min:"0" max:"10000" help:"from the end of the window to the line; default 30"`
	SigmaUV     *float64 `yaml:"sigma_uv" min:"0" max:"0.05" help:"noise of each of u' and v'; default 0.0003"`
	SigmaLevel  *float64 `yaml:"sigma_level" min:"0" max:"0.5" help:"noise of the level, as a fraction; default 0.005"`
	RoundXY     *float64 `yaml:"round_xy" min:"0" max:"0.01" help:"step of x and y; default 0.0001; 0 = none"`
	RoundLux    *float64 `yaml:"round_lux" min:"0" max:"100" help:"step of the level in lux; default 0.1"`
	Outliers    *float64 `yaml:"outliers" min:"0" max:"1" help:"share of readings that are not of this light; default 0"`
	Dropouts    *float64 `yaml:"dropouts" min:"0" max:"1" help:"share of readings that never come; default 0"`
	Grow        *float64 `yaml:"noise_growth_per_hour" min:"0" max:"1000" help:"the noise grows by so much of itself; default 0"`
	Stale       *float64 `yaml:"stale" min:"0" max:"1" help:"share of readings that repeat the last one; default 0"`
}

// LampFile is what is known of the lamps of one profile, or of one fixture. An
// entry for a fixture goes over the one of its profile.
type LampFile struct {
	Profile string `yaml:"profile" help:"name of a profile, as the profile gives it"`
	Fixture string `yaml:"fixture" help:"name of a fixture of the rig"`

	Emitters   []EmitterFile `yaml:"emitters" items:"1 12" help:"what is really inside; default: what the profile's emitters are called"`
	Law        string        `yaml:"law" one:"linear square s gamma" help:"of the emitters"`
	DimmerLaw  string        `yaml:"dimmer_law" one:"linear square s gamma"`
	CutOff     *float64      `yaml:"cut_off" min:"0" max:"0.5" help:"drive below which an emitter stays dark; default 0.01"`
	Limit      *float64      `yaml:"limit" min:"0" max:"1" help:"share of full power at which the fixture's limiter steps in; 0 = none"`
	Unit       string        `yaml:"unit" help:"which of the many units this is; default: the fixture's name"`
	Spread     *float64      `yaml:"spread" min:"0" max:"5" help:"width of the bins that units are drawn from; 1 = ordinary"`
	KindSpread *float64      `yaml:"kind_spread" min:"0" max:"5" help:"how far the whole kind is off its data sheet; 1 = ordinary"`
	Lux        *float64      `yaml:"lux" min:"1" max:"100000" help:"level at its probe at full"`
	Warm       *float64      `yaml:"warm" min:"0" max:"1" help:"warmth at the start, of the warmth at full; default 0"`
	ResponseMs *float64      `yaml:"response_ms" min:"0" max:"10000" help:"time constant of the fixture's own fade; default 60"`
	DelayMs    *float64      `yaml:"delay_ms" min:"0" max:"5000" help:"from the wire to the first change; default 25"`
	Heat       *float64      `yaml:"heat" min:"0" max:"5" help:"heating at full, 1 = ordinary, 0 = none"`
	HeatTime   *float64      `yaml:"heat_time_s" min:"1" max:"7200" help:"time constant of the heating; default 150"`
	Current    *float64      `yaml:"current_shift_nm" min:"0" max:"10" help:"shift to the blue from little current to full"`
	Dead       bool          `yaml:"dead" help:"the fixture gives no light"`
	Swapped    []string      `yaml:"swapped" items:"2 2" help:"two emitters whose wires are exchanged"`
	AddressOff int           `yaml:"address_off" min:"-511" max:"511" help:"slots by which the fixture's own address is above that of the rig; below 0: under it"`
	Mode       string        `yaml:"mode" help:"the mode that the fixture itself is set to, of its profile's; default: the rig's"`
	Engine     *EngineFile   `yaml:"engine"`
	Unrest     *UnrestFile   `yaml:"unrest"`

	Weak       []WeakFile     `yaml:"weak" items:"1 12" help:"emitters that give less than they should, or nothing"`
	Play       *float64       `yaml:"play" min:"0" max:"0.1" help:"hysteresis of the lowest codes: how far the light lags behind them, as a fraction of full drive"`
	Wave       *float64       `yaml:"curve_waves" min:"0" max:"0.1" help:"bumps of the emitters' curves over their codes, as a fraction of the light"`
	PWM        *float64       `yaml:"pwm_hz" min:"0" max:"100000" help:"frequency of the pulses that dim the emitters, so that a meter's window can beat with them; 0 = none"`
	Calibrates *CalibrateFile `yaml:"calibrates" help:"the fixture changes its white by itself some time after a large move"`
	Warming    *WarmingFile   `yaml:"warming" help:"its colour moves from the beginning of the stage on, whatever it does"`
	Gel        *StepFile      `yaml:"gel" help:"a filter that is put in or taken off"`
}

// WeakFile is an emitter that gives less than it should.
type WeakFile struct {
	Emitter string  `yaml:"emitter" need:"yes" help:"the profile's word for it, or what is really inside"`
	Gain    float64 `yaml:"gain" min:"0" max:"2" help:"share of its light; 0 = dead"`
}

// CalibrateFile is how a lamp sets itself anew.
type CalibrateFile struct {
	By    float64 `yaml:"by" need:"yes" min:"0" max:"0.5" help:"how far its emitters are moved against each other, as a fraction"`
	After float64 `yaml:"after_s" need:"yes" min:"0" max:"600" help:"seconds after the move"`
}

// WarmingFile is a colour that moves exponentially.
type WarmingFile struct {
	DU   float64 `yaml:"du" min:"-0.1" max:"0.1" help:"in the long run"`
	DV   float64 `yaml:"dv" min:"-0.1" max:"0.1"`
	Time float64 `yaml:"time_s" need:"yes" min:"1" max:"86400" help:"time constant"`
}

// EmitterFile is one emitter; what is left out is as its name says.
type EmitterFile struct {
	Name   string   `yaml:"name" need:"yes" help:"the profile's word for it"`
	Like   string   `yaml:"like" help:"a trade name whose figures are taken; default: name"`
	Peak   *float64 `yaml:"peak_nm" min:"380" max:"780"`
	FWHM   *float64 `yaml:"fwhm_nm" min:"8" max:"200"`
	Leak   *float64 `yaml:"leak" min:"0" max:"5" help:"pump light through the phosphor"`
	Flux   *float64 `yaml:"flux" min:"0.0001" max:"100"`
	Droop  *float64 `yaml:"droop_per_k" min:"0" max:"0.01"`
	Drift  *float64 `yaml:"drift_nm_per_k" min:"-0.3" max:"0.3"`
	Kelvin *float64 `yaml:"kelvin" min:"1500" max:"12000" help:"filament or discharge: temperature of the continuum"`
}

// EngineFile is a lamp's own computer where it differs from its profile.
type EngineFile struct {
	From       *float64 `yaml:"from_k" min:"1000" max:"25000" help:"at the low end of the slot"`
	To         *float64 `yaml:"to_k" min:"1000" max:"25000" help:"at the high end of the slot"`
	Reciprocal *bool    `yaml:"mired_steps" help:"linear in mired, not in kelvin"`
	TintFrom   *float64 `yaml:"tint_from" min:"-0.05" max:"0.05" help:"Duv at the low end of the slot"`
	TintTo     *float64 `yaml:"tint_to" min:"-0.05" max:"0.05"`
	Early      *float64 `yaml:"early" min:"0" max:"0.2" help:"how much sooner its range may end; default 0.02"`
}

// UnrestFile is how a discharge lamp wanders.
type UnrestFile struct {
	Level  float64 `yaml:"level" min:"0" max:"0.5" help:"slow swing of all light, as a fraction"`
	Colour float64 `yaml:"colour" min:"0" max:"0.5" help:"slow swing of its lines against its continuum"`
	Ageing float64 `yaml:"ageing_per_hour" min:"-1" max:"1" help:"lines against continuum, a fraction an hour"`
}

// LoadFile reads a stage file.
func LoadFile(path string) (*File, error) {
	data, err := userfile.Read(path, userfile.Stage)
	if err != nil {
		return nil, fmt.Errorf("stage file: %w", err)
	}
	return ParseFile(path, data)
}

// ParseFile reads the text of a stage file; name is used in messages. Errors
// are yamlfile.Errors: all that is wrong, each with its place.
func ParseFile(name string, data []byte) (*File, error) {
	f := &File{}
	doc, err := yamlfile.Decode(name, data, f)
	if doc == nil {
		return nil, err
	}
	f.doc = doc
	seen := map[string]int{}
	for i, l := range f.Lamps {
		at := fmt.Sprintf("$.lamps[%d]", i)
		if (l.Profile == "") == (l.Fixture == "") {
			doc.Errorf(at, "an entry is for a profile or for a fixture").Advise("give one of the keys profile and fixture")
			continue
		}
		key := "profile " + l.Profile + l.Fixture
		if l.Fixture != "" {
			key = "fixture " + l.Fixture
		}
		if _, twice := seen[key]; twice {
			doc.Errorf(at, "%s has an entry already", key).Advise("keep one of the two")
		}
		seen[key] = i
		for j, e := range l.Emitters {
			if _, ok := Nominal(e.like()); !ok {
				words := NominalNames()
				bad := doc.Errorf(fmt.Sprintf("%s.emitters[%d]", at, j), "there is no emitter called %q to be like", e.like())
				if near := yamlfile.Nearest(e.like(), words); near != "" {
					bad.Advise("did you mean %q?", near)
				} else {
					bad.Advise("give the key like one of: %v", words)
				}
			}
		}
	}
	if a := f.Ambient; a != nil && a.Blink != nil && a.Blink.To < a.Blink.From {
		doc.Errorf("$.ambient.blink", "the longest time is shorter than the shortest").Advise("make to_s at least from_s")
	}
	m := f.MeterSpec()
	if m.Period < m.Integration {
		doc.Errorf("$.meter", "a reading of %s can not come every %s", printable.Span(m.Integration), printable.Span(m.Period)).
			Advise("make period_ms at least integration_ms")
	}
	if err := doc.Err(); err != nil {
		return nil, err
	}
	return f, nil
}

func (e EmitterFile) like() string {
	if e.Like != "" {
		return e.Like
	}
	return e.Name
}

func (e EmitterFile) emitter() Emitter {
	d, _ := Nominal(e.like())
	d.Name = e.Name
	for _, set := range []struct {
		to   *float64
		from *float64
	}{{&d.Peak, e.Peak}, {&d.FWHM, e.FWHM}, {&d.Leak, e.Leak}, {&d.Flux, e.Flux}, {&d.Droop, e.Droop}, {&d.Drift, e.Drift}, {&d.Kelvin, e.Kelvin}} {
		if set.from != nil {
			*set.to = *set.from
		}
	}
	return d
}

func or(p *float64, def float64) float64 {
	if p == nil {
		return def
	}
	return *p
}

func ms(p *float64, def float64) time.Duration {
	return time.Duration(or(p, def) * float64(time.Millisecond))
}

// MeterSpec is the file's meter with the defaults filled in.
func (f *File) MeterSpec() MeterSpec {
	m := MeterFile{}
	if f.Meter != nil {
		m = *f.Meter
	}
	return MeterSpec{Integration: ms(m.Integration, 150), Period: ms(m.Period, max(200, or(m.Integration, 150))), Latency: ms(m.Latency, 30),
		SigmaUV: or(m.SigmaUV, 0.0003), SigmaLevel: or(m.SigmaLevel, 0.005), RoundXY: or(m.RoundXY, 1e-4), RoundLux: or(m.RoundLux, 0.1),
		Outlier: or(m.Outliers, 0), Dropout: or(m.Dropouts, 0), Stale: or(m.Stale, 0), Grow: or(m.Grow, 0)}
}
