package gdtf

import (
	"slices"
	"strings"

	"trueup/profiles/xmltree"
)

// known are the elements of DIN SPEC 15800 below those that are read here.
var known = map[string][]string{
	"GDTF":                 {"FixtureType"},
	"FixtureType":          {"AttributeDefinitions", "Wheels", "PhysicalDescriptions", "Models", "Geometries", "DMXModes", "Revisions", "FTPresets", "Protocols"},
	"PhysicalDescriptions": {"ColorSpace", "AdditionalColorSpaces", "Gamuts", "Filters", "Emitters", "DMXProfiles", "CRIs", "Connectors", "Properties"},
	"Emitters":             {"Emitter"},
	"Emitter":              {"Measurement"},
	"Measurement":          {"MeasurementPoint"},
	"DMXModes":             {"DMXMode"},
	"DMXMode":              {"DMXChannels", "Relations", "FTMacros"},
	"DMXChannels":          {"DMXChannel"},
	"DMXChannel":           {"LogicalChannel"},
	"LogicalChannel":       {"ChannelFunction"},
	"ChannelFunction":      {"ChannelSet", "SubChannelSet"},
}

// unknown notes elements that the standard does not have where they stand, each
// name once for each parent.
func (ft *FixtureType) unknown(root *xmltree.Node) {
	seen := map[string]bool{}
	var walk func(n *xmltree.Node)
	walk = func(n *xmltree.Node) {
		allowed, read := known[n.Name]
		if !read {
			return
		}
		for _, k := range n.Kids() {
			if slices.Contains(allowed, k.Name) {
				walk(k)
				continue
			}
			if at := n.Name + "/" + k.Name; !seen[at] {
				seen[at] = true
				ft.note("line %d: the element %s in %s is not known and left out", k.Line, xmltree.Clip(k.Name), n.Name)
			}
		}
	}
	walk(root)
}

// relations notes how channels work on each other: a draft can not say it.
func (ft *FixtureType) relations(m *Mode, n *xmltree.Node) {
	for i, r := range n.Child("Relations").All("Relation") {
		if i == 20 {
			ft.note("mode %q: more relations between channels are left out", m.Name)
			return
		}
		ft.note("mode %q: %s works on %s (%s); a draft does not say so", m.Name, xmltree.Clip(r.Get("Master")), xmltree.Clip(r.Get("Follower")), xmltree.Clip(r.Or("Type", "no type")))
	}
}

// space names the RGB space that a function stands in, in the profile's words;
// "unknown" where it is none of those that a profile can name.
func (ft *FixtureType) space(name string) string {
	if i := strings.LastIndex(name, "."); i >= 0 {
		name = name[i+1:]
	}
	mode, ok := ft.spaces[name]
	if !ok {
		mode = ft.spaces[""]
	}
	switch mode {
	case "sRGB":
		return "bt709" // the same primaries and white (IEC 61966-2-1)
	case "ANSI":
		return "e1.54"
	}
	return "unknown"
}

// readSpaces reads the colour spaces by name; "" is the fixture's own.
func (ft *FixtureType) readSpaces(physical *xmltree.Node) {
	ft.spaces = map[string]string{}
	if n := physical.Child("ColorSpace"); n != nil {
		ft.spaces[""] = n.Or("Mode", "sRGB")
	}
	for _, n := range physical.Child("AdditionalColorSpaces").All("ColorSpace") {
		ft.spaces[n.Get("Name")] = n.Or("Mode", "sRGB")
	}
}
