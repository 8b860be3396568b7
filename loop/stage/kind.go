package stage

import "time"

// Emitter describes one emitter of a kind of lamp, as its data sheet would:
// the middle of the bins, cold.
type Emitter struct {
	Name   string
	Form   Form
	Peak   float64 // nm; of the LED, or of the pump behind a phosphor
	FWHM   float64 // nm
	Tail   float64 // 0..1, share of the slow tail on the long side
	Leak   float64 // Phosphor: share of the pump that leaks through
	Bands  []Band
	Kelvin float64 // Filament, Arc
	Lines  []Line

	Flux  float64 // luminous flux at full drive, relative to the other emitters
	Droop float64 // radiant power lost per kelvin of heating, e.g. 0.0035
	Drift float64 // nm per kelvin of heating
	Watts float64 // electric power at full drive, relative
}

// Scatter is how lamps of one kind differ: half widths of bins. What the whole
// kind is off from its data sheet comes first, what a unit is off from its
// kind second.
type Scatter struct {
	Wave     float64 // nm, peak of LEDs and pumps
	Flux     float64 // ln, radiant power
	Leak     float64 // ln, pump leaking through the phosphor: tint
	Shift    float64 // nm, phosphor bands
	Exponent float64 // ln, exponent of the dimmer law, common to a unit's emitters
	Knot     float64 // relative error of each entry of a factory table
}

// Scale makes every bin k times as wide.
func (s Scatter) Scale(k float64) Scatter {
	return Scatter{k * s.Wave, k * s.Flux, k * s.Leak, k * s.Shift, k * s.Exponent, k * s.Knot}
}

// Bins as shop floors know them: KindScatter is what a whole kind is off its
// data sheet, UnitScatter what units differ by.
var (
	KindScatter = Scatter{Wave: 2.5, Flux: 0.13, Leak: 0.04, Shift: 1.2, Exponent: 0.025, Knot: 0.02}
	UnitScatter = Scatter{Wave: 4, Flux: 0.15, Leak: 0.06, Shift: 2, Exponent: 0.05, Knot: 0.01}
)

// Heat is the thermal side of a lamp: two masses in series, and each emitter's
// own junction above them. Rises are in kelvin at full power.
type Heat struct {
	Sink, Board, Junction float64
	SinkTime, BoardTime   time.Duration // time constants
	ShiftWithCurrent      float64       // nm towards the blue from little current to full; 0 when dimmed by pulse width
}

// WarmLamp is an ordinary fan-less lamp.
var WarmLamp = Heat{Sink: 27, Board: 4, Junction: 7, SinkTime: 150 * time.Second, BoardTime: 7 * time.Second}

// Kind describes a kind of lamp. Emitters are driven one by one, unless Engine
// says that the lamp's own computer mixes them.
type Kind struct {
	Name       string
	Emitters   []Emitter
	Law        Law     // of each emitter
	DimLaw     Law     // of the dimmer, if the lamp has one
	CutOff     float64 // drive below which an emitter stays dark, 0..1
	PerEmitter float64 // ln, half width of the exponent's scatter between emitters of one unit
	Heat       Heat
	Limit      float64       // electric power at which the limiter steps in, share of all emitters at full; 0 = none
	Response   time.Duration // of the lamp's own fade
	Ease       Ease          // the way of that
	Delay      time.Duration // from the wire to the first change
	Engine     *Engine
	Unrest     Unrest
	Quirks     Quirks
}

// Unrest is how a discharge lamp or an old ballast wanders by itself.
type Unrest struct {
	Level  float64 // ln, amplitude of the slow swings of all its light
	Colour float64 // ln, amplitude of the swings of its lines against its continuum
	Ageing float64 // ln per hour, lines against continuum
}
