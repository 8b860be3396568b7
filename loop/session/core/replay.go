package core

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// Replay plays a run again from its journal and returns the core as it stood at the
// journal's end. An error says that the journal can not be played (version 1, no
// run entry) or, with the number of the first entry that differs, that this program
// decides otherwise than the one that wrote it; other words for the same are no difference. A journal cut short by a crash is played
// as far as it goes.
func Replay(entries []Entry) (*Core, error) {
	c, _, err := Restore(entries)
	return c, err
}

// Restore is Replay, and returns what the run decided last and a crash kept from the
// journal besides: it belongs there before the run goes on.
func Restore(entries []Entry) (c *Core, missing []Entry, err error) {
	if len(entries) == 0 || entries[0].Run == nil {
		return nil, nil, fmt.Errorf("journal: does not begin with a run entry")
	}
	cfg := entries[0].Run.Core
	if cfg == nil || entries[0].Run.Version < 2 {
		return nil, nil, fmt.Errorf("journal: version 1 holds no events, and can not be played again")
	}
	own, err := clone(cfg)
	if err != nil {
		return nil, nil, err
	}
	c, err = New(*own)
	if err != nil {
		return nil, nil, err
	}
	var expected []Entry
	for i, e := range entries[1:] {
		if e.Event != nil {
			if len(expected) > 0 {
				return c, nil, fmt.Errorf("journal: entry %d: the run did %d things more before it", e.Seq, len(expected))
			}
			expected = c.Step(*e.Event).Entries
		}
		if len(expected) == 0 {
			return c, nil, fmt.Errorf("journal: entry %d: %s where the run says nothing", e.Seq, e.Kind)
		}
		if err := same(expected[0], entries[i+1]); err != nil {
			return c, nil, fmt.Errorf("journal: entry %d: %w", e.Seq, err)
		}
		expected = expected[1:]
	}
	return c, expected, nil
}

// clone copies a config by way of JSON, as the journal does: a run adds to its
// batches.
func clone(cfg *Config) (*Config, error) {
	text, err := json.Marshal(cfg)
	if err != nil {
		return nil, err
	}
	own := &Config{}
	return own, json.Unmarshal(text, own)
}

// same compares an entry with its record, bit for bit. What the shell adds (number, time,
// and the settings and slots that codes stand for) does not count, nor in which words a
// decision is told.
func same(got, kept Entry) error {
	if o := kept.Outcome; o != nil && o.Verdict == "" && got.Outcome != nil { // by an older program
		bare := *got.Outcome
		bare.Verdict, got.Outcome = "", &bare
	}
	a, err := bare(got)
	if err != nil {
		return err
	}
	b, err := bare(kept)
	if err != nil {
		return err
	}
	if !bytes.Equal(a, b) {
		return fmt.Errorf("the run now gives %s, it gave %s", a, b)
	}
	return nil
}

func bare(e Entry) ([]byte, error) {
	var zero Entry
	e.Seq, e.Time, e.Event, e.Note, e.Unwatched = 0, zero.Time, nil, "", ""
	e.Step = undressed(e.Step)
	if e.Account != nil {
		a := *e.Account
		a.Words = ""
		e.Account = &a
	}
	if e.Outcome != nil {
		o := *e.Outcome
		o.Before, o.After = undressed(o.Before), undressed(o.After)
		o.Reason, o.Words, o.Advice = "", "", ""
		e.Outcome = &o
	}
	return json.Marshal(e)
}

func undressed(s *Step) *Step {
	if s == nil {
		return nil
	}
	d := *s
	d.Settings, d.Slots, d.Words = nil, nil, ""
	return &d
}
