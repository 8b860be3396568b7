package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/renameio/v2/maybe"
	"github.com/rs/zerolog"

	"trueup/loop/session"
	"trueup/loop/solve"
	"trueup/profiles/userfile"
)

// loadLearnt reads what earlier runs learnt of the fixture types of this one,
// so that the next day starts there. A file that cannot be used is left alone
// and said: the profile alone serves as well. Files of versions that told types
// apart in another way are left alone too; that is said until a new one is there.
func loadLearnt(dir string, units []*session.Unit, log zerolog.Logger) map[string]*solve.Batch {
	all := map[string]*solve.Batch{}
	if n := outdated(dir); n > 0 {
		log.Warn().Int("files", n).Str("folder", filepath.Join(dir, "learnt")).
			Msg("what an earlier version learnt is not used, because it could take two fixture types for one; it is left alone, and may be deleted")
	}
	for _, u := range units {
		if u.Type == "" || all[u.Type] != nil {
			continue
		}
		text, err := userfile.Read(learntFile(dir, u.Type), userfile.Learnt)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		b := &solve.Batch{}
		if err == nil {
			err = json.Unmarshal(text, b)
		}
		if err == nil {
			_, err = b.Prior(u.Spec)
		}
		if err != nil {
			log.Warn().Err(err).Str("profile", u.Info.Profile).Msg("what was learnt of this profile cannot be used; starting from the profile alone")
			continue
		}
		all[u.Type] = b
	}
	return all
}

// typeLearnt is what a file of learnt things holds: of which fixture type, in words, and what.
type typeLearnt struct {
	Type string `json:"type,omitempty"`
	*solve.Batch
}

// saveLearnt keeps what was learnt for the next run. The units say what their types are called.
func saveLearnt(dir string, all map[string]*solve.Batch, units []*session.Unit) error {
	words := map[string]string{}
	for _, u := range units {
		words[u.Type] = u.Info.Profile + ", " + u.Info.Mode
	}
	for key, b := range all {
		if b.Units == 0 {
			continue
		}
		text, err := json.Marshal(typeLearnt{words[key], b})
		if err != nil {
			return err
		}
		path := learntFile(dir, key)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return fmt.Errorf("keeping what was learnt: %w", err)
		}
		if err := maybe.WriteFile(path, text, 0o644); err != nil {
			return fmt.Errorf("keeping what was learnt: %w", err)
		}
	}
	return nil
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
