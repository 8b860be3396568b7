package gdtf

import (
	"fmt"
	"sort"

	"trueup/profiles/xmltree"
)

// Mode is one DMX mode.
type Mode struct {
	Name      string
	Footprint int // the highest slot used
	Channels  []Channel
	// Heads is how often the channels of the repeated geometry are there, and
	// Stride the slots from one to the next; 1 and 0 for a plain fixture.
	Heads, Stride int
}

// Channel is one DMX channel of a mode.
type Channel struct {
	Geometry  string
	Attribute string // of its first logical channel
	Slots     []int  // from 1, most significant first; none for a virtual channel
	PerHead   bool   // repeated for every head; Slots are those of the first
	Functions []Function
	Default   uint32 // in the channel's own width
	HasDef    bool
	line      int
}

// Name is the channel's own name, as ModeMaster refers to it.
func (c *Channel) Name() string { return c.Geometry + "_" + c.Attribute }

// Max is the channel's largest value.
func (c *Channel) Max() uint32 { return maxOf(max(1, len(c.Slots))) }

// Function is a range of a channel with one meaning.
type Function struct {
	Name, Attribute    string
	From, To           uint32 // both included, in the channel's own width
	PhysFrom, PhysTo   float64
	HasPhys            bool
	Emitter            string
	Master             string // ModeMaster: holds only while another channel is in a range
	MasterLo, MasterHi uint32 // in the master's width
	Sets               []Set

	space                string // its ColorSpace, as written
	masterFrom, masterTo string // as written; read once the master's width is known
	def                  uint32
	hasDef               bool
}

// Set is a named part of a function.
type Set struct {
	Name     string
	From, To uint32
}

func (ft *FixtureType) mode(n, geometries *xmltree.Node) (Mode, error) {
	m := Mode{Name: xmltree.Clip(n.Get("Name")), Heads: 1}
	refs := references(geometries, n.Get("Geometry"))
	owner := map[int]int{} // slot -> index of its channel + 1
	for _, c := range n.Child("DMXChannels").All("DMXChannel") {
		ch, err := ft.channel(c)
		if err != nil {
			return m, err
		}
		if b := c.Or("DMXBreak", "1"); b != "1" && b != "Overwrite" && len(ch.Slots) > 0 {
			ft.note("mode %q, line %d: channel %s has a start address of its own (break %s) and is left out", m.Name, c.Line, ch.Name(), xmltree.Clip(b))
			continue
		}
		if r := refs[ch.Geometry]; len(r) > 0 {
			if err := ft.repeat(&m, &ch, r); err != nil {
				return m, err
			}
		}
		m.Channels = append(m.Channels, ch)
		for h := range heads(&ch, &m) {
			for _, s := range ch.Slots {
				s += h * m.Stride
				if s > 512 {
					return m, fmt.Errorf("line %d: channel %s would lie on slot %d; a universe ends at 512", c.Line, ch.Name(), s)
				}
				if o := owner[s]; o != 0 {
					return m, fmt.Errorf("line %d: channels %s and %s both lie on slot %d", c.Line, m.Channels[o-1].Name(), ch.Name(), s)
				}
				owner[s] = len(m.Channels)
				m.Footprint = max(m.Footprint, s)
			}
		}
	}
	ft.masters(&m)
	ft.relations(&m, n)
	return m, nil
}

func heads(c *Channel, m *Mode) int {
	if c.PerHead {
		return m.Heads
	}
	return 1
}

// repeat lays a channel of a repeated geometry out over its references.
func (ft *FixtureType) repeat(m *Mode, c *Channel, offsets []int) error {
	stride := 0
	for i := 1; i < len(offsets); i++ {
		d := offsets[i] - offsets[i-1]
		if i > 1 && d != stride || d <= 0 {
			return fmt.Errorf("line %d: the heads of %q are not evenly spaced (offsets %v); such a mode can not be drafted", c.line, c.Geometry, offsets)
		}
		stride = d
	}
	if m.Heads > 1 && (m.Heads != len(offsets) || m.Stride != stride) {
		return fmt.Errorf("line %d: two kinds of heads repeat differently; such a mode can not be drafted", c.line)
	}
	for i := range c.Slots {
		c.Slots[i] += offsets[0] - 1
	}
	if len(offsets) > 1 {
		c.PerHead = true
		m.Heads, m.Stride = len(offsets), stride
	}
	return nil
}

// references finds, below the mode's geometry, every GeometryReference and the
// DMX offsets (break 1) at which it repeats its geometry's channels.
func references(geometries *xmltree.Node, top string) map[string][]int {
	found := map[string][]int{}
	var walk func(n *xmltree.Node)
	walk = func(n *xmltree.Node) {
		if n.Name == "GeometryReference" {
			offset := 1
			for _, b := range n.All("Break") {
				var k, o int
				fmt.Sscanf(b.Or("DMXBreak", "1"), "%d", &k)
				if _, err := fmt.Sscanf(b.Or("DMXOffset", "1"), "%d", &o); err == nil && k == 1 && o >= 1 && o <= 512 {
					offset = o
				}
			}
			g := xmltree.Clip(n.Get("Geometry"))
			if len(found[g]) < 512 {
				found[g] = append(found[g], offset)
			}
		}
		for _, k := range n.Kids() {
			walk(k)
		}
	}
	for _, g := range geometries.Kids() {
		if g.Get("Name") == top || top == "" {
			walk(g)
		}
	}
	for _, offsets := range found {
		sort.Ints(offsets)
	}
	return found
}
