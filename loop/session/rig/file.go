package rig

// The shape of a rig file, with the tags of yamlfile. Quantities are text with
// their unit, read by the functions of quantity.go; empty and nil mean "left
// out". The tag form says what such a text looks like, for the JSON Schema.
type fileRig struct {
	Rig       string              `yaml:"rig" need:"yes" help:"Name of the rig, as reports show it."`
	Output    fileOutput          `yaml:"output,omitempty" help:"How levels leave this machine over sACN (ANSI E1.31)."`
	Feeds     []fileFeed          `yaml:"feeds,omitempty" items:"1 16" help:"Where readings come from."`
	Safety    fileSafety          `yaml:"safety,omitempty" help:"Limits. What is left out has a gentle default; nothing is unlimited."`
	Target    fileTarget          `yaml:"target" need:"yes" help:"What every fixture must reach: a color, or the light of a reference fixture."`
	Tolerance string              `yaml:"tolerance,omitempty" form:"tolerance" help:"Radius in CIE 1976 u'v' that counts as landed. Default 0.0010."`
	Lanes     *int                `yaml:"lanes,omitempty" min:"1" max:"16" help:"How many fixtures are worked at side by side, each at a probe of its own, where their light does not disturb the others' readings. 1: one fixture after another. Default: as many as there are probes, up to 16."`
	Gels      string              `yaml:"gels,omitempty" help:"The filters that are to be had: a list as YAML, relative to this file. Advice for fixtures that are out of reach is taken from it. Default: a generic nominal series."`
	Groups    map[string][]string `yaml:"groups,omitempty" help:"Named sets of fixtures; ranges such as wash 1..8 are allowed."`
	Fixtures  []fileFixture       `yaml:"fixtures" need:"yes" items:"1 4000" help:"The fixtures. One entry may be a range of equal fixtures."`
}

type fileOutput struct {
	Mode       string   `yaml:"mode,omitempty" one:"own overlay" help:"own: this machine alone sends these universes. overlay: our slots are laid over a desk's live stream. Default own."`
	Priority   *int     `yaml:"priority,omitempty" min:"0" max:"200" help:"E1.31 priority. Default 100 for own; for overlay one above the highest priority heard. An overlay is refused where its priority is not above that."`
	SourceName string   `yaml:"source_name,omitempty" help:"Name that receivers show. Default trueup."`
	Interfaces []string `yaml:"interfaces,omitempty" items:"1 64" help:"Network interfaces for multicast. Default: the system's choice."`
	Multicast  *bool    `yaml:"multicast,omitempty" help:"Send multicast. Default yes, unless unicast addresses are given."`
	IPv6       string   `yaml:"ipv6,omitempty" one:"off also only" help:"Multicast by IPv6: off (IPv4 alone), also (both), only. Default: that of the machine's settings, else off."`
	Unicast    []string `yaml:"unicast,omitempty" items:"1 64" help:"Receivers to send to directly: address, or address:port (port 5568 if left out)."`
}

type fileFeed struct {
	Name        string            `yaml:"name,omitempty" help:"Name of the feed in messages. Default meter."`
	Kind        string            `yaml:"kind,omitempty" one:"tcp tcp-listen udp stdin file serial exec http osc mqtt hand" help:"The transport. hand: a person types readings. Default tcp."`
	Address     string            `yaml:"address,omitempty" help:"host:port, a path, or a URL, as the kind wants it."`
	Instrument  string            `yaml:"instrument,omitempty" help:"Instrument file that says how to read a line. Default: one JSON object a line."`
	Probes      map[string]string `yaml:"probes,omitempty" help:"The instrument's names of its measuring heads, each with the name used in this file."`
	Latency     string            `yaml:"latency,omitempty" form:"time" help:"From the end of integration until a reading is here, at the most."`
	Integration string            `yaml:"integration,omitempty" form:"time" help:"How long the instrument integrates, where it does not say so itself."`
	StaleAfter  string            `yaml:"stale_after,omitempty" form:"time" help:"Without a reading for so long the feed counts as stale."`
}

type fileSafety struct {
	Rise        string            `yaml:"rise,omitempty" form:"rate" help:"Fastest rise, in percent of full light per second. Default 50 %/s."`
	Fall        string            `yaml:"fall,omitempty" form:"rate" help:"Fastest fall, in percent of full light per second. Default 50 %/s."`
	Color       string            `yaml:"color,omitempty" form:"rate" help:"Fastest move of a colour parameter (CCT, tint, x, y, hue, saturation), in percent of its range per second. Default 100 %/s."`
	LevelCap    string            `yaml:"level_cap,omitempty" form:"fraction" help:"Most light of any fixture, in percent of full. Default 100 %."`
	GroupCaps   map[string]string `yaml:"group_caps,omitempty" form:"fraction" help:"Tighter level caps of single groups."`
	UVCap       string            `yaml:"uv_cap,omitempty" form:"fraction" help:"Most drive of UV and violet emitters, in percent of their own level. Default 10 %."`
	MaxFullTime string            `yaml:"max_full_time,omitempty" form:"time" help:"Longest time a fixture may stand at its cap, 1 s to 24 h. Default 10 min."`
	Pace        string            `yaml:"pace,omitempty" form:"time" help:"Least time between two large steps of one fixture, 1 s to 1 min. Default 1100 ms."`
	Watchdog    string            `yaml:"watchdog,omitempty" form:"time" help:"When the run finishes no step of its work for so long the fixtures are handed back, 500 ms to 1 min. Default 5 s."`
	DeadMan     string            `yaml:"dead_man,omitempty" form:"time" help:"The earlier name of watchdog, still read. Give one of the two."`
	PeopleAloft bool              `yaml:"people_aloft,omitempty" help:"Somebody is on a ladder or in the grid: slower, and no fixture is put out to measure another."`
	KeepLight   string            `yaml:"keep_light,omitempty" form:"fraction" help:"With people aloft: no fixture below this share of its light at the start. Default 50 %."`
	Locked      []string          `yaml:"locked,omitempty" items:"1 512" form:"slots" help:"House and work light, never to be sent: slots such as 1/400..410."`
}

