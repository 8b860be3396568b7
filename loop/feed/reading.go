package feed

import (
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// Reading is one measurement of one probe, normalised.
type Reading struct {
	Time        time.Time     // end of integration, on our clock
	Received    time.Time     // when it reached us
	Integration time.Duration // how long the light was gathered, at most
	Told        bool          // Integration is what the instrument or its description tells
	Seq         uint64        // the instrument's own count; see HasSeq
	HasSeq      bool
	Probe       string // as the rig names it; "" with a feed of one probe
	Serial      string // of the measuring head, where told
	Quantity    Quantity
	UV          colorcalc.UV
	Y           float64 // level: lux, or the instrument's own unit; see HasY
	HasY        bool
	Spectrum    *spectrum.Spectrum // nil where none was told; relative unless Y came from it
	// RoundXY is the step to which the instrument rounds x and y, 0 when it is
	// finer than 1e-6. Rounding is noise: variance step*step/12 per axis
	// (uniform distribution).
	RoundXY float64
	Flags   Flags
	Raw     string // the text it was read from, cut to a bounded length
}

// Began is when the integration began. A reading counts for a light only if
// this lies at or after the moment that was asked for.
func (r Reading) Began() time.Time { return r.Time.Add(-r.Integration) }

// XYZ gives tristimulus values; Y = 1 where the reading has no level.
func (r Reading) XYZ() colorcalc.XYZ {
	y := r.Y
	if !r.HasY {
		y = 1
	}
	return r.UV.XYZ(y)
}
