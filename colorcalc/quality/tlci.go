package quality

import (
	_ "embed"
	"math"
	"sync"

	"trueup/colorcalc"
	"trueup/colorcalc/internal/table"
	"trueup/colorcalc/spectrum"
)

var (
	//go:embed tlci_camera.csv
	tlciCamera string
	//go:embed tlci_daylight_components.csv
	tlciDaylight string
	//go:embed tlci_samples.csv
	tlciSamples string
	//go:embed tlci_greys.csv
	tlciGreys string
)

// TLCISamples is the number of test colours of EBU Tech 3355.
const TLCISamples = 18

const (
	tlciPoints = 77       // 380-760 nm at 5 nm
	tlciC2     = 1.4350e7 // nm K: Tech 3355 keeps the constant of 1931
)

// Television is the result of TLCI-2012 (EBU Tech 3355, March 2017).
type Television struct {
	Qa       float64 // the index; report it rounded
	DEa      float64 // fourth-power mean of the differences counted
	DE       [TLCISamples]float64
	Excluded []int // samples, from 1, left out for a negative camera signal
	CCT      colorcalc.Kelvin
	// OnDaylight: the nearest locus was that of daylight.
	OnDaylight bool
}

type tlciTables struct {
	camera  [3]light
	samples [TLMFSamples][3]light // sample times camera; the greys of TLMF come last
	s       [3]light              // daylight components
}

var tlciData = sync.OnceValue(func() *tlciTables {
	d := &tlciTables{}
	camera, day := table.Must(tlciCamera), table.Must(tlciDaylight)
	samples := append(table.Must(tlciSamples).Columns, table.Must(tlciGreys).Columns...)
	for i := range tlciPoints {
		for c := range 3 {
			d.camera[c][i] = camera.Columns[c][i]
			d.s[c][i] = day.Columns[c][i]
			for k := range d.samples {
				d.samples[k][c][i] = samples[k][i] * camera.Columns[c][i]
			}
		}
	}
	return d
})

// TLCI computes the television lighting consistency index with the standard
// camera and display of EBU Tech 3355. Errors: a broken spectrum, no light. A
// light of any colour gets an index: its reference is that of the nearest
// point of the tabulated loci, 1000-25000 K.
func TLCI(s spectrum.Spectrum) (*Television, error) {
	l, err := take(s)
	if err != nil {
		return nil, err
	}
	tlciCut(l)
	r := &Television{}
	r.CCT, r.OnDaylight = tlciNearest(tristimulus(l, &shared().obs2).XY().UV60())
	var ref light
	tlciReference(r.CCT, r.OnDaylight, &ref)

	d := tlciData()
	r.Excluded, r.DEa, err = televisionDifferences(r.DE[:], l, &ref, cameraBalance(l, d), cameraBalance(&ref, d))
	if err != nil {
		return nil, err
	}
	r.Qa = televisionScore(r.DEa)
	return r, nil
}

// televisionDifferences fills de with the CIEDE2000 of the first samples on the
// screen, of both lights with their balances, and gives the fourth-power mean of
// those that count: samples with a negative signal under either light are left out.
func televisionDifferences(de []float64, test, ref *light, balanceT, balanceR [3]float64) (excluded []int, mean float64, err error) {
	d := tlciData()
	var lt, lr [TLMFSamples]colorcalc.Lab
	var counts [TLMFSamples]bool
	for k := range de {
		var okT, okR bool
		lt[k], okT = cameraToLab(cameraSignals(test, &d.samples[k], balanceT))
		lr[k], okR = cameraToLab(cameraSignals(ref, &d.samples[k], balanceR))
		counts[k] = okT && okR
	}
	colorcalc.DeltaE2000s(de, lr[:], lt[:])
	var sum float64
	for k, v := range de {
		if !counts[k] {
			excluded = append(excluded, k+1)
			continue
		}
		sum += v * v * v * v
	}
	n := len(de) - len(excluded)
	if n == 0 {
		return nil, 0, spectrum.ErrNoLight
	}
	return excluded, math.Pow(sum/float64(n), 0.25), nil
}

// televisionScore maps the mean difference to 0..100; 3.16 gives 50 (EBU Tech 3355).
func televisionScore(dea float64) float64 { return 100 / (1 + math.Pow(dea/3.16, 2.4)) }

// tlciCut ends a light at 760 nm, where the method ends.
func tlciCut(l *light) { clear(l[tlciPoints:]) }

// tlciReference fills dst with the reference, 100 at 560 nm. Between 3400 and
// 5000 K it mixes the two fixed ends, not lights of the temperature itself.
func tlciReference(t colorcalc.Kelvin, daylight bool, dst *light) {
	if daylight {
		tlciDaylightAt(t, dst)
		return
	}
	if t < 3400 {
		tlciPlanckAt(t, dst)
		return
	}
	var d light
	tlciPlanckAt(3400, dst)
	tlciDaylightAt(5000, &d)
	for i := range dst {
		dst[i] = (float64(5000-t)*dst[i] + float64(t-3400)*d[i]) / 1600
	}
}

func tlciPlanckAt(t colorcalc.Kelvin, dst *light) {
	b := shared()
	ref := 100 * math.Expm1(tlciC2/(560*float64(t)))
	for i := range tlciPoints {
		dst[i] = ref * b.fifth[i] / math.Expm1(tlciC2/(spectrum.Visible5.NM(i)*float64(t)))
	}
}

// tlciDaylightAt has factors of its own (Tech 3355 Appendix 3).
func tlciDaylightAt(t colorcalc.Kelvin, dst *light) {
	c, _ := colorcalc.Daylight(min(max(t, colorcalc.MinDaylight), colorcalc.MaxDaylight))
	m := .02387 + .25539*c.X - .73217*c.Y
	m1 := (-1.34674 - 1.77861*c.X + 5.90757*c.Y) / m
	m2 := (.03638 - 31.44464*c.X + 30.064*c.Y) / m
	s := &tlciData().s
	for i := range tlciPoints {
		dst[i] = s[0][i] + m1*s[1][i] + m2*s[2][i]
	}
	k := 100 / dst[36] // 560 nm
	for i := range tlciPoints {
		dst[i] *= k
	}
}
