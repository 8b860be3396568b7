package core

import (
	"slices"
	"strings"
)

// unwatchedWords is what the end of a match says of lamps that may have changed after they were read; "" for none.
func (c *Core) unwatchedWords() string {
	var say []string
	for _, words := range []string{c.notWatched(), c.knownRestless()} {
		if words != "" {
			say = append(say, words)
		}
	}
	return strings.Join(say, "; ")
}

// knownRestless names the types with a landed unit that an earlier run found to change their colour by themselves, and of which none
// could be watched in this one; "" for none.
func (c *Core) knownRestless() string {
	if c.cfg.Work != Match {
		return ""
	}
	var names []string
	among := c.infos()
	c.each(func(u *unit) {
		name := TypeName(u.Info, among)
		if s := c.steady(u); u.outcome.Landed() && s.restless && s.watched == 0 && !slices.Contains(names, name) {
			names = append(names, name)
		}
	})
	if len(names) == 0 {
		return ""
	}
	text, _ := c.heldBriefly("known to change their colour by themselves, and not watched", names)
	return text
}

// heldBriefly says of fixtures, called by the names of their types, that what is claimed of them holds for a moment, and tells whether they
// could be watched for longer.
func (c *Core) heldBriefly(what string, names []string) (text string, watchable bool) {
	text = what + ": " + strings.Join(names, ", ") + "; what is said of these fixtures holds for a second or two after they were lit"
	if c.commonLux != 0 {
		return text + ", and where all are brought to one level none can be watched for longer", false
	}
	return text, true
}
