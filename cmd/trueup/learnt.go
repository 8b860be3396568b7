package main

import (
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// learnt is what earlier runs learnt of the fixture types of this one: what their units have in common, by Unit.Type, and what
// they do in time.
type learnt struct {
	batches map[string]*solve.Batch
	times   core.TypeTimes
}

// give has a job start from it.
func (all *learnt) give(j *session.Job) { j.Learnt, j.Times = all.batches, all.times }

// loadLearnt reads what earlier runs learnt of the fixture types of this one, read by the feeds of a rig,
// so that the next day starts there. A file that cannot be used is left alone
// and said: the profile alone serves as well. Files of versions that told types
// apart in another way are left alone too; that is said until a new one is there.
func loadLearnt(dir, rig string, units []*session.Unit, now time.Time, log zerolog.Logger) *learnt {
	all := &learnt{map[string]*solve.Batch{}, core.TypeTimes{DeadTimes: map[string]time.Duration{}, Steadiness: map[string]core.Steadiness{}}}
	if n := outdated(dir); n > 0 {
		log.Warn().Int("files", n).Str("folder", filepath.Join(dir, "learnt")).
			Msg("what an earlier version learnt is not used, because it could take two fixture types for one; it is left alone, and may be deleted")
	}
	files := map[string]*typeLearnt{}
	for _, u := range units {
		if u.Type == "" {
			continue
		}
		l, known := files[u.Type]
		if !known {
			var err error
			if l, err = readLearnt(dir, u.Type); err == nil && l != nil && l.Batch != nil {
				_, err = l.Prior(u.Spec)
			}
			if err != nil {
				l = nil
				log.Warn().Err(err).Str("profile", u.Info.Profile).Msg("what was learnt of this profile cannot be used; starting from the profile alone; to delete it: trueup learnt forget " + u.Type)
			}
			files[u.Type] = l
		}
		if l == nil {
			continue
		}
		if l.Batch != nil {
			all.batches[u.Type] = l.Batch
		}
		if d := l.deadTime(rig, u.Feed, now); d > 0 {
			all.times.DeadTimes[u.SettleKey()] = d
		}
		if s, ok := l.steadiness(now); ok {
			all.times.Steadiness[u.Type] = s
		}
	}
	return all
}

// learntPrefix tells files of types that are known by their whole profile from
// those of earlier versions, which had none.
const learntPrefix = "type-"

func learntFile(dir, key string) string {
	return filepath.Join(dir, "learnt", learntPrefix+key+".json")
}

// outdated counts the files of earlier versions; 0 once there is a new one.
func outdated(dir string) (n int) {
	files, err := os.ReadDir(filepath.Join(dir, "learnt"))
	if err != nil {
		return 0
	}
	for _, f := range files {
		switch {
		case strings.HasPrefix(f.Name(), learntPrefix):
			return 0
		case strings.HasSuffix(f.Name(), ".json"):
			n++
		}
	}
	return n
}
