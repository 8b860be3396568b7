package stage

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"trueup/colorcalc"
	"trueup/colorcalc/spectrum"
)

// SpectroSpec describes a spectrometer. The zero value is a perfect one, with a value every 2 nm.
type SpectroSpec struct {
	BandwidthNM float64 // full width at half maximum of what one value gathers
	Stray       float64 // share of all light that is spread evenly over the spectrum
	Sigma       float64 // noise of each value, of the largest
	StepNM      float64 // from value to value; 0 = the stage's own
}

// spectrometer gathers spectra at one probe. A nil one gathers nothing. It has a random source of its own, so that a
// meter's faults are the same with it and without.
type spectrometer struct {
	spec SpectroSpec
	r    *rand.Rand
	sum  [gridN]float64
	kept map[*emitter]map[int]*[gridN]float64 // spectra at tenths of a kelvin
}

// Spectrometers makes every probe's meter one.
func (h *Hall) Spectrometers(spec SpectroSpec, seed uint64) {
	for _, p := range h.probes {
		p.spectro = &spectrometer{spec: spec, r: source(seed, "spectrometer/"+p.Name), kept: map[*emitter]map[int]*[gridN]float64{}}
	}
}

// forget begins a new window.
func (s *spectrometer) forget() {
	if s != nil {
		s.sum = [gridN]float64{}
	}
}

// gather adds the light at the probe between two moments. A filter or a wall in its way changes the level of a spectrum and not
// its shape; the light that is always there is that of a black body.
func (s *spectrometer) gather(h *Hall, p *probing, from, to time.Duration) {
	if s == nil {
		return
	}
	seconds := (to - from).Seconds()
	if y := p.ambient.At(h.now).Y; y > 0 {
		var black [gridN]float64
		k, _, err := colorcalc.CCT(p.Ambient.Light.XY())
		if err != nil {
			k = 3000
		}
		for i := range black {
			black[i] = planck(gridFrom+float64(i*gridStep), float64(k))
		}
		addScaled(&s.sum, &black, seconds*y/integrate(&black).Y)
	}
	for _, l := range h.lamps {
		k := l.Couple[p.Name]
		if !(k > 0) {
			continue
		}
		var light [gridN]float64
		plant := l.here(h.now)
		plant.spectrum(plant.pulsed(from, to), s.kept, &light)
		if y := l.Change.At(plant.Over(from, to).Scale(k), h.now).Y; y > 0 {
			addScaled(&s.sum, &light, seconds*y/max(integrate(&light).Y, 1e-12))
		}
	}
}

func addScaled(dst, src *[gridN]float64, k float64) {
	for i := range dst {
		dst[i] += k * src[i]
	}
}

// spectrum adds the lamp's spectrum as its emitters are on for a share of the time; kept may be nil.
func (p *Plant) spectrum(on []float64, kept map[*emitter]map[int]*[gridN]float64, dst *[gridN]float64) {
	heat := p.unit.kind.Heat
	for i, share := range p.share {
		if share <= 0 {
			continue
		}
		e := &p.unit.emitters[i]
		t, nm, lines := p.sink+p.board+heat.Junction*share, 0.0, 1.0
		if heat.ShiftWithCurrent != 0 {
			nm = heat.ShiftWithCurrent * (0.5 - share)
		}
		if e.data.Form == Arc {
			lines = math.Exp(p.unit.colourUnrest(p.now))
		}
		addScaled(dst, e.spectrum(t, nm, lines, kept), on[i]*p.unit.gain(i, p.calibration.power))
	}
}

// mostKept spectra of one emitter are kept.
const mostKept = 100

