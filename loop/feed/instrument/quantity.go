package instrument

// Quantity says what an instrument really told us. What it cannot tell is
// never invented: a reading of Chromaticity has no level.
type Quantity uint8

// The quantities a reading can come in. All of them are normalised to CIE 1976
// chromaticity at the door.
const (
	Chromaticity     Quantity = iota + 1 // x, y or u', v' without a level
	ChromaLevel                          // x, y, Y or u', v', Y
	Tristimulus                          // X, Y, Z
	ColourTemp                           // CCT and Duv without a level
	ColourTempLevel                      // CCT, Duv and a level
	SpectralPower                        // a spectrum; chromaticity by integration
	quantitySentinel                     // keep last
)

// String gives the quantity as people write it.
func (q Quantity) String() string {
	switch q {
	case Chromaticity:
		return "xy"
	case ChromaLevel:
		return "xyY"
	case Tristimulus:
		return "XYZ"
	case ColourTemp:
		return "CCT Duv"
	case ColourTempLevel:
		return "CCT Duv Y"
	case SpectralPower:
		return "spectrum"
	}
	return "nothing"
}

// Flags are remarks about one reading.
type Flags uint8

// The remarks. A reading with Saturated, Underrange or NotWhite set is never handed out
// as a reading; it is set aside and counted.
const (
	Saturated  Flags = 1 << iota // the detector was driven into its stops
	Underrange                   // too dark for the instrument
	Timed                        // Time comes from the instrument's own clock
	NoDuv                        // the instrument gave CCT alone; Duv was taken as 0
	Typed                        // a person typed it
	Corrected                    // a stored correction of this probe was applied
	NotWhite                     // a colour that an instrument of colour temperature and Duv can not tell: no chromaticity is given
)

// Has reports whether all of the given flags are set.
func (f Flags) Has(g Flags) bool { return f&g == g }
