package instrument

import (
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// Draft is what a decoder made of a message, before a feed accepts it.
type Draft struct {
	Quantity    Quantity
	UV          colorcalc.UV
	Y           float64
	HasY        bool
	Spectrum    *spectrum.Spectrum
	Stamp       time.Time // end of integration by the instrument's clock
	HasStamp    bool
	Integration time.Duration // 0: not told
	Seq         uint64
	HasSeq      bool
	Probe       string
	Serial      string
	RoundXY     float64
	Flags       Flags
	Raw         string
	Asked       time.Time // when the measurement was triggered; zero: not by us
}

// MaxDelay is the longest from the end of an integration to the arrival of its
// reading, where the instrument's clock is to be believed.
const MaxDelay = 3 * time.Second

// Finite reports whether all numbers of the draft are.
func (d Draft) Finite() bool { return finite(d.UV.U) && finite(d.UV.V) && finite(d.Y) }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// OnDiagram is a wide box round the spectral locus in CIE 1976 u', v': the
// locus reaches from u' = 0.001 (about 505 nm) to 0.623 (700 nm) and from v' =
// 0.016 (380 nm) to 0.587 (520 nm); 0.01 is left for the noise of saturated
// lights (CIE 15:2018, table of the 2 degree observer).
func OnDiagram(c colorcalc.UV) bool {
	return c.U >= -0.01 && c.U <= 0.633 && c.V >= 0.006 && c.V <= 0.597 && c.XY().Valid()
}

// Cut keeps the head of a message for display.
func Cut(m []byte) string {
	const most = 512
	if len(m) > most {
		return string(m[:most]) + "…"
	}
	return string(m)
}
