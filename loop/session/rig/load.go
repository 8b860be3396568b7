package rig

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"trueup/colorcalc/gel"
	"trueup/loop/feed"
	"trueup/loop/session/core"
	"trueup/profiles"
	"trueup/profiles/gellist"
	"trueup/profiles/userfile"
	"trueup/profiles/yamlfile"
	"trueup/safety"
)

// Defaults of a rig file, where a key may be left out; those of the limits are
// safety.DefaultLimits.
const (
	MostLanes         = 16     // lamps worked at side by side, where the rig says nothing
	DefaultTolerance  = 0.0010 // u'v'; about one step (CIE TN 001: 0.0011)
	DefaultLevel      = 0.40
	DefaultPriority   = 100 // E1.31-2018 6.2.3
	DefaultSourceName = "trueup"
)

// Load reads and checks a rig file and the profiles that it names. The error
// holds every fault found, each with file, line and column; it unwraps to
// yamlfile.Errors.
func Load(path string) (*Rig, error) {
	r, err := LoadPartial(path)
	if err != nil {
		return nil, err
	}
	return r, nil
}

// LoadPartial is Load for a check that wants to go on: beside the error it
// returns what could be read, nil where nothing could. Such a rig may be looked
// at and its feeds listened to; it must not be run.
func LoadPartial(path string) (*Rig, error) {
	data, err := userfile.Read(path, userfile.Rig)
	if err != nil {
		return nil, fmt.Errorf("rig file: %w", err)
	}
	return parse(path, data, profiles.Load, func(path string) error {
		_, err := feed.LoadInstrument(path)
		return err
	}, loadCamera, gellist.Load)
}

// Parse checks the text of a rig file. Names of other files in it are resolved
// against the folder of path; profile reads a profile, and instrument files,
// cameras and lists of filters are not looked at.
func Parse(path string, data []byte, profile func(path string) (*profiles.Profile, error)) (*Rig, error) {
	r, err := parse(path, data, profile, func(string) error { return nil }, func(string) (*core.Camera, error) { return nil, nil },
		func(string) ([]gel.Gel, error) { return nil, nil })
	if err != nil {
		return nil, err
	}
	return r, nil
}

func parse(path string, data []byte, profile func(path string) (*profiles.Profile, error), instrument func(path string) error, camera func(path string) (*core.Camera, error),
	gels func(path string) ([]gel.Gel, error)) (*Rig, error) {
	var raw fileRig
	doc, err := yamlfile.Decode(path, data, &raw)
	if doc == nil {
		return nil, err // not even YAML
	}
	r := &reader{doc: doc, load: profile, instrument: instrument, camera: camera, gels: gels, cache: map[string]loaded{}}
	r.rig.Path, r.rig.Dir = path, filepath.Dir(path)
	r.head(&raw)
	r.output(&raw.Output)
	r.feeds(raw.Feeds)
	r.safety(&raw.Safety)
	r.fixtures(raw.Fixtures)
	r.groups(raw.Groups, raw.Safety.GroupCaps)
	r.target(&raw.Target)
	r.levels()
	r.patch()
	r.locked()
	return &r.rig, doc.Err()
}

// loaded is the memory of one profile file, good or bad.
type loaded struct {
	profile *profiles.Profile
	err     error
}

// reader turns the file's shape into a Rig, noting faults as it goes.
type reader struct {
	doc  *yamlfile.Doc
	rig  Rig
	load func(string) (*profiles.Profile, error)
	// instrument tells what is wrong with an instrument file.
	instrument func(string) error
	// camera reads a camera's sensitivities.
	camera func(path string) (*core.Camera, error)
	// gels reads a list of filters.
	gels  func(path string) ([]gel.Gel, error)
	cache map[string]loaded
	paths []string // YAML path of each fixture's entry
}

// fault notes an error at a YAML path such as $.fixtures[2].address.
func (r *reader) fault(path, format string, args ...any) *yamlfile.Error {
	return r.doc.Errorf(path, format, args...)
}

