package rig

import (
	"net/netip"
	"time"

	"trueup/colorcalc/gel"
	"trueup/dmx"
	"trueup/dmx/sacn"
	"trueup/loop/session/core"
	"trueup/profiles"
	"trueup/safety"
)

// Rig is a checked rig file. Everything a person may leave out has its default
// filled in; a Rig that Load returned has no errors left.
type Rig struct {
	Name string
	// Path is the file as it was given, Dir its folder; other files are named
	// in it relative to Dir.
	Path, Dir string
	// Stage is the simulated stage that the rig was turned to, in the words of --stage; "" as its file says.
	Stage string

	Output Output
	Feeds  []Feed
	Safety Safety
	Target Target
	// Lanes is how many lamps may be worked at side by side, 1..MostLanes.
	Lanes int
	// Tolerance is the radius in CIE 1976 u'v' that counts as landed.
	Tolerance float64
	// Gels are the filters that are to be had; empty: the file names no list.
	Gels     []gel.Gel
	Groups   []Group
	Fixtures []Fixture
}

// Mode is how our levels stand beside a desk's.
type Mode string

const (
	// Own: we alone send the universes of the rig; slots of no fixture are 0.
	Own Mode = "own"
	// Overlay: our slots are laid over the desk's live stream.
	Overlay Mode = "overlay"
)

// Output is how levels leave the machine (ANSI E1.31).
type Output struct {
	Mode     Mode
	Priority uint8 // 0..200; default 100 (E1.31-2018 6.2.3)
	// AutoPriority: an overlay whose file names no priority goes one above the
	// highest that it hears; Priority then says nothing.
	AutoPriority bool
	SourceName   string   // as receivers show it, at most 63 bytes of UTF-8
	Interfaces   []string // multicast leaves by these; none: the system's choice
	Multicast    bool
	IPv6         IPv6Use // of multicast; empty: as the machine's settings say
	Unicast      []netip.AddrPort
}

// IPv6Use says whether multicast goes by IPv6 beside IPv4. A unicast address
// names its own version.
type IPv6Use string

// The uses; the zero value leaves it to the settings of the machine.
const (
	IPv6Off  IPv6Use = "off"  // IPv4 alone
	IPv6Also IPv6Use = "also" // both: one packet by two ways (E1.31-2018 9.1)
	IPv6Only IPv6Use = "only"
)

// Versions is u in the words of the wire; the zero value is IPv4.
func (u IPv6Use) Versions() sacn.IPVersions {
	switch u {
	case IPv6Also:
		return sacn.IPv4AndIPv6
	case IPv6Only:
		return sacn.IPv6
	}
	return sacn.IPv4
}

// Feed is where readings come from, as the rig file says it.
type Feed struct {
	Name string
	Kind string // the transport, such as tcp
	// Address is host:port, a path or a URL, as the kind wants it. Paths of
	// files are resolved against the rig's folder.
	Address string
	// Instrument is the path of the instrument file, resolved against the rig's
	// folder; empty for JSON lines of our own.
	Instrument string
	// Probes maps the instrument's names for its measuring heads to the rig's.
	Probes map[string]string
	// Zero durations are left to the feed's own defaults.
	Latency, Integration, StaleAfter time.Duration
	Pos                              Pos
}

// Safety holds the limits; what the file leaves out has the governor's default,
// and nothing is unlimited. Fractions are of full light output, not of raw
// slot values.
type Safety struct {
	// Limits are complete and checked; with people aloft they are the calmer
	// variant already.
	Limits safety.Limits
	// GroupCaps limit the level of a group's fixtures further, by group name.
	GroupCaps map[string]float64
	// Unsaid: the file has no safety block, so that full light is allowed.
	Unsaid bool
	// Locked slots (house and work light) are never ours to send.
	Locked []dmx.Span
}

// UnsaidLimits is said loudly where nobody chose the limits.
const UnsaidLimits = "CAUTION: the rig file has no safety block, so fixtures may be driven to full light; write safety: {level_cap: 60 %} to limit them"

// Describe says the limits in words, one line each, and first that nobody
// chose them.
func (s Safety) Describe() []string {
	if s.Unsaid {
		return append([]string{UnsaidLimits}, s.Limits.Describe()...)
	}
	return s.Limits.Describe()
}

// Target is what every fixture must reach: exactly one of Color and Reference.
type Target struct {
	// Color is a colour expression, such as "4300 K duv -0.002" or "D56".
	Color string
	// Reference is the name of the fixture whose light is measured and matched.
	Reference string
	// Freeze matches to the reference as it is read first, even if it moves.
	Freeze bool
	// BestCommon asks for the colour nearest to this one that the most fixtures reach.
	BestCommon bool
	// Level is the light wished for, as a fraction of full output.
	Level float64
	// Common says that all lamps shall give one level at the probe; Lux is that
	// level where Common is core.CommonLux.
	Common core.CommonLevel
	Lux    float64
	// Spend is what four or more emitters are spent on.
	Spend core.Spend
	Pos   Pos
}

// Group is a named set of fixtures.
type Group struct {
	Name     string
	Fixtures []int // indices into Rig.Fixtures, ascending
	Pos      Pos
}

// Grid is a fixture's place in a wall or ceiling, counted from 1 at the top left.
type Grid struct{ Col, Row int }

// Fixture is one lamp of the rig. Ranges in the file ("wash 1..8") arrive as
// one Fixture each.
type Fixture struct {
	Name        string
	ProfilePath string // resolved against the rig's folder
	Profile     *profiles.Profile
	ModeName    string
	Mode        *profiles.Mode // nil where a fixed lamp's profile has none
	// Address is where the fixture's first slot lies; the zero Address for
	// fixed and by-hand fixtures.
	Address     dmx.Address
	Heads       int    // heads to work on, 1..the mode's own count
	DeskChannel string // the channel's name at the desk, free text
	Probe       string // the measuring head that sees this fixture
	Unit        string // its serial, by which it is known in any rig; "" = none
	Grid        Grid   // zero where none was given
	ByHand      bool   // a person sets it: the tool says what to dial
	Fixed       bool   // cannot be changed: measured only
	// Level is the light wished for, as a fraction of full output.
	Level float64
	// LevelCap is the tightest of the rig's, the groups' and its own cap.
	LevelCap float64
	Groups   []string
	Pos      Pos // of the fixture's entry in the file
}

// Sent tells whether levels go to the fixture over the network.
func (f *Fixture) Sent() bool { return !f.Fixed && !f.ByHand }

// Pos is a place in the rig file.
type Pos struct{ Line, Col int }

// Fixture finds a fixture by its exact name.
func (r *Rig) Fixture(name string) (*Fixture, bool) {
	for i := range r.Fixtures {
		if r.Fixtures[i].Name == name {
			return &r.Fixtures[i], true
		}
	}
	return nil, false
}
