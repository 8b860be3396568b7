package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"path/filepath"
	"time"

	"github.com/google/renameio/v2/maybe"

	"trueup/loop/session"
	"trueup/loop/session/rig"
	"trueup/profiles/userfile"
)

// paceFile keeps how a feed of a rig read in the last run.
func paceFile(dir string, r *rig.Rig, feed string) string {
	sum := sha256.Sum256([]byte(r.Name + "\x00" + feed))
	return filepath.Join(dir, "meters", hex.EncodeToString(sum[:8])+".json")
}

// savePaces keeps how each feed of a rig read, for rehearsals. What can not be kept is measured anew in
// the next run.
func savePaces(dir string, r *rig.Rig, units []*session.Unit, p *session.Pacing) {
	for _, u := range units {
		i, err := session.FeedOf(r.Feeds, u.Info.Probe)
		if err != nil || r.Feeds[i].Kind == "hand" {
			continue
		}
		pace, ok := p.Of(u.Info.Probe)
		if !ok {
			continue
		}
		text, err := json.Marshal(pace)
		if err != nil {
			continue
		}
		path := paceFile(dir, r, r.Feeds[i].Name)
		if os.MkdirAll(filepath.Dir(path), 0o755) == nil {
			maybe.WriteFile(path, text, 0o644)
		}
	}
}

// pacesOf is how the feeds of a rig read, by name, and in words where that is from.
func pacesOf(dir string, r *rig.Rig) (paces map[string]session.Pace, words map[string]string) {
	paces, words = map[string]session.Pace{}, map[string]string{}
	for i := range r.Feeds {
		f := &r.Feeds[i]
		if f.Kind == "hand" {
			paces[f.Name], words[f.Name] = session.PaceByPerson(), "a person reads it; some 20 s for each reading are taken"
			continue
		}
		p := session.AssumedPace()
		words[f.Name] = "not known yet, and taken to be usual"
		text, err := userfile.Read(paceFile(dir, r, f.Name), userfile.Learnt)
		var known session.Pace
		if err == nil && json.Unmarshal(text, &known) == nil && known.Integration > 0 && known.Integration <= time.Minute &&
			known.Period >= known.Integration && known.Period <= time.Minute && known.Latency >= 0 && known.Latency <= time.Minute {
			p, words[f.Name] = known, "as it read in the last run of this rig"
		}
		paces[f.Name] = p
	}
	return paces, words
}
