package core

import "time"

// A loss of light may be short: packets that a switch drops, somebody who steps in front of the meter. Readings follow each other within a part of a second,
// so that all of weakReadings may fall into one. So no lamp is given up for them alone: it is read once more some seconds after the first of them, and what
// that shows decides.

// secondLook lies between the first reading that shows no light of a lamp and the one that decides at the least. A network that has to find its way
// anew takes a second or two for that, and a lamp that waited for data in vain before it went out is back with the first packet.
const secondLook = 4 * time.Second

// dim counts the readings in a row that tell nothing of what is read: no light of it, or a colour that the meter can not tell. The zero value has none.
type dim struct {
	n     int
	first time.Duration // when the first of them came
}

// add takes one more.
func (d *dim) add(c *Core) {
	if d.n++; d.n == 1 {
		d.first = c.now
	}
}

// decides tells whether they say that there is no light, or none that the meter can tell. A person at the meter sees it, and takes seconds for a reading.
func (d *dim) decides(c *Core) bool {
	return d.n >= weakReadings && (c.cfg.Plan.HandMeter || c.now >= d.first+secondLook)
}

// elsewhere are readings that saw no light where the lamp stood before, as w says, for those to come at another setting: they count as one, and need no
// second pause. A colour that the meter could not tell there says nothing of another.
func (d *dim) elsewhere(w *weak) dim {
	if w != nil && w.coloured {
		return dim{}
	}
	return dim{n: min(d.n, 1), first: d.first}
}

// next is the moment before which the next reading is not to begin; 0: it may begin at once.
func (d *dim) next(c *Core) time.Duration {
	if d.n < weakReadings || c.cfg.Plan.HandMeter {
		return 0
	}
	return d.first + secondLook
}
