package profiles

import (
	"fmt"
	"path/filepath"

	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
)

// Load reads a profile file. Spectrum files that it names are looked up beside
// it. An error of the file's content is yamlfile.Errors, with everything that
// is wrong.
func Load(path string) (*Profile, error) {
	data, err := userfile.Read(path, userfile.Profile)
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	return parse(path, data, func(name string) ([]byte, error) {
		if !filepath.IsLocal(name) {
			return nil, fmt.Errorf("%s lies outside the profile's folder", name)
		}
		return userfile.Read(filepath.Join(filepath.Dir(path), name), userfile.Spectrum)
	})
}

// Parse reads a profile from its text; name is used in messages. A spectrum
// file named in it is an error, as there is no folder to look in.
func Parse(name string, data []byte) (*Profile, error) {
	return parse(name, data, nil)
}

// Mode finds a mode by its name; the empty name finds the only mode.
func (p *Profile) Mode(name string) (*Mode, error) {
	if name == "" {
		if len(p.Modes) == 1 {
			return &p.Modes[0], nil
		}
		return nil, fmt.Errorf("profile %q has %d modes: name one of %s", p.Name, len(p.Modes), quoted(p.ModeNames()))
	}
	for i := range p.Modes {
		if p.Modes[i].Name == name {
			return &p.Modes[i], nil
		}
	}
	hint := ""
	if near := yamlfile.Nearest(name, p.ModeNames()); near != "" {
		hint = fmt.Sprintf(" (did you mean %q?)", near)
	}
	return nil, fmt.Errorf("profile %q has no mode %q%s: it has %s", p.Name, name, hint, quoted(p.ModeNames()))
}

// ModeNames lists the modes in the order of the file.
func (p *Profile) ModeNames() []string {
	names := make([]string, len(p.Modes))
	for i, m := range p.Modes {
		names[i] = m.Name
	}
	return names
}