type fileTarget struct {
	Color     string `yaml:"color,omitempty" help:"A colour: 4300 K duv -0.002, D56, xy 0.33 0.34, uv 0.21 0.48."`
	Reference string `yaml:"reference,omitempty" help:"Name of the fixture whose light is measured and matched."`
	Moving    string `yaml:"moving_reference,omitempty" one:"follow freeze" help:"What to do when the reference moves: follow it, or freeze it as it was read first (claims then say so, and how far it went). Default follow."`
	Best      *bool  `yaml:"best_common,omitempty" help:"Match to the colour nearest to the target that all fixtures reach, or the most where none is common to all; trueup common shows what it costs. Default no."`
	Level     string `yaml:"level,omitempty" form:"fraction" help:"Light wished for, in percent of a fixture's full light. Default 40 %."`
	Common    string `yaml:"common_level,omitempty" form:"common level" help:"One level for all fixtures at the probe, set together with the colour: equal (as the weakest gives at its level), brightest (the most that all can give within their caps), or a level such as 300 lx. Default: each fixture at its own level."`
	Spend     string `yaml:"spend,omitempty" one:"most~white most~light level likeness rendering" help:"What four or more emitters are spent on. most white (default): white emitters as far as they go. most light: as bright as the colour allows, whatever the level says (caps hold). level: the least drive for the level. likeness: look most like the reference to a camera, at a price in light; wants spectra of the emitters. rendering: the best Rf of CIE 224; wants spectra too."`
	Floor     string `yaml:"level_floor,omitempty" form:"fraction" help:"For likeness and rendering: the part of the most light at the colour that is kept at least. Default 70 %."`
	Camera    string `yaml:"camera,omitempty" help:"For likeness: the camera as CSV (wavelength in nm, then red, green, blue), relative to this file. Default: a set of observers."`
}

type fileFixture struct {
	Name        string    `yaml:"name" need:"yes" help:"Name of the fixture; a range such as wash 1..8 stands for eight equal fixtures."`
	Profile     string    `yaml:"profile" need:"yes" help:"Profile file, relative to this file."`
	Mode        string    `yaml:"mode,omitempty" help:"Mode of the profile. May be left out where the profile has only one."`
	Address     string    `yaml:"address,omitempty" form:"address" help:"universe/slot of the first slot, such as 1/101."`
	Step        *int      `yaml:"step,omitempty" min:"1" max:"512" help:"For a range: slots from one fixture's first slot to the next one's. Default: the mode's footprint."`
	Heads       *int      `yaml:"heads,omitempty" min:"1" max:"512" help:"Work on the first so many heads only. Default: all of the mode."`
	DeskChannel string    `yaml:"desk_channel,omitempty" help:"Channel at the desk. In a range it counts up."`
	DeskStep    *int      `yaml:"desk_step,omitempty" min:"1" max:"10000" help:"For a range: from one fixture's desk channel to the next one's. Default: 1. A cue (trueup cues) wants a channel for every slot, so at least the mode's slots."`
	Probe       string    `yaml:"probe,omitempty" help:"Measuring head that sees this fixture. In a range it may be a range too."`
	Unit        string    `yaml:"unit,omitempty" help:"Serial of the fixture: what was learnt of it is found again in any rig (trueup history). In a range it is a range too."`
	Grid        *fileGrid `yaml:"grid,omitempty" help:"Place in a wall or ceiling, counted from 1 at the top left."`
	ByHand      bool      `yaml:"by_hand,omitempty" help:"A person sets this fixture: the program says what to dial."`
	Fixed       bool      `yaml:"fixed,omitempty" help:"This fixture can not be changed; it is only measured."`
	Level       string    `yaml:"level,omitempty" form:"fraction" help:"Light wished for, where it differs from the target's."`
	LevelCap    string    `yaml:"level_cap,omitempty" form:"fraction" help:"A tighter level cap of this fixture."`
}

type fileGrid struct {
	Col     int  `yaml:"col,omitempty" min:"1" max:"1000" need:"yes" help:"Column, from 1 at the left."`
	Row     int  `yaml:"row,omitempty" min:"1" max:"1000" need:"yes" help:"Row, from 1 at the top."`
	Columns *int `yaml:"columns,omitempty" min:"1" max:"1000" help:"For a range: columns of the grid; the fixtures fill it row by row. Default: one row."`
}
