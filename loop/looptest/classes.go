package looptest

import "trueup/loop/stage"

// Classes lists the published classes of the bench.
func Classes() []Class {
	return []Class{
		{Name: "emitters, near white"},
		{Name: "emitters, saturated", Aim: Saturated},
		{Name: "emitters, out of gamut", Aim: Outside},
		{Name: "emitters, another unit's emitter", Aim: OtherUnit},
		{Name: "cct+tint, inner range", Engine: true},
		{Name: "cct+tint, full range", Engine: true, Aim: Saturated},
		{Name: "cct+tint, out of range", Engine: true, Aim: Outside},
		{Name: "cct+tint, another unit's corner", Engine: true, Aim: OtherUnit},
		{Name: "xy, near white", Engine: true, Mode: stage.ByXY},
		{Name: "xy, saturated", Engine: true, Mode: stage.ByXY, Aim: Saturated},
		{Name: "hue/sat, near white", Engine: true, Mode: stage.ByHueSat},
		{Name: "hue/sat, saturated", Engine: true, Mode: stage.ByHueSat, Aim: Saturated},
	}
}

// Trials lists what else a lamp or a profile may do to the loop.
func Trials() []Class {
	return []Class{
		{Name: "emitters, quiet meter", Quiet: true},
		{Name: "cct+tint, quiet meter", Engine: true, Quiet: true},
		{Name: "emitters, 8 bit", Bits: 8},
		{Name: "emitters, 8 bit, saturated", Bits: 8, Aim: Saturated},
		{Name: "cct+tint, 8 bit", Engine: true, Bits: 8},
		{Name: "emitters, wrong law", LawWrong: true},
		{Name: "emitters, law unknown", LawUnknown: true},
		{Name: "emitters, primaries off 0.03", PrimariesOff: 0.03},
		{Name: "emitters, law and primaries wrong", LawWrong: true, PrimariesOff: 0.03},
		{Name: "emitters, sigma from 8 repeats", SigmaLearnt: true},
		{Name: "emitters, no level in the feed", NoLevel: true},
		{Name: "emitters, stone cold", Cold: true},
		{Name: "emitters, same bin", Spread: 0.3},
	}
}
