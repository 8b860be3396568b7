package feed

import (
	"trueup/loop/feed/instrument"
	"trueup/profiles/userfile"
)

// Quantity says what an instrument really told us.
type Quantity = instrument.Quantity

// Flags are remarks about one reading.
type Flags = instrument.Flags

// Reason says why a message did not become a reading that counts.
type Reason = instrument.Reason

// Aside is a message that was set aside.
type Aside = instrument.Aside

// The quantities, remarks and reasons; see instrument.
const (
	Chromaticity    = instrument.Chromaticity
	ChromaLevel     = instrument.ChromaLevel
	Tristimulus     = instrument.Tristimulus
	ColourTemp      = instrument.ColourTemp
	ColourTempLevel = instrument.ColourTempLevel
	SpectralPower   = instrument.SpectralPower

	Saturated  = instrument.Saturated
	Underrange = instrument.Underrange
	Timed      = instrument.Timed
	NoDuv      = instrument.NoDuv
	NotWhite   = instrument.NotWhite
	Typed      = instrument.Typed
	Corrected  = instrument.Corrected

	Unreadable   = instrument.Unreadable
	TooLong      = instrument.TooLong
	TooFast      = instrument.TooFast
	NotFinite    = instrument.NotFinite
	OffDiagram   = instrument.OffDiagram
	NoWhite      = instrument.NoWhite
	Dark         = instrument.Dark
	Overdriven   = instrument.Overdriven
	TooLow       = instrument.TooLow
	Repeated     = instrument.Repeated
	OutOfOrder   = instrument.OutOfOrder
	ClockSkewed  = instrument.ClockSkewed
	Fault        = instrument.Fault
	BadChecksum  = instrument.BadChecksum
	UnknownProbe = instrument.UnknownProbe
	BeforeSettle = instrument.BeforeSettle
)

// LoadInstrument reads a description from a file.
func LoadInstrument(path string) (*instrument.Instrument, error) {
	data, err := userfile.Read(path, userfile.Instrument)
	if err != nil {
		return nil, err
	}
	return instrument.Parse(path, data)
}