// spectrum is the emitter's at full drive, heated by t kelvin, shifted by nm.
func (e *emitter) spectrum(t, nm, lines float64, kept map[*emitter]map[int]*[gridN]float64) *[gridN]float64 {
	keep := kept != nil && nm == 0 && lines == 1
	at := int(math.Round(10 * t))
	if keep {
		t = float64(at) / 10
		if p := kept[e][at]; p != nil {
			return p
		}
	}
	p := &[gridN]float64{}
	heat, wide := e.data.power(e.off, t, nm, lines, p)
	k := heat * wide * e.scale
	for i := range p {
		p[i] *= k
	}
	if keep {
		if len(kept[e]) == mostKept {
			kept[e] = nil // it has cooled or warmed since
		}
		if kept[e] == nil {
			kept[e] = map[int]*[gridN]float64{}
		}
		kept[e][at] = p
	}
	return p
}

// read is what the spectrometer tells of a window with a level, lux.
func (s *spectrometer) read(lux float64) *spectrum.Spectrum {
	if s == nil {
		return nil
	}
	light := s.sum
	y := integrate(&light).Y
	if !(y > 0) {
		return nil
	}
	mean, top := 0.0, 0.0
	for i := range light {
		light[i] *= lux / y
		mean += light[i] / gridN
	}
	blurred := blur(&light, s.spec.BandwidthNM)
	for i := range blurred {
		blurred[i] = (1-s.spec.Stray)*blurred[i] + s.spec.Stray*mean
		top = max(top, blurred[i])
	}
	step := s.spec.StepNM
	if !(step > 0) {
		step = gridStep
	}
	on := spectrum.Grid{StartNM: gridFrom, StepNM: step, N: int((gridTo-gridFrom)/step+1e-9) + 1}
	out := spectrum.Spectrum{StartNM: gridFrom, StepNM: gridStep, Values: blurred[:]}.Linear(on)
	for i := range out.Values {
		v := out.Values[i] + s.spec.Sigma*top*s.r.NormFloat64()
		out.Values[i] = math.Round(v/top*1e5) / 1e5 * top // as many digits as such a meter has
	}
	return &out
}

// blur is a spectrum as a slit of Gaussian shape gathers it; what lies beyond the ends of the grid counts as the ends.
func blur(p *[gridN]float64, fwhm float64) *[gridN]float64 {
	if !(fwhm > 0) {
		q := *p
		return &q
	}
	sigma := fwhm * fwhmToSigma / gridStep
	n := int(math.Ceil(4 * sigma))
	q := &[gridN]float64{}
	for i := range q {
		sum := 0.0
		for k := -n; k <= n; k++ {
			w := math.Exp(-float64(k*k) / (2 * sigma * sigma))
			q[i] += w * p[min(max(i+k, 0), gridN-1)]
			sum += w
		}
		q[i] /= sum
	}
	return q
}

// Spectrum is what a spectrometer at a probe tells of the light there now; nil where the meter is none, or in the dark.
func (h *Hall) Spectrum(probe string) *spectrum.Spectrum {
	for _, p := range h.probes {
		if p.spectro != nil && (p.Name == probe || probe == "" && p.Name == unnamed) {
			p.spectro.forget()
			p.spectro.gather(h, p, h.now, h.now+time.Millisecond)
			return p.spectro.read(h.at(p, h.now, h.now+time.Millisecond).Y)
		}
	}
	return nil
}

// TrueSpectrum is the spectrum of a lamp as it stands now, any scale, from 380 nm on in steps of 2 nm; not ok for
// no such lamp, or a dark one. Only tests and the stage's truth look at it.
func (h *Hall) TrueSpectrum(lamp string) (spectrum.Spectrum, bool) {
	i := slices.IndexFunc(h.lamps, func(l *standing) bool { return l.Name == lamp })
	if i < 0 {
		return spectrum.Spectrum{}, false
	}
	var light [gridN]float64
	l := h.lamps[i]
	l.plant.spectrum(l.plant.share, nil, &light)
	return spectrum.Spectrum{StartNM: gridFrom, StepNM: gridStep, Values: light[:]}, integrate(&light).Y > 0
}
