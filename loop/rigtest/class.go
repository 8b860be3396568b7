package rigtest

import (
	"time"

	"trueup/loop/session/core"
	"trueup/loop/stage"
)

// Class is one kind of scene: what is harsh about it. The zero value with a name is
// the still world: a dark room, a steady reference, ordinary lamps.
type Class struct {
	Name   string
	Lamps  int    // of a rig; 0 = 12
	Probes int    // the lamps are spread over; 0 = 3
	Lanes  int    // the most that go on side by side; 0 = 1
	Alike  int    // lamps of one type, one after another; 0 = 3
	Bits   int    // 8 or 16; 0 = 16
	Only   string // one sort of lamp: emitters, cct, xy, hue; "" = all by turns

	Pitch      bool                        // no light at all but the lamps'
	Background float64                     // light at the lamps' probes, as a share of a lamp's own, on top of a little stray light
	Ambient    stage.AmbientSpec           // how it lives; Light is filled in. Step and times as a share of the run are drawn
	Somebody   somebody                    // lights a lamp at one probe
	StepIn     bool                        // one step somewhere in the run, by a third to the double
	Sweeps     float64                     // at its crest, as a share of a lamp's own: a moving light next door that sweeps in level and hue
	GoesOut    bool                        // in the first half of the run the ambient light goes out for good
	Reference  func(d *draws) stage.Change // what becomes of the reference; nil = nothing
	OwnLamp    bool                        // the reference is a driven lamp under the first lamps' probe
	Spill      float64                     // share of a lamp's light that falls on the probes of others
	Uneven     float64                     // by how much, standard deviation of its logarithm, what falls on another probe differs from lamp to lamp
	Near       bool                        // it falls on the next probes alone, on each further one a fifth of that
	Bounce     float64                     // how far its colour is off there, u'v'
	ProbesOff  float64                     // each probe's own error, u'v'

	Meter func(m *stage.MeterSpec, d *draws) // what is odd about the meters; nil = nothing
	// Lamp spoils lamps; nil = none. Cause is what a spoilt lamp may rightly be called.
	Lamp  func(l *lampPlan, d *draws)
	Cause string
	// Hand covers every probe for 200 ms about once in so long; 0 = never.
	Hand time.Duration
	// Passer has somebody walk through the beams at a probe about once in so long; 0 = never.
	Passer   time.Duration
	FirstOdd bool             // the first reading of each lamp, once it is lit, is an outlier
	Watch    time.Duration    // after which lamps are read again, to see whether they changed by themselves
	Aloft    bool             // people are aloft: no lamp is put out to measure another
	Common   core.CommonLevel // that all lamps are brought to
	// Person has somebody read the meter and type what it shows, so long after they are asked; 0 = the meter speaks for itself.
	Person    time.Duration
	Tolerance float64 // of the run, u'v'; 0 = the usual
}

func (c *Class) lamps() int {
	if c.Lamps > 0 {
		return c.Lamps
	}
	return 12
}

func (c *Class) probes() int {
	if c.Probes > 0 {
		return min(c.Probes, c.lamps())
	}
	return min(3, c.lamps())
}
