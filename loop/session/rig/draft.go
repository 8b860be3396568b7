package rig

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/goccy/go-yaml"

	"trueup/dmx"
)

// Draft is a rig file in the making, from answers or from a patch list. Values
// are as a rig file writes them; empty ones are left out.
type Draft struct {
	Name       string
	Mode       Mode
	Interfaces []string
	Unicast    []string
	Meter      string // address of a meter's TCP feed
	Reference  string // name of a fixture, or
	Color      string // a colour
	LevelCap   string
	Aloft      bool // people at height
	Fixtures   []DraftFixture
	Groups     map[string][]string // as a rig file writes them, ranges too
	Locked     []dmx.Span
	// Comment stands above the fixtures, one line each; ModeWhy above the output
	// mode; End behind everything.
	Comment, ModeWhy, End []string
}

// DraftFixture is one entry under fixtures.
type DraftFixture struct {
	Name, Profile, Mode string
	Address             dmx.Address // zero for by-hand and fixed lamps
	DeskChannel, Probe  string
	Heads               int // 0: all
	ByHand, Fixed       bool
	Comment             []string // stands above the entry
}

// YAML writes the draft as a rig file. It may still have faults (a profile
// that is not there yet); Load tells.
func (d Draft) YAML() ([]byte, error) {
	f := fileRig{Rig: d.Name, Target: fileTarget{Reference: d.Reference, Color: d.Color}}
	f.Output = fileOutput{Mode: string(d.Mode), Interfaces: d.Interfaces, Unicast: d.Unicast}
	if d.Meter != "" {
		f.Feeds = []fileFeed{{Kind: "tcp", Address: d.Meter}}
	}
	f.Safety = fileSafety{LevelCap: d.LevelCap, PeopleAloft: d.Aloft}
	for _, l := range d.Locked {
		text := fmt.Sprintf("%d/%d..%d", l.Universe, l.First, l.Last)
		if l.First == l.Last {
			text = fmt.Sprintf("%d/%d", l.Universe, l.First)
		}
		f.Safety.Locked = append(f.Safety.Locked, text)
	}
	f.Groups = d.Groups
	comments := yaml.CommentMap{}
	say := func(path string, lines []string) {
		if len(lines) > 0 {
			comments[path] = []*yaml.Comment{yaml.HeadComment(commentLines(lines)...)}
		}
	}
	say("$.output.mode", d.ModeWhy)
	say("$.fixtures", d.Comment)
	for i, x := range d.Fixtures {
		say(fmt.Sprintf("$.fixtures[%d]", i), x.Comment)
		e := fileFixture{Name: x.Name, Profile: x.Profile, Mode: x.Mode, DeskChannel: x.DeskChannel, Probe: x.Probe, ByHand: x.ByHand, Fixed: x.Fixed}
		if x.Address.Valid() {
			e.Address = x.Address.String()
		}
		if x.Heads > 0 {
			e.Heads = &x.Heads
		}
		f.Fixtures = append(f.Fixtures, e)
	}
	text, err := yaml.MarshalWithOptions(f, yaml.WithComment(comments), yaml.IndentSequence(true))
	if err != nil {
		return nil, fmt.Errorf("writing the rig: %w", err)
	}
	text = append([]byte("# A rig of trueup. Every key that may stand here: trueup rig schema.\n"), text...)
	if len(d.End) > 0 {
		text = append(text, '\n')
		for _, l := range commentLines(d.End) {
			text = append(text, ("#" + l + "\n")...)
		}
	}
	return text, nil
}

// commentLines keeps each comment on its line, whatever came into it.
func commentLines(lines []string) []string {
	out := make([]string, len(lines))
	for i, l := range lines {
		out[i] = " " + strings.Map(func(r rune) rune {
			if !unicode.IsPrint(r) {
				return ' '
			}
			return r
		}, l)
	}
	return out
}
