package stage

import (
	"fmt"
	"time"

	"trueup/colorcalc"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// File is a stage file: what really stands where a rig says that something
// stands. Everything in it has a default, so that an empty file, or none, is a
// stage of ordinary lamps that differ as lamps do.
type File struct {
	Seed    uint64       `yaml:"seed" help:"the same seed gives the same lamps and the same noise"`
	Spill   float64      `yaml:"spill" min:"0" max:"1" help:"share of a fixture's light that falls on the probes of others"`
	Lux     float64      `yaml:"lux" min:"1" max:"100000" help:"level at its probe of a fixture at full, lux; default 600"`
	Ambient *AmbientFile `yaml:"ambient" help:"light that is there whatever the fixtures do"`
	Meter   *MeterFile   `yaml:"meter"`
	Lamps   []LampFile   `yaml:"lamps" items:"0 2000" help:"what differs from ordinary lamps, by profile or by fixture"`

	doc *yamlfile.Doc
}

// AmbientFile is spill of daylight or work light.
type AmbientFile struct {
	Lux    float64 `yaml:"lux" need:"yes" min:"0" max:"100000"`
	Kelvin float64 `yaml:"kelvin" need:"yes" min:"1700" max:"20000"`
	Duv    float64 `yaml:"duv" min:"-0.03" max:"0.03"`
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
	Limit      *float64      `yaml:"limit" min:"0" max:"1" help:"share of full power at which the lamp's limiter steps in; 0 = none"`
	Unit       string        `yaml:"unit" help:"which of the many units this is; default: the fixture's name"`
	Spread     *float64      `yaml:"spread" min:"0" max:"5" help:"width of the bins that units are drawn from; 1 = ordinary"`
	KindSpread *float64      `yaml:"kind_spread" min:"0" max:"5" help:"how far the whole kind is off its data sheet; 1 = ordinary"`
	Lux        *float64      `yaml:"lux" min:"1" max:"100000" help:"level at its probe at full"`
	Warm       *float64      `yaml:"warm" min:"0" max:"1" help:"warmth at the start, of the warmth at full; default 0"`
	ResponseMs *float64      `yaml:"response_ms" min:"0" max:"10000" help:"time constant of the lamp's own fade; default 60"`
	DelayMs    *float64      `yaml:"delay_ms" min:"0" max:"5000" help:"from the wire to the first change; default 25"`
	Heat       *float64      `yaml:"heat" min:"0" max:"5" help:"heating at full, 1 = ordinary, 0 = none"`
	HeatTime   *float64      `yaml:"heat_time_s" min:"1" max:"7200" help:"time constant of the heating; default 150"`
	Current    *float64      `yaml:"current_shift_nm" min:"0" max:"10" help:"shift to the blue from little current to full"`
	Dead       bool          `yaml:"dead" help:"the lamp gives no light"`
	Swapped    []string      `yaml:"swapped" items:"2 2" help:"two emitters whose wires are exchanged"`
	Engine     *EngineFile   `yaml:"engine"`
	Unrest     *UnrestFile   `yaml:"unrest"`
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
	m := f.MeterSpec()
	if m.Period < m.Integration {
		doc.Errorf("$.meter", "a reading of %v can not come every %v", m.Integration, m.Period).
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
		Outlier: or(m.Outliers, 0), Dropout: or(m.Dropouts, 0), Stale: or(m.Stale, 0)}
}

// AmbientLight is the file's ambient light, lux.
func (f *File) AmbientLight() colorcalc.XYZ {
	a := f.Ambient
	if a == nil {
		a = &AmbientFile{Lux: 0.5, Kelvin: 3000}
	}
	return White(colorcalc.Kelvin(a.Kelvin).Mired(), colorcalc.Duv(a.Duv)).XYZ(a.Lux)
}
