// Package cie carries the tables of the International Commission on
// Illumination that the colour room computes with: colour-matching functions,
// daylight components and illuminants. Each file names its source, grid and
// unit in its first line. They are read on first use.
package cie

import (
	_ "embed"
	"sync"

	"trueup/colorcalc/internal/table"
)

var (
	//go:embed cie1931_2deg_cmf.csv
	cmf2 string
	//go:embed cie1964_10deg_cmf.csv
	cmf10 string
	//go:embed cie_daylight_components.csv
	daylight string
	//go:embed cie_illuminants_a_d.csv
	illuminantsAD string
	//go:embed cie_illuminants_fl.csv
	illuminantsFL string
	//go:embed cie_illuminants_led.csv
	illuminantsLED string
)

// CMF2 gives the CIE 1931 2-degree functions, 360-830 nm at 1 nm (ISO 11664-1).
var CMF2 = sync.OnceValue(func() *table.Table { return table.Must(cmf2) })

// CMF10 gives the CIE 1964 10-degree functions, 360-830 nm at 1 nm (ISO 11664-1).
var CMF10 = sync.OnceValue(func() *table.Table { return table.Must(cmf10) })

// Daylight gives S0, S1 and S2, 300-830 nm at 5 nm (CIE 15:2018).
var Daylight = sync.OnceValue(func() *table.Table { return table.Must(daylight) })

// Illuminants gives the tables of A and D (300-830 nm), FL and LED (380-780
// nm), all at 5 nm, relative power (CIE 15:2018, ISO 11664-2).
var Illuminants = sync.OnceValue(func() []*table.Table {
	return []*table.Table{table.Must(illuminantsAD), table.Must(illuminantsFL), table.Must(illuminantsLED)}
})
