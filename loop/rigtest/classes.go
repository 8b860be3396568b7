package rigtest

import (
	"math"
	"time"

	"trueup/loop/session/core"
	"trueup/loop/stage"
)

// Classes lists the scenes of the bench; the first is the still world.
func Classes() []Class {
	all := []Class{{Name: "still, dark room"}}
	for _, more := range [][]Class{rooms(), references(), neighbours(), lamps(), meters(), faults()} {
		all = append(all, more...)
	}
	return all
}

// How ambient light lives: a walk of 2 % in the root of a minute, with a little of colour, and a fifth more or less in ten minutes.
var (
	walk  = stage.AmbientSpec{Walk: 0.02 / math.Sqrt(60), Tint: 0.0005 / math.Sqrt(60)}
	drift = stage.AmbientSpec{Drift: 0.20 / 600}
)

// rooms are scenes whose ambient light lives.
func rooms() []Class {
	blink := stage.AmbientSpec{Blink: 1, BlinkFrom: 3 * time.Second, BlinkTo: 20 * time.Second}
	beacon := stage.AmbientSpec{Blink: 1, BlinkFrom: 400 * time.Millisecond, BlinkTo: 600 * time.Millisecond}
	clouds := stage.AmbientSpec{Swing: 0.3, SwingPeriod: 13 * time.Second}
	swell := stage.AmbientSpec{Swing: 0.3, SwingPeriod: 35 * time.Second}
	flutter := stage.AmbientSpec{Blink: 1, BlinkFrom: time.Second, BlinkTo: 4 * time.Second}
	pictures := stage.AmbientSpec{Picture: time.Second, PictureMoved: 0.02}
	switches := stage.AmbientSpec{Blink: 1, BlinkFrom: 20 * time.Second, BlinkTo: time.Minute}
	return []Class{
		{Name: "ambient 0.1, constant", Background: 0.1},
		{Name: "ambient 0.3, constant", Background: 0.3},
		{Name: "ambient 1, constant", Background: 1},
		{Name: "ambient 0.1 walks", Background: 0.1, Ambient: walk},
		{Name: "ambient 0.3 walks", Background: 0.3, Ambient: walk},
		{Name: "ambient 1 walks", Background: 1, Ambient: walk},
		{Name: "ambient 0.3 drifts", Background: 0.3, Ambient: drift},
		{Name: "ambient 1 drifts", Background: 1, Ambient: drift},
		{Name: "ambient 0.3, one step", Background: 0.3, StepIn: true},
		{Name: "ambient 1, one step", Background: 1, StepIn: true},
		{Name: "somebody's lamp, once", Somebody: somebody{1, 10 * time.Second, 25 * time.Second, 0.07}},
		{Name: "somebody's lamp, twice", Somebody: somebody{2, 10 * time.Second, 25 * time.Second, 0.07}},
		{Name: "somebody's lamp, once, ambient 0.1", Background: 0.1, Somebody: somebody{1, 10 * time.Second, 25 * time.Second, 0.07}},
		{Name: "somebody's lamp, once, pitch dark", Pitch: true, Somebody: somebody{1, 10 * time.Second, 25 * time.Second, 0.07}},
		{Name: "somebody's bright lamp, once", Somebody: somebody{1, 5 * time.Second, 25 * time.Second, 0.5}},
		{Name: "somebody's lamp, switched every 10-40 s", Somebody: somebody{always, 10 * time.Second, 40 * time.Second, 0.07}},
		{Name: "somebody's bright lamp, switched every 10-40 s", Somebody: somebody{always, 10 * time.Second, 40 * time.Second, 0.3}},
		{Name: "ambient 0.5 goes out", Background: 0.5, GoesOut: true},
		{Name: "ambient 1.5 goes out", Background: 1.5, GoesOut: true},
		{Name: "ambient 0.03 swings", Background: 0.03, Ambient: clouds},
		{Name: "ambient 0.1 swings", Background: 0.1, Ambient: clouds},
		{Name: "ambient 0.3 swings", Background: 0.3, Ambient: clouds},
		{Name: "ambient 0.2 swells", Background: 0.2, Ambient: swell},
		{Name: "ambient 0.5 swells", Background: 0.5, Ambient: swell},
		{Name: "a light that sweeps, 0.006", Sweeps: 0.006},
		{Name: "a light that sweeps, 0.03", Sweeps: 0.03},
		{Name: "a light that sweeps, 0.1", Sweeps: 0.1},
		{Name: "ambient 0.1 blinks 3-20 s", Background: 0.1, Ambient: blink},
		{Name: "ambient 0.3 blinks 3-20 s", Background: 0.3, Ambient: blink},
		{Name: "ambient 0.3 blinks 0.4-0.6 s", Background: 0.3, Ambient: beacon},
		{Name: "ambient 0.1 switches every 20-60 s", Background: 0.1, Ambient: switches},
		{Name: "ambient 0.3 switches every 20-60 s", Background: 0.3, Ambient: switches},
		{Name: "a picture wall, 0.003 of the light", Background: 0.003, Ambient: pictures, Lamp: dims},
		{Name: "a picture wall, 0.01 of the light", Background: 0.01, Ambient: pictures, Lamp: dims},
		{Name: "somebody's lamp, blinks every 3-12 s, late in the run, ambient 1 walks", Probes: 2, Background: 1, Ambient: walk, Somebody: somebody{lastly, 3 * time.Second, 12 * time.Second, 0.3}},
		{Name: "a picture wall, 0.02 of the light, and a lamp that stays lit", Probes: 1, Background: 0.02, Ambient: pictures, Somebody: somebody{times: stays, share: 0.1}},
		{Name: "ambient 0.02 blinks 1-4 s, and a lamp that stays lit", Probes: 1, Background: 0.02, Ambient: flutter, Somebody: somebody{times: stays, share: 0.1}},
		{Name: "ambient 0.02 blinks 1-4 s, and a small lamp that stays lit", Probes: 1, Background: 0.02, Ambient: flutter, Somebody: somebody{times: stays, share: 0.02}},
	}
}

