package session

import (
	"trueup/colorcalc/spectrum"
	"trueup/loop/session/core"
)

// lights gathers the spectra of a run, as its journal tells them.
type lights struct {
	dark map[string][]*spectrum.Spectrum // by probe, of the last passage
	own  map[string][]*spectrum.Spectrum // by fixture, since it stands
	last core.Kind
}

// take takes an entry in.
func (l *lights) take(s *Summary, e *Entry) {
	last := l.last
	l.last = e.Kind
	if e.Kind == core.KindSent {
		l.own[e.Fixture] = nil
		return
	}
	if e.Event == nil || e.Event.Reading == nil || e.Event.Reading.Spectrum == nil {
		return
	}
	r := e.Event.Reading
	switch e.Kind {
	case core.KindBackground:
		if last != core.KindBackground {
			l.dark[r.Probe] = nil
		}
		if r.HasY {
			l.dark[r.Probe] = append(l.dark[r.Probe], r.Light(nil))
		}
	case core.KindReading, core.KindFound:
		var less *spectrum.Spectrum
		if driven(s, e.Fixture) && r.HasY {
			less = core.MeanSpectrum(l.dark[r.Probe])
		}
		l.own[e.Fixture] = append(l.own[e.Fixture], r.Light(less))
	}
}

// driven tells whether a background was taken off a fixture's readings.
func driven(s *Summary, name string) bool {
	for _, f := range s.Fixtures {
		if f.Name == name {
			return !f.Fixed && !f.ByHand
		}
	}
	return false
}

// tell puts the means where they belong.
func (l *lights) tell(s *Summary) {
	for i := range s.Fixtures {
		f := &s.Fixtures[i]
		f.Light = core.MeanSpectrum(l.own[f.Name])
		if s.IsReference(*f) {
			s.Light = f.Light
		}
	}
}
