package gdtf

import (
	"fmt"
	"sort"
	"strings"

	"trueup/profiles/xmltree"
)

// maxFunctions bounds the functions and sets of one channel.
const maxFunctions = 1024

func (ft *FixtureType) channel(n *xmltree.Node) (Channel, error) {
	c := Channel{Geometry: xmltree.Clip(n.Get("Geometry")), line: n.Line}
	slots, err := parseOffset(n.Get("Offset"))
	if err != nil {
		return c, fmt.Errorf("line %d: %w", n.Line, err)
	}
	c.Slots = slots
	width := max(1, len(slots))
	for _, l := range n.All("LogicalChannel") {
		if c.Attribute == "" {
			c.Attribute = xmltree.Clip(l.Get("Attribute"))
		}
		for _, f := range l.All("ChannelFunction") {
			if len(c.Functions) == maxFunctions {
				return c, fmt.Errorf("line %d: more than %d functions in one channel", f.Line, maxFunctions)
			}
			c.Functions = append(c.Functions, ft.function(f, xmltree.Clip(l.Get("Attribute")), width))
		}
	}
	// Functions of all logical channels share the channel; each reaches to the
	// one before the next, and the last to the top.
	order := make([]int, len(c.Functions))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return c.Functions[order[a]].From < c.Functions[order[b]].From })
	for k, i := range order {
		f := &c.Functions[i]
		f.To = maxOf(width)
		for _, j := range order[k+1:] {
			// Functions under different masters may share a range.
			if g := &c.Functions[j]; g.From > f.From && sameMaster(f, g) {
				f.To = g.From - 1
				break
			}
		}
		ends(f)
	}
	ft.defaults(n, &c, width)
	sort.SliceStable(c.Functions, func(a, b int) bool { return c.Functions[a].From < c.Functions[b].From })
	return c, nil
}

func sameMaster(f, g *Function) bool {
	return f.Master == g.Master && f.masterFrom == g.masterFrom && f.masterTo == g.masterTo
}

// ends closes the sets of a function.
func ends(f *Function) {
	sort.SliceStable(f.Sets, func(a, b int) bool { return f.Sets[a].From < f.Sets[b].From })
	for i := range f.Sets {
		f.Sets[i].To = f.To
		if i+1 < len(f.Sets) && f.Sets[i+1].From > f.Sets[i].From {
			f.Sets[i].To = f.Sets[i+1].From - 1
		}
	}
}

// defaults finds the channel's default: that of the initial function, else of
// the first function, else the DMXChannel's own (versions before 1.1).
func (ft *FixtureType) defaults(n *xmltree.Node, c *Channel, width int) {
	if len(c.Functions) > 0 {
		f := &c.Functions[0]
		if want := n.Get("InitialFunction"); want != "" {
			for i := range c.Functions {
				if strings.HasSuffix(want, "."+c.Functions[i].Name) {
					f = &c.Functions[i]
					break
				}
			}
		}
		c.Default, c.HasDef = f.def, f.hasDef
	}
	if v, ok, err := parseDMXValue(n.Get("Default"), width); err == nil && ok && !c.HasDef {
		c.Default, c.HasDef = v, true
	}
}

func (ft *FixtureType) function(n *xmltree.Node, attribute string, width int) Function {
	f := Function{Name: xmltree.Clip(n.Get("Name")), Attribute: xmltree.Clip(n.Or("Attribute", attribute)), Emitter: xmltree.Clip(n.Get("Emitter"))}
	if f.Name == "" {
		f.Name = f.Attribute
	}
	if f.Attribute == "NoFeature" {
		f.Attribute = ""
	}
	value := func(key string) (uint32, bool) {
		v, ok, err := parseDMXValue(n.Get(key), width)
		if err != nil {
			ft.note("line %d: %s of function %q: %v", n.Line, key, f.Name, err)
		}
		return v, ok
	}
	f.From, _ = value("DMXFrom")
	f.def, f.hasDef = value("Default")
	from, err1 := parseNumber(n.Get("PhysicalFrom"))
	to, err2 := parseNumber(n.Get("PhysicalTo"))
	// 0 and 1 are the format's defaults and tell nothing.
	if err1 == nil && err2 == nil && !(from == 0 && to == 1) {
		f.PhysFrom, f.PhysTo, f.HasPhys = from, to, true
	}
	f.space = n.Get("ColorSpace")
	if n.Get("DMXProfile") != "" {
		ft.note("line %d: function %q has a response of its own (DMXProfile), which a draft does not say", n.Line, f.Name)
	}
	f.Master = xmltree.Clip(n.Get("ModeMaster"))
	f.masterFrom, f.masterTo = n.Get("ModeFrom"), n.Get("ModeTo")
	for _, s := range n.All("ChannelSet") {
		if len(f.Sets) == maxFunctions {
			break
		}
		v, _, err := parseDMXValue(s.Get("DMXFrom"), width)
		if err != nil {
			ft.note("line %d: %v", s.Line, err)
			continue
		}
		f.Sets = append(f.Sets, Set{Name: xmltree.Clip(s.Get("Name")), From: v})
	}
	return f
}

// masters reads ModeFrom and ModeTo in the width of the channel that they
// speak of.
func (ft *FixtureType) masters(m *Mode) {
	for i := range m.Channels {
		for j := range m.Channels[i].Functions {
			f := &m.Channels[i].Functions[j]
			if f.Master == "" {
				continue
			}
			master := m.channel(f.Master)
			if master == nil {
				ft.note("mode %q: function %q depends on %q, which is not there", m.Name, f.Name, f.Master)
				continue
			}
			width := max(1, len(master.Slots))
			lo, _, err1 := parseDMXValue(f.masterFrom, width)
			hi, ok, err2 := parseDMXValue(f.masterTo, width)
			if err1 != nil || err2 != nil || !ok || hi < lo {
				ft.note("mode %q: function %q: its range of %q can not be read", m.Name, f.Name, f.Master)
				continue
			}
			f.MasterLo, f.MasterHi = lo, hi
		}
	}
}

// channel finds a channel by the name that ModeMaster uses: the channel's own,
// or that of one of its functions behind further dots.
func (m *Mode) channel(ref string) *Channel {
	head, _, _ := strings.Cut(ref, ".")
	for i := range m.Channels {
		if m.Channels[i].Name() == ref || m.Channels[i].Name() == head {
			return &m.Channels[i]
		}
	}
	return nil
}
