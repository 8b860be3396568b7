package gdtf

import (
	"strings"

	"trueup/colorcalc"
)

// role is what a channel is to us.
type role int

const (
	roleNever   role = iota // reset, lamp, fans, unknown: sent nothing but the default
	roleElse                // position, beam, gobos: not colour, and not ours
	roleHeld                // wheels, macros, filters: held where they do nothing
	roleShutter             // held open
	roleDimmer
	roleEmitter
	roleCCT
	roleTint
	roleX
	roleY
	roleHue
	roleSat
	roleRGB // indirect: the fixture's firmware mixes
)

// emitterWords are the trade's words for the direct emitter attributes
// (DIN SPEC 15800 annex A, ColorAdd_*). An empty word has none.
var emitterWords = map[string]string{
	"R": "red", "G": "green", "B": "blue", "C": "cyan", "M": "", "Y": "yellow", "RY": "amber", "GY": "lime", "GC": "",
	"BC": "", "BM": "", "RM": "", "W": "white", "WW": "warm white", "CW": "cool white", "UV": "uv",
}

// between are emitters whose attribute has no word of the trade: our name for
// them, and a chromaticity between those of their neighbours.
var between = map[string]struct {
	name string
	xy   colorcalc.XY
}{
	"M":  {"magenta", colorcalc.XY{X: 0.35, Y: 0.16}},
	"GC": {"blue-green", colorcalc.XY{X: 0.10, Y: 0.55}},
	"BC": {"light blue", colorcalc.XY{X: 0.11, Y: 0.15}},
	"BM": {"purple", colorcalc.XY{X: 0.25, Y: 0.09}},
	"RM": {"pink", colorcalc.XY{X: 0.50, Y: 0.25}},
}

// elsewhere begins the attributes of position and beam.
var elsewhere = []string{"Pan", "Tilt", "XYZ_", "Rot_", "Scale_", "PositionEffect", "PositionMSpeed", "Zoom", "Focus", "Iris", "Gobo", "Prism", "Frost", "Blade",
	"ShaperRot", "Animation", "Effects", "BeamEffect", "BarnDoor", "Media", "Video", "Fog", "Haze"}

// held begins the attributes of colour and time that stand still while we
// match.
var held = []string{"ColorMacro", "ColorEffects", "ColorSub_", "ColorMixM", "ColorWheel", "ColorSettings", "ColorUniformity", "ColorControl",
	"ColorConsistency", "ColorCalibration", "ColorModelMode", "CRIMode", "CustomColor", "UVStability", "WavelengthCorrection", "WhiteCount",
	"StrobeMode", "StrobeFrequency", "StrobeRate", "StrobeDuration", "DimmerCurve", "DimmerMode", "PixelMode", "LEDFrequency", "LEDZoneMode",
	"HSB_Quality", "ColorRGB_Quality", "Color"}

// roleOf tells what an attribute is to us. Attributes carry a number where
// there may be several.
func roleOf(attribute string) role {
	a := strings.TrimRight(attribute, "0123456789")
	switch a {
	case "":
		return roleNever
	case "Dimmer", "HSB_Brightness", "CIE_Brightness":
		return roleDimmer
	case "CTO", "CTC", "CTB":
		return roleCCT
	case "Tint":
		return roleTint
	case "CIE_X":
		return roleX
	case "CIE_Y":
		return roleY
	case "HSB_Hue":
		return roleHue
	case "HSB_Saturation":
		return roleSat
	case "ColorRGB_Red", "ColorRGB_Green", "ColorRGB_Blue":
		return roleRGB
	}
	if code, ok := strings.CutPrefix(a, "ColorAdd_"); ok {
		if _, known := emitterWords[code]; known {
			return roleEmitter
		}
	}
	if strings.Contains(a, "Reset") || strings.Contains(a, "LampControl") {
		return roleNever
	}
	if strings.HasPrefix(a, "Shutter") {
		return roleShutter
	}
	for _, p := range elsewhere {
		if strings.HasPrefix(a, p) {
			return roleElse
		}
	}
	for _, p := range held {
		if strings.HasPrefix(a, p) {
			return roleHeld
		}
	}
	return roleNever
}

// role is that of the channel: the most useful of its functions', but never
// harmless where one of them is not.
func (c *Channel) role() role {
	best, never := roleOf(c.Attribute), false
	for i := range c.Functions {
		r := roleOf(c.Functions[i].Attribute)
		never = never || r == roleNever && c.Functions[i].Attribute != ""
		best = max(best, r)
	}
	if never && best <= roleHeld {
		return roleNever
	}
	return best
}

// function finds the channel's widest function of a role.
func (c *Channel) function(r role) *Function {
	var best *Function
	for i := range c.Functions {
		f := &c.Functions[i]
		if roleOf(f.Attribute) == r && (best == nil || f.To-f.From > best.To-best.From) {
			best = f
		}
	}
	return best
}
