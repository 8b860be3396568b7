package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"time"

	"github.com/google/renameio/v2/maybe"
	"github.com/rs/zerolog"

	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/session/rig"
)

// timesToKeep are what a run has found of what lamps do in time; nothing where it was a simulated stage's lamps that it read: they
// say nothing of the rig's own.
func timesToKeep(r *rig.Rig, found core.TypeTimes) core.TypeTimes {
	if r.Stage != "" {
		return core.TypeTimes{}
	}
	return found
}

// saveLearnt keeps what was learnt in a run of a rig for the next one. The units say what their types are called. Files that
// cannot be read are left alone, and said: they may hold what other rigs and later versions know.
func saveLearnt(dir, rig string, all *learnt, units []*session.Unit, now time.Time, log zerolog.Logger) error {
	of := map[string][]*session.Unit{}
	for _, u := range units {
		of[u.Type] = append(of[u.Type], u)
	}
	keys := slices.AppendSeq(slices.Collect(maps.Keys(of)), maps.Keys(all.batches))
	keys = slices.DeleteFunc(keys, func(key string) bool { return key == "" || !all.found(key, of[key]) })
	if len(keys) == 0 {
		return nil
	}
	if err := os.MkdirAll(filepath.Join(dir, "learnt"), 0o755); err != nil {
		return fmt.Errorf("keeping what was learnt: %w", err)
	}
	lock, err := session.LockFile(filepath.Join(dir, "learnt.lock")) // another run may be adding to the same files
	if err != nil {
		return fmt.Errorf("keeping what was learnt: %w", err)
	}
	defer lock.Close()
	slices.Sort(keys)
	for _, key := range slices.Compact(keys) {
		l, err := readLearnt(dir, key)
		if err != nil {
			log.Warn().Err(err).Str("file", learntFile(dir, key)).
				Msg("what this run learnt is not kept: the file of its type cannot be read, and is left alone; delete it: trueup learnt forget " + key)
			continue
		}
		if err := all.keepType(dir, rig, key, l, of[key], now); err != nil {
			return fmt.Errorf("keeping what was learnt: %w", err)
		}
	}
	return nil
}

// found tells whether there is anything to keep of a type.
func (all *learnt) found(key string, units []*session.Unit) bool {
	b := all.batches[key]
	_, watched := all.times.Steadiness[key]
	return watched || b != nil && b.Units > 0 || slices.ContainsFunc(units, func(u *session.Unit) bool {
		_, measured := all.times.DeadTimes[u.SettleKey()]
		return measured
	})
}

// keepType puts what a run has learnt of a type beside what was known of it, l: nil for nothing.
func (all *learnt) keepType(dir, rig, key string, l *typeLearnt, units []*session.Unit, now time.Time) error {
	kept := l != nil
	if !kept {
		l = &typeLearnt{}
	}
	before, err := json.Marshal(l)
	if err != nil {
		return err
	}
	if b := all.batches[key]; b != nil && b.Units > 0 {
		l.Batch = b
	}
	for _, u := range units {
		l.Type = u.Info.Profile + ", " + u.Info.Mode
		if wait, measured := all.times.DeadTimes[u.SettleKey()]; measured {
			l.keepDeadTime(rig, u.Feed, wait, now)
		}
	}
	if found, watched := all.times.Steadiness[key]; watched {
		l.keepSteadiness(found, now)
	}
	text, err := json.Marshal(l)
	if err != nil {
		return err
	}
	nothing := l.Batch == nil && len(l.DeadTimes) == 0 && l.Steadiness == nil
	if nothing && !kept || bytes.Equal(before, text) && l.Batch == nil {
		return nil
	}
	return maybe.WriteFile(learntFile(dir, key), text, 0o644)
}