// dims has lamps of a rig differ in brightness, down to a fifth.
func dims(l *lampPlan, d *draws) { l.gain *= math.Exp(-d.between(0, 1.6)) }

// references are scenes whose reference lives.
func references() []Class {
	warms := func(d *draws) stage.Change {
		return stage.Change{Warming: d.towards(0.0035), WarmTime: d.seconds(120, 1200)}
	}
	gel := func(d *draws) stage.Change {
		return stage.Change{Gel: d.seconds(20, 90), GelMoved: d.towards(d.between(0.005, 0.03)), GelFactor: d.between(1.1, 1.8)}
	}
	return []Class{
		{Name: "reference warms", Reference: warms},
		{Name: "reference warms, 24 lamps", Reference: warms, Lamps: 24},
		{Name: "reference's gel taken off", Reference: gel},
		{Name: "reference a lamp beside others", OwnLamp: true},
		{Name: "reference a lamp beside others, warms", OwnLamp: true, Reference: warms},
		{Name: "reference warms, ambient 0.3 drifts", Reference: warms, Background: 0.3, Ambient: drift},
	}
}

// neighbours are scenes where lamps or probes are in each other's way.
func neighbours() []Class {
	return []Class{
		{Name: "spill 1 %, 0.02 off", Probes: 6, Spill: 0.01, Bounce: 0.02},
		{Name: "spill 3 %, 0.02 off", Probes: 6, Spill: 0.03, Bounce: 0.02},
		{Name: "spill 10 %, 0.02 off", Probes: 6, Spill: 0.10, Bounce: 0.02},
		{Name: "all lamps on one probe", Probes: 1},
		{Name: "a probe for each lamp", Probes: 12},
		{Name: "probes that read apart", Probes: 2, ProbesOff: 0.0010},
		{Name: "one level for all, as the weakest", Common: core.CommonEqual},
		{Name: "one level for all, the brightest, ambient 0.3 walks", Background: 0.3, Ambient: walk, Common: core.CommonBrightest},
		{Name: "people aloft, a probe for each lamp", Probes: 12, Aloft: true},
		{Name: "people aloft, 3 lamps on a probe", Probes: 4, Aloft: true},
	}
}

// watched is how long after it was lit a lamp is watched, where it is.
const watched = 8 * time.Second

// calibrates lets a lamp set itself anew some seconds after its power has changed much.
func calibrates(l *lampPlan, d *draws) {
	l.spoilt = true
	l.kind.Quirks.Calibrates, l.kind.Quirks.CalibratesAfter = d.between(0.02, 0.05), d.seconds(2, 6)
}

// calibratesALittle is less: some of the lamps stay within what is not named of one alone.
func calibratesALittle(l *lampPlan, d *draws) {
	calibrates(l, d)
	l.kind.Quirks.Calibrates *= 0.4
}

