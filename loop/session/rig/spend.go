package rig

import (
	"fmt"
	"path/filepath"

	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session/core"
	"trueup/profiles/userfile"
)

// DefaultFloor is the part of the most light that a wish by spectra keeps.
const DefaultFloor = 0.70

// spend reads what the freedom of four or more emitters is spent on.
func (r *reader) spend(raw *fileTarget) {
	s := &r.rig.Target.Spend
	if r.doc.Failed("$.target.spend") {
		return // what goes with it can not be told
	}
	if raw.Spend != "" {
		if err := s.Wish.UnmarshalText([]byte(raw.Spend)); err != nil {
			return // not one of the words: the file's shape has said so
		}
	}
	if s.Wish.BySpectra() {
		s.Floor = take(r, "$.target.level_floor", raw.Floor, DefaultFloor, fraction)
	} else if raw.Floor != "" {
		r.fault("$.target.level_floor", "a level floor goes with spend: likeness or rendering").Advise("add spend: likeness, or take it out")
	}
	switch {
	case raw.Camera == "":
	case s.Wish.String() != "likeness":
		r.fault("$.target.camera", "a camera goes with spend: likeness").Advise("add spend: likeness, or take it out")
	default:
		path := raw.Camera
		if !filepath.IsAbs(path) {
			path = filepath.Join(r.rig.Dir, path)
		}
		c, err := r.camera(path)
		if err != nil {
			r.fault("$.target.camera", "%v", err).Advise("want CSV: the wavelength in nm, then a column each for red, green and blue")
		}
		if s.Camera = c; c != nil {
			c.Name = filepath.Base(raw.Camera)
		}
	}
}

// loadCamera reads a camera's sensitivities.
func loadCamera(path string) (*core.Camera, error) {
	f, err := userfile.Open(path, userfile.Camera)
	if err != nil {
		return nil, fmt.Errorf("camera: %w", err)
	}
	defer f.Close()
	files, err := spectrum.ReadCSV(f)
	if err != nil {
		return nil, fmt.Errorf("camera %s: %w", path, err)
	}
	if len(files) != 3 {
		return nil, fmt.Errorf("camera %s: %d columns after the wavelength: a camera has three, red, green and blue", path, len(files))
	}
	c := &core.Camera{}
	var channels [3]spectrum.Spectrum
	for k := range files {
		channels[k] = files[k].Linear(spectrum.Visible5)
		if c.Channels[k], err = spectrum.Keep(channels[k]); err != nil {
			return nil, fmt.Errorf("camera %s: column %d: %w", path, k+2, err)
		}
	}
	if _, err := quality.NewCamera(channels); err != nil {
		return nil, fmt.Errorf("camera %s: %w", path, err)
	}
	return c, nil
}
