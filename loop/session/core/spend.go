package core

import (
	"fmt"

	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/solve"
	"trueup/loop/solve/plan"
)

// Spend is what the freedom of four or more emitters is spent on. The zero value is the usual: most white.
type Spend struct {
	Wish  solve.Wish `json:"wish"`
	Floor float64    `json:"floor,omitempty"` // of a wish by spectra: least part of the most light that is kept, 0..1
	// Camera is whom lights are to look alike to; nil: a set of observers.
	Camera *Camera `json:"camera,omitempty"`
}

// Camera is a camera as the rig describes it.
type Camera struct {
	Name     string            `json:"name"`     // of its file
	Channels [3]*spectrum.Kept `json:"channels"` // sensitivities, red, green and blue
}

// observers are who looks at the lights.
func (s *Spend) observers() ([]quality.Observer, error) {
	if s.Camera == nil {
		return quality.ObserverSet(), nil
	}
	var c [3]spectrum.Spectrum
	for k, v := range s.Camera.Channels {
		if v == nil {
			return nil, fmt.Errorf("camera %s: a channel is missing", s.Camera.Name)
		}
		c[k] = v.Spectrum()
	}
	cam, err := quality.NewCamera(c)
	if err != nil {
		return nil, fmt.Errorf("camera %s: %w", s.Camera.Name, err)
	}
	return []quality.Observer{cam.Observer(s.Camera.Name)}, nil
}

// spending is what a run needs for a wish by spectra.
type spending struct {
	observers []quality.Observer
	dark      map[string]spectrum.Spectrum // background by probe, its Y that of the feed; missing: not known
}

// newSpending prepares a wish by spectra; nil without one.
func newSpending(s *Spend) (*spending, error) {
	if !s.Wish.BySpectra() {
		return nil, nil
	}
	if !(s.Floor > 0 && s.Floor <= 1) {
		return nil, fmt.Errorf("a level floor of %v: want above 0, at most 1", s.Floor)
	}
	o, err := s.observers()
	return &spending{observers: o, dark: map[string]spectrum.Spectrum{}}, err
}

// spendOn is what a unit's match spends its emitters on, and by what it chooses.
func (c *Core) spendOn(u *unit) (solve.Wish, *solve.Likeness) {
	w := c.cfg.Plan.Spend.Wish
	if c.spending == nil {
		return w, nil
	}
	like := &solve.Likeness{Observers: c.spending.observers, Floor: c.cfg.Plan.Spend.Floor}
	for _, k := range c.cfg.Spectra[u.Type] {
		var s spectrum.Spectrum
		if k != nil {
			s = k.Spectrum()
		}
		like.Emitters = append(like.Emitters, s)
	}
	if len(like.Emitters) == 0 {
		return w, nil
	}
	if w == solve.Alike {
		ref, ok := c.likeTo()
		if !ok {
			return w, nil
		}
		like.Reference = ref
	}
	return w, like
}

// likeTo is the spectrum of the reference: as measured, or for a named colour, which has none, that of
// daylight or a black body of its colour temperature.
func (c *Core) likeTo() (spectrum.Spectrum, bool) {
	switch {
	case c.ref == nil:
		return spectrum.Spectrum{}, false
	case c.ref.Spectrum != nil:
		return c.ref.Spectrum.Spectrum(), true
	case c.cfg.Plan.Target.Reference == "":
		return plan.RenderingReferenceOf(c.ref.UV)
	}
	return spectrum.Spectrum{}, false
}

// keepDark keeps the spectrum of a dark probe.
func (c *Core) keepDark(probe string, got []Reading) {
	if c.spending == nil {
		return
	}
	var all []*spectrum.Spectrum
	for i := range got {
		if got[i].HasY {
			all = append(all, got[i].Light(nil))
		}
	}
	if s := MeanSpectrum(all); s != nil {
		c.spending.dark[probe] = *s
	}
}

// ownLight is the spectrum of a reading with the background's taken off where that is known and off says so; nil:
// the reading has none.
func (c *Core) ownLight(r *Reading, off bool) *spectrum.Spectrum {
	if c.spending == nil {
		return nil
	}
	if dark, known := c.spending.dark[r.Probe]; known && off && r.HasY {
		return r.Light(&dark)
	}
	return r.Light(nil)
}

// Light is the spectrum of a reading, scaled to the Y that was read (1 where none was), less a background's. nil: it
// has none, or nothing is left.
func (r *Reading) Light(less *spectrum.Spectrum) *spectrum.Spectrum {
	if r.Spectrum == nil || r.TooDark {
		return nil
	}
	s := r.Spectrum.Spectrum()
	y := s.XYZ(spectrum.Deg2).Y
	if !(y > 0) {
		return nil
	}
	s = s.Scale(r.XYZ().Y / y)
	if less != nil {
		s = s.Add(less.Scale(-1))
	}
	if !(s.XYZ(spectrum.Deg2).Y > 0) {
		return nil
	}
	return &s
}

// MeanSpectrum is the mean of those that are there; nil: none is.
func MeanSpectrum(all []*spectrum.Spectrum) *spectrum.Spectrum {
	var sum *spectrum.Spectrum
	n := 0
	for _, s := range all {
		if s == nil {
			continue
		}
		if n++; sum == nil {
			sum = s
			continue
		}
		both := sum.Add(*s)
		sum = &both
	}
	if sum == nil {
		return nil
	}
	mean := sum.Scale(1 / float64(n))
	return &mean
}
