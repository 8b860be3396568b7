package looptest

import "trueup/loop/stage"

// Classes lists the published classes of the bench, each with its goal in
// readings for the loop.
func Classes() []Class {
	return []Class{
		{Name: "emitters, near white", Goal: [2]int{3, 6}},
		{Name: "emitters, saturated", Goal: [2]int{4, 7}, Aim: Saturated},
		{Name: "emitters, out of gamut", Goal: [2]int{2, 6}, Aim: Outside},
		{Name: "emitters, another unit's emitter", Goal: [2]int{2, 6}, Aim: OtherUnit},
		{Name: "cct+tint, inner range", Goal: [2]int{3, 5}, Engine: true},
		{Name: "cct+tint, full range", Goal: [2]int{3, 5}, Engine: true, Aim: Saturated},
		{Name: "cct+tint, out of range", Goal: [2]int{2, 6}, Engine: true, Aim: Outside},
		{Name: "cct+tint, another unit's corner", Goal: [2]int{2, 6}, Engine: true, Aim: OtherUnit},
		{Name: "xy, near white", Goal: [2]int{3, 6}, Engine: true, Mode: stage.ByXY},
		{Name: "xy, saturated", Goal: [2]int{3, 6}, Engine: true, Mode: stage.ByXY, Aim: Saturated},
		{Name: "hue/sat, near white", Goal: [2]int{3, 6}, Engine: true, Mode: stage.ByHueSat},
		{Name: "hue/sat, saturated", Goal: [2]int{3, 6}, Engine: true, Mode: stage.ByHueSat, Aim: Saturated},
	}
}

// Trials lists what else a lamp, a profile or a meter may do to the loop.
func Trials() []Class {
	return []Class{
		{Name: "emitters, quiet meter", Goal: [2]int{2, 4}, Quiet: true},
		{Name: "emitters, quiet meter, saturated", Goal: [2]int{2, 4}, Quiet: true, Aim: Saturated},
		{Name: "cct+tint, quiet meter", Goal: [2]int{2, 4}, Engine: true, Quiet: true},
		{Name: "emitters, 8 bit", Bits: 8},
		{Name: "emitters, 8 bit, saturated", Bits: 8, Aim: Saturated},
		{Name: "cct+tint, 8 bit", Engine: true, Bits: 8},
		{Name: "emitters, wrong law", Goal: [2]int{5, 8}, LawWrong: true},
		{Name: "emitters, law unknown", Goal: [2]int{4, 8}, LawUnknown: true},
		{Name: "emitters, primaries off 0.03", Goal: [2]int{6, 12}, PrimariesOff: 0.03},
		{Name: "emitters, law and primaries wrong", LawWrong: true, PrimariesOff: 0.03},
		{Name: "emitters, sigma from 8 repeats", SigmaLearnt: true},
		{Name: "emitters, no level in the feed", NoLevel: true},
		{Name: "emitters, stone cold", Cold: true},
		{Name: "emitters, same bin", Spread: 0.3},
	}
}