// lamps are scenes with lamps that do what no profile says, all of them.
func lamps() []Class {
	eases := func(response time.Duration, how stage.Ease) func(*lampPlan, *draws) {
		return func(l *lampPlan, _ *draws) { l.kind.Response, l.kind.Ease, l.known = response, how, false }
	}
	slow := func(tau time.Duration) func(*lampPlan, *draws) { return eases(tau, stage.EasesAll) }
	late := func(l *lampPlan, d *draws) {
		slow(500*time.Millisecond)(l, d)
		l.kind.Delay = 700 * time.Millisecond
	}
	return []Class{
		{Name: "slow lamps, 0.3 s", Lamp: slow(300 * time.Millisecond)},
		{Name: "slow lamps, 1 s", Lamp: slow(time.Second)},
		{Name: "slow lamps, 2 s", Lamp: slow(2 * time.Second)},
		{Name: "lamps 0.7 s late, then slow, 0.5 s", Lamp: late},
		{Name: "lamps 0.7 s late, then slow, 0.5 s, beside somebody's lamp, switched every 10-40 s", Lamp: late, Somebody: somebody{always, 10 * time.Second, 40 * time.Second, 0.07}},
		{Name: "slow dimmers, 1 s, colours at once", Lamp: eases(time.Second, stage.EasesLevel)},
		{Name: "lamps that take 2 s in a straight line", Lamp: eases(2*time.Second, stage.Glides)},
		{Name: "slow lamps, 1 s, and their profiles say so", Lamp: func(l *lampPlan, _ *draws) {
			l.kind.Response, l.known, l.stated = time.Second, true, 4*time.Second
		}},
		{Name: "some lamps slow, 1 s", Alike: 2, Probes: 1, Lamp: func(l *lampPlan, d *draws) {
			if d.IntN(2) == 0 {
				l.kind.Response, l.known = time.Second, false
			}
		}},
		{Name: "lamps that calibrate themselves", Cause: "sets itself", Lamp: calibrates},
		{Name: "lamps that calibrate themselves, watched", Cause: "sets itself", Watch: watched, Lamp: calibrates},
		{Name: "24 lamps of one type that calibrate themselves a little, watched", Lamps: 24, Alike: 24, Cause: "sets itself", Watch: watched, Lamp: calibratesALittle},
		{Name: "still, watched", Watch: watched},
		{Name: "hysteresis at low codes", Lamp: func(l *lampPlan, d *draws) { l.kind.Quirks.Play = d.between(0.005, 0.02) }},
		{Name: "8 bit", Bits: 8},
		{Name: "8 bit, wavy curves", Bits: 8, Lamp: func(l *lampPlan, d *draws) { l.kind.Quirks.Wave = d.between(0.004, 0.012) }},
		{Name: "pulses beat with the window", Lamp: func(l *lampPlan, d *draws) { l.kind.Quirks.PWM = d.between(120, 600) },
			Meter: func(m *stage.MeterSpec, d *draws) { m.Integration = d.seconds(0.08, 0.15) }},
		{Name: "limiter", Only: "emitters", Lamp: func(l *lampPlan, d *draws) { l.kind.Limit = d.between(0.25, 0.5) }},
	}
}

// meters are scenes with odd readings.
func meters() []Class {
	return []Class{
		{Name: "noise grows", Meter: func(m *stage.MeterSpec, d *draws) { m.Grow = d.between(20, 80) }},
		{Name: "a meter with a floor of 0.01 lux", Meter: func(m *stage.MeterSpec, _ *draws) { m.Floor = 0.01 }},
		{Name: "outliers 5 %", Meter: func(m *stage.MeterSpec, _ *draws) { m.Outlier = 0.05 }},
		{Name: "a meter that means three windows", Meter: meansThree},
		{Name: "a meter that means three windows, in ranges", Meter: func(m *stage.MeterSpec, d *draws) {
			meansThree(m, d)
			m.Ranges = []float64{d.between(3, 12), d.between(30, 90), d.between(300, 700)}
		}},
		{Name: "a hand over the meter, 200 ms", Hand: 15 * time.Second},
		{Name: "people walk through the beams", Passer: 40 * time.Second},
		{Name: "people walk through the beams, ambient 0.3", Background: 0.3, Passer: 40 * time.Second},
		{Name: "first reading an outlier", FirstOdd: true},
	}
}

// meansThree has a meter give the mean of its last three windows, and tell the length of one.
func meansThree(m *stage.MeterSpec, _ *draws) { m.Mean = 3 }
