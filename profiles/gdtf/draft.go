package gdtf

import (
	"errors"
	"fmt"
	"maps"
	"strings"

	"github.com/goccy/go-yaml"

	"trueup/profiles"
	"trueup/profiles/yamlfile"
)

// Draft is a profile in the making: text for a person to go through.
type Draft struct {
	// YAML is a profile file with a comment at every guess. It can be read as
	// a profile as it stands; that does not make it true.
	YAML []byte
	// Notes are what was not understood, and what was left out.
	Notes []string
	// Modes are the names of the profile's modes, in order.
	Modes []string
}

// drafter collects comments by YAML path while a draft is made.
type drafter struct {
	ft       *FixtureType
	comments yaml.CommentMap
	notes    []string
}

// Draft makes a profile of everything in the file that has colour to set. It
// is an error when nothing has.
func (ft *FixtureType) Draft() (*Draft, error) {
	d := &drafter{ft: ft, comments: yaml.CommentMap{}, notes: append([]string(nil), ft.Notes...)}
	out := outProfile{Profile: ft.Name, Maker: ft.Manufacturer, Note: "Drafted from GDTF " + ft.Version + ". Every figure is a claim: check it against the manual, then measure."}
	if strings.TrimSpace(out.Profile) == "" {
		out.Profile = "unnamed fixture"
	}
	for i := range ft.Modes {
		if d.modes(&out, i); len(out.Modes) == mostModes {
			d.note("%d modes: any more are left out", mostModes)
			break
		}
	}
	if len(out.Modes) == 0 {
		return nil, errors.New("nothing to draft: " + strings.Join(d.notes[len(ft.Notes):], "; "))
	}
	text, err := yaml.MarshalWithOptions(out, yaml.WithComment(d.comments), yaml.IndentSequence(true))
	if err != nil {
		return nil, fmt.Errorf("writing the draft: %w", err)
	}
	done := &Draft{YAML: append([]byte(d.head()), text...), Notes: d.notes}
	for _, m := range out.Modes {
		done.Modes = append(done.Modes, m.Mode)
	}
	return done, nil
}

// readable tells what a reader of profiles makes of a mode by itself.
func readable(p outProfile, mode outMode) error {
	p.Modes = []outMode{mode}
	text, err := yaml.Marshal(p)
	if err != nil {
		return err
	}
	_, err = profiles.Parse("draft", text)
	var all yamlfile.Errors
	if errors.As(err, &all) {
		return errors.New(all[0].Msg)
	}
	return err
}

func (d *drafter) note(format string, args ...any) {
	if len(d.notes) < 200 {
		d.notes = append(d.notes, fmt.Sprintf(format, args...))
	}
}

// say puts a comment behind the value at a path.
func (d *drafter) say(path, format string, args ...any) {
	d.comments[path] = append(d.comments[path], yaml.HeadComment(" "+clipLine(fmt.Sprintf(format, args...))))
}

// clipLine keeps a comment on its line, whatever a file put into it.
func clipLine(text string) string {
	var b strings.Builder
	for _, part := range strings.Fields(text) {
		if b.Len()+len(part) > 400 {
			b.WriteString(" …")
			break
		}
		if b.Len() > 0 {
			b.WriteByte(' ')
		}
		b.WriteString(part)
	}
	return b.String()
}

// free finds a name that is not taken.
func free(name string, taken func(string) bool) string {
	for i, n := 2, name; ; i++ {
		if !taken(n) {
			return n
		}
		n = fmt.Sprintf("%s %d", name, i)
	}
}

// mostModes are drafted of one file.
const mostModes = 64

// modes drafts one mode of the file, once for each way in which it sets colour.
func (d *drafter) modes(out *outProfile, i int) {
	m := &d.ft.Modes[i]
	kinds := m.kinds()
	if len(kinds) == 0 {
		d.note("mode %q: no colour that can be set was found; left out", m.Name)
	}
	for _, kind := range kinds {
		if len(out.Modes) == mostModes {
			return
		}
		at := fmt.Sprintf("$.modes[%d]", len(out.Modes))
		mode, err := d.mode(m, kind, at)
		mode.Mode = nameOf(out, m, i, kind, len(kinds) > 1)
		if err == nil {
			err = readable(*out, mode)
		}
		if err != nil {
			d.note("mode %q, %s: %v; left out", m.Name, kind, err)
			maps.DeleteFunc(d.comments, func(path string, _ []*yaml.Comment) bool { return strings.HasPrefix(path, at) })
			continue
		}
		if len(kinds) > 1 {
			d.say(at+".mode", "this mode has several ways to set colour: keep the one you will use")
		}
		out.Modes = append(out.Modes, mode)
	}
}

// nameOf is a name for a drafted mode that no other has.
func nameOf(out *outProfile, m *Mode, i int, kind string, several bool) string {
	name := m.Name
	if strings.TrimSpace(name) == "" {
		name = fmt.Sprintf("mode %d", i+1)
	}
	if several {
		name += " (" + kind + ")"
	}
	return free(name, func(n string) bool {
		for _, o := range out.Modes {
			if o.Mode == n {
				return true
			}
		}
		return false
	})
}

// head is what a draft begins with.
func (d *drafter) head() string {
	var head strings.Builder
	head.WriteString("# A draft, made from a GDTF file: what somebody typed in, not what was measured.\n" +
		"# Go through it with the manual, look at every comment, then: trueup profile check FILE\n")
	if len(d.notes) > 0 {
		head.WriteString("#\n# Not understood, or left out:\n")
		for _, n := range d.notes {
			head.WriteString("#   - " + clipLine(n) + "\n")
		}
	}
	return head.String()
}