// unknown notes that a word is none of those that it could be.
func (r *reader) unknown(path, word string, words []string, format string, args ...any) {
	e := r.fault(path, format, args...)
	if near := yamlfile.Nearest(word, words); near != "" {
		e.Advise("did you mean %q?", near)
	} else if len(words) > 0 && len(words) <= 20 {
		e.Advise("there is: %s", strings.Join(words, ", "))
	}
}

// pos is the place of a value in the file.
func (r *reader) pos(path string) Pos {
	line, col := r.doc.Place(path)
	return Pos{Line: line, Col: col}
}

// take reads a quantity with one of the functions of quantity.go; empty text
// gives the default.
func take[T any](r *reader, path, text string, def T, read func(string) (T, error)) T {
	if text == "" {
		return def
	}
	v, err := read(text)
	if err != nil {
		r.fault(path, "%v", err)
		return def
	}
	return v
}

// within makes a reader of times between two bounds.
func within(least, most time.Duration) func(string) (time.Duration, error) {
	return func(text string) (time.Duration, error) { return duration(text, least, most) }
}

func (r *reader) head(raw *fileRig) {
	r.rig.Name = raw.Rig
	if err := checkName(raw.Rig); err != nil {
		r.fault("$.rig", "rig: %v", err).Advise("write a name, such as rig: studio 2")
	}
	r.rig.Tolerance = take(r, "$.tolerance", raw.Tolerance, DefaultTolerance, tolerance)
	r.rig.Lanes = MostLanes
	if raw.Lanes != nil {
		r.rig.Lanes = *raw.Lanes
	}
	if raw.Gels != "" {
		list, err := r.gels(r.resolve(raw.Gels))
		if err != nil {
			r.fault("$.gels", "the list of filters %s can not be used: %v", raw.Gels, err)
		}
		r.rig.Gels = list
	}
}

// watchdog reads the key by its name or by the one it had before.
func (r *reader) watchdog(raw *fileSafety, def time.Duration) time.Duration {
	within := within(500*time.Millisecond, time.Minute)
	if raw.DeadMan == "" {
		return take(r, "$.safety.watchdog", raw.Watchdog, def, within)
	}
	if raw.Watchdog != "" {
		r.fault("$.safety.dead_man", "dead_man is the earlier name of watchdog, and both are given").Advise("take dead_man out")
	}
	return take(r, "$.safety.dead_man", raw.DeadMan, def, within)
}

func (r *reader) safety(raw *fileSafety) {
	s := &r.rig.Safety
	s.Unsaid = !r.doc.Has("$.safety")
	l := safety.DefaultLimits()
	l.Rise = take(r, "$.safety.rise", raw.Rise, l.Rise, rate)
	l.Fall = take(r, "$.safety.fall", raw.Fall, l.Fall, rate)
	l.Colour = take(r, "$.safety.color", raw.Color, l.Colour, rate)
	l.LevelCap = take(r, "$.safety.level_cap", raw.LevelCap, l.LevelCap, fraction)
	l.UVCap = take(r, "$.safety.uv_cap", raw.UVCap, l.UVCap, fraction)
	l.KeepLight = take(r, "$.safety.keep_light", raw.KeepLight, l.KeepLight, fraction)
	l.MaxFullTime = take(r, "$.safety.max_full_time", raw.MaxFullTime, l.MaxFullTime, within(time.Second, 24*time.Hour))
	l.Pace = take(r, "$.safety.pace", raw.Pace, l.Pace, within(time.Second, time.Minute))
	l.Watchdog = r.watchdog(raw, l.Watchdog)
	if raw.PeopleAloft {
		l = l.Aloft()
	} else if raw.KeepLight != "" {
		r.fault("$.safety.keep_light", "keep_light only holds with people aloft").Advise("add people_aloft: true, or take it out")
	}
	if err := l.Check(); err != nil {
		r.fault("$.safety", "%v", err)
	}
	s.Limits = l
	for i, text := range raw.Locked {
		span, err := slotRange(text)
		if err != nil {
			r.fault(fmt.Sprintf("$.safety.locked[%d]", i), "%v", err)
			continue
		}
		s.Locked = append(s.Locked, span)
	}
}
