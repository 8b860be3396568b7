package history

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"slices"
	"time"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/profiles/userfile"
)

// record is what the index keeps of a run.
type record struct {
	dir, digest    string   // digest: of its opening, by which it is the same run on every machine; empty: it can not be read
	file           [2]int64 // size, and time of the last change
	age            age
	rig, work, why string // why: nothing was learnt from it
	started        time.Time
	complete       bool
	lamps          []Lamp
}

// Lamp is how one lamp came out of one run. A figure that was not measured is nil.
type Lamp struct {
	Dir      string             `json:"run"`
	Started  time.Time          `json:"started"`
	Rig      string             `json:"rig"`
	Work     string             `json:"work"`
	Fixture  string             `json:"fixture"`
	Unit     string             `json:"unit,omitempty"`
	Profile  string             `json:"profile"`
	Probe    string             `json:"probe,omitempty"`
	Result   string             `json:"result,omitempty"`
	Found    *float64           `json:"found_delta_uv"`
	Now      *float64           `json:"now_delta_uv"`
	U        *float64           `json:"u_prime"`
	V        *float64           `json:"v_prime"`
	SD       *float64           `json:"sd_uv"`
	Lux      *float64           `json:"lux"`
	Readings int                `json:"readings"`
	Emitters []solve.EmitterNow `json:"emitters,omitempty"`
}

// read reads a journal. One that can not be read is kept as a run with a reason, so that it is not read again and again.
func read(path string) *record {
	f, err := userfile.Open(path, userfile.Journal)
	if err != nil {
		return &record{why: err.Error()}
	}
	defer f.Close()
	opening, rest, err := openingOf(f)
	if err != nil {
		return &record{why: err.Error()}
	}
	entries, _, err := session.ReadJournal(rest)
	if err != nil {
		return &record{why: err.Error()}
	}
	s, err := session.Summarise(entries)
	if err != nil {
		return &record{why: err.Error()}
	}
	r := &record{digest: opening, age: age{entries: int64(len(entries))}, rig: s.Info.Rig, work: s.Info.Work, started: s.Started, complete: s.Complete}
	learnt, err := core.Replay(entries)
	if err != nil {
		learnt, r.why = nil, err.Error()
	}
	for _, f := range s.Fixtures {
		l, ok := lampOf(s, &f)
		if !ok {
			continue
		}
		if learnt != nil && s.Info.Core != nil && learnt.Knows(f.Name) {
			i := slices.IndexFunc(s.Info.Core.Units, func(u core.Unit) bool { return u.Info.Name == f.Name })
			if i >= 0 {
				l.Emitters, _ = solve.EmittersNow(s.Info.Core.Units[i].Spec, learnt.PriorOf(f.Name))
			}
		}
		if len(l.Emitters) > 0 {
			r.age.learnt++
		}
		r.lamps = append(r.lamps, l)
	}
	return r
}

// openingOf is the digest of a journal's first line, as it stands there, and the whole journal again.
func openingOf(r io.Reader) (digest string, whole io.Reader, err error) {
	br := bufio.NewReader(r)
	line, err := br.ReadBytes('\n') // bounded as the file is
	if err != nil && err != io.EOF {
		return "", nil, err
	}
	sum := sha256.Sum256(line)
	return hex.EncodeToString(sum[:16]), io.MultiReader(bytes.NewReader(line), br), nil
}

// lampOf is how a fixture came out of a run; ok is false where nothing was read of it. Of a palette, which shows one
// colour after the other, there is no outcome.
func lampOf(s *session.Summary, f *session.FixtureSummary) (l Lamp, ok bool) {
	o := f.Final()
	if o == nil && f.Found == nil {
		return l, false
	}
	l = Lamp{Fixture: f.Name, Unit: f.Unit, Profile: f.Profile, Probe: f.Probe, Readings: len(f.Trace)}
	if s.Info.Work == string(core.Palette) {
		return l, true
	}
	if f.Found != nil && s.Reference != nil {
		l.Found = &f.Found.Delta
	}
	if o == nil {
		return l, true
	}
	l.Result, l.Readings = o.Result.String(), o.Readings
	if e := o.Final; e != nil {
		l.Now, l.U, l.V = &e.Delta, &e.UV.U, &e.UV.V
		if e.SD > 0 {
			l.SD = &e.SD
		}
		if e.Lux > 0 {
			l.Lux = &e.Lux
		}
	}
	return l, true
}
