package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"trueup/loop/session/core"
	"trueup/loop/solve"
	"trueup/profiles/printable"
	"trueup/profiles/userfile"
)

// typeLearnt is what a file of learnt things holds: of which fixture type, in words, and what.
type typeLearnt struct {
	Type string `json:"type,omitempty"`
	*solve.Batch
	DeadTimes  []keptDeadTime  `json:"dead_times,omitempty"`
	Steadiness *keptSteadiness `json:"steadiness,omitempty"`
}

// keptDeadTime is how long the light of a type takes to stand still, as a feed of a rig reads it: feeds of one name in two
// rigs may be two meters.
type keptDeadTime struct {
	Rig      string  `json:"rig"`
	Feed     string  `json:"feed"`
	Wait     float64 `json:"wait_s"`
	Measured keptDay `json:"measured"`
}

// keptSteadiness is whether fixtures of a type were found to change their colour by themselves.
type keptSteadiness struct {
	Watched int     `json:"watched"`            // fixtures
	For     float64 `json:"for_s"`              // after they were lit
	Moved   float64 `json:"moved_uv,omitempty"` // the farthest; 0: none did
	Seen    float64 `json:"seen_uv,omitempty"`  // from where on a movement would have been named
	Found   keptDay `json:"found"`
}

// keptDay is a day, in UTC, as the file has it.
type keptDay string

func dayOf(t time.Time) keptDay { return keptDay(t.UTC().Format(time.DateOnly)) }

// old tells whether a day lies so far back that what was found then is found anew, or not in the past at all. A day of
// difference is one of clocks.
func (d keptDay) old(now time.Time) bool {
	t, err := time.Parse(time.DateOnly, string(d))
	return err != nil || now.Sub(t) > keptFor || t.Sub(now) > 24*time.Hour
}

// keptFor is how long what lamps do in time is kept. A run notices that a dead time has become too short; that firmware
// made it shorter, or a steady type restless, nothing shows.
const keptFor = 180 * 24 * time.Hour

// Bounds of a file.
const (
	mostFeeds    = 256 // that one type was read by
	longestNamed = 256 // bytes
)

func (s *keptSteadiness) known() core.Steadiness {
	return core.Steadiness{Watched: s.Watched, For: seconds(s.For), Moved: s.Moved, Seen: s.Seen}
}

// seconds is what no figure of a file makes overflow.
func seconds(s float64) time.Duration {
	if !(s > 0) {
		return 0
	}
	return time.Duration(min(s, 1e6) * float64(time.Second))
}

// parseLearnt reads a file of learnt things, strictly. The batch is nil where it has none.
func parseLearnt(text []byte) (*typeLearnt, error) {
	l := &typeLearnt{}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(l); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("there is more after its end")
	}
	if l.Batch != nil && l.Units == 0 {
		l.Batch = nil
	}
	if len(l.DeadTimes) > mostFeeds {
		return nil, fmt.Errorf("dead times by %d feeds: want at most %d", len(l.DeadTimes), mostFeeds)
	}
	for _, t := range l.DeadTimes {
		if len(t.Rig) > longestNamed || len(t.Feed) > longestNamed {
			return nil, fmt.Errorf("a rig or feed with a name of more than %d bytes", longestNamed)
		}
		if !onOneLine(t.Rig) || !onOneLine(t.Feed) {
			return nil, errors.New("a rig or feed with a name of what does not print on one line")
		}
		if w := seconds(t.Wait); w <= 0 || w > core.MostDeadTime {
			return nil, fmt.Errorf("a dead time of %g s: want more than 0 and at most %s", t.Wait, printable.Span(core.MostDeadTime))
		}
		if _, err := time.Parse(time.DateOnly, string(t.Measured)); err != nil {
			return nil, fmt.Errorf("measured: %w", err)
		}
	}
	if s := l.Steadiness; s != nil {
		if err := s.known().Check(); err != nil {
			return nil, fmt.Errorf("steadiness: %w", err)
		}
		if _, err := time.Parse(time.DateOnly, string(s.Found)); err != nil {
			return nil, fmt.Errorf("found: %w", err)
		}
	}
	return l, nil
}

// onOneLine tells whether a name prints as it is, so that it is no other line or column of a list.
func onOneLine(name string) bool {
	return utf8.ValidString(name) && !strings.ContainsFunc(name, func(r rune) bool { return !printable.Rune(r) })
}

// readLearnt reads what is kept of a type; nil where nothing is.
func readLearnt(dir, key string) (*typeLearnt, error) {
	text, err := userfile.Read(learntFile(dir, key), userfile.Learnt)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return parseLearnt(text)
}

// deadTime is the one by a feed of a rig; 0 where none is kept or it is too old.
func (l *typeLearnt) deadTime(rig, feed string, now time.Time) time.Duration {
	for _, t := range l.DeadTimes {
		if t.Rig == rig && t.Feed == feed && !t.Measured.old(now) {
			return seconds(t.Wait)
		}
	}
	return 0
}

// keepDeadTime puts one in the place of what was kept by a feed of a rig; 0: nothing is.
func (l *typeLearnt) keepDeadTime(rig, feed string, wait time.Duration, now time.Time) {
	l.DeadTimes = slices.DeleteFunc(l.DeadTimes, func(t keptDeadTime) bool { return t.Rig == rig && t.Feed == feed || t.Measured.old(now) })
	if wait > 0 && len(rig) <= longestNamed && len(feed) <= longestNamed && onOneLine(rig) && onOneLine(feed) && len(l.DeadTimes) < mostFeeds {
		l.DeadTimes = append(l.DeadTimes, keptDeadTime{rig, feed, wait.Seconds(), dayOf(now)})
	}
}

// keepSteadiness puts what a run has found together with what is known of the type at that time.
func (l *typeLearnt) keepSteadiness(found core.Steadiness, now time.Time) {
	known, _ := l.steadiness(now)
	s := known.After(found)
	if s == known && s != found {
		return // it says no more, and its day stays
	}
	l.Steadiness = &keptSteadiness{s.Watched, s.For.Seconds(), s.Moved, s.Seen, dayOf(now)}
}

// steadiness is what is known; ok is false where nothing is, or none that is not too old. What was restless stays so until a run
// finds otherwise.
func (l *typeLearnt) steadiness(now time.Time) (s core.Steadiness, ok bool) {
	if l.Steadiness == nil {
		return s, false
	}
	s = l.Steadiness.known()
	return s, s.Restless() || !l.Steadiness.Found.old(now)
}

// inTime says what is kept of what the lamps do in time, and of when; "" for nothing.
func (l *typeLearnt) inTime(now time.Time) string {
	var words []string
	aged := func(d keptDay, used bool) string {
		if used {
			return string(d)
		}
		return string(d) + ": too old, not used"
	}
	for _, t := range l.DeadTimes {
		words = append(words, fmt.Sprintf("light stands after %s ms (rig %s, feed %s; %s)", strconv.FormatFloat(math.Round(1e4*t.Wait)/10, 'f', -1, 64), t.Rig, t.Feed, aged(t.Measured, !t.Measured.old(now))))
	}
	if s := l.Steadiness; s != nil {
		kept := "none moved its colour"
		if s.Moved > 0 {
			kept = fmt.Sprintf("one moved its colour by %.4f", s.Moved)
		} else if s.Seen > 0 {
			kept += fmt.Sprintf(" by %.4f or more", s.Seen)
		}
		_, used := l.steadiness(now)
		words = append(words, fmt.Sprintf("%d watched for %g s: %s (%s)", s.Watched, s.For, kept, aged(s.Found, used)))
	}
	return strings.Join(words, "; ")
}
