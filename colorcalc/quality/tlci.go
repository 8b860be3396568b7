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
	samples [TLCISamples][3]light // sample times camera
	s       [3]light              // daylight components
}

var tlciData = sync.OnceValue(func() *tlciTables {
	d := &tlciTables{}
	camera, day, samples := table.Must(tlciCamera), table.Must(tlciDaylight), table.Must(tlciSamples)
	for i := range tlciPoints {
		for c := range 3 {
			d.camera[c][i] = camera.Columns[c][i]
			d.s[c][i] = day.Columns[c][i]
			for k := range d.samples {
				d.samples[k][c][i] = samples.Columns[k][i] * camera.Columns[c][i]
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
	for i := tlciPoints; i < points; i++ {
		l[i] = 0 // the method ends at 760 nm
	}
	r := &Television{}
	r.CCT, r.OnDaylight = tlciNearest(tristimulus(l, &shared().obs2).XY().UV60())
	var ref light
	tlciReference(r.CCT, r.OnDaylight, &ref)

	d := tlciData()
	balanceT, balanceR := cameraBalance(l, d), cameraBalance(&ref, d)
	var sum float64
	n := 0
	for k := range d.samples {
		lt, okT := cameraToLab(cameraSignals(l, &d.samples[k], balanceT))
		lr, okR := cameraToLab(cameraSignals(&ref, &d.samples[k], balanceR))
		r.DE[k] = colorcalc.DeltaE2000(lr, lt)
		if !okT || !okR {
			r.Excluded = append(r.Excluded, k+1)
			continue
		}
		sum += math.Pow(r.DE[k], 4)
		n++
	}
	if n == 0 {
		return nil, spectrum.ErrNoLight
	}
	r.DEa = math.Pow(sum/float64(n), 0.25)
	r.Qa = 100 / (1 + math.Pow(r.DEa/3.16, 2.4))
	return r, nil
}

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
