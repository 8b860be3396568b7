package core

import (
	"fmt"
	"math"
	"strings"
	"time"

	"trueup/colorcalc"
	"trueup/loop/solve"
	"trueup/profiles/printable"
)

// Points puts the look of a match back and reads the lit surface at several points, to which a person takes the
// meter. All lamps stay lit and nothing is taken off: it is what a camera sees there.
const Points Work = "points"

// PointPlan is what such a run reads.
type PointPlan struct {
	Probe string `json:"probe,omitempty"`
	At    []Spot `json:"at"`
}

// Spot is a place on the lit surface.
type Spot struct {
	Name string `json:"name"`
	// Col and Row are its place in a grid, counted from 1 at the top left; 0 = none.
	Col int `json:"col,omitempty"`
	Row int `json:"row,omitempty"`
}

// PointRead is what the light at a spot is.
type PointRead struct {
	Spot
	UV       colorcalc.UV `json:"uv"`
	SD       float64      `json:"sd_uv"` // of UV, per axis
	Delta    float64      `json:"delta_uv"`
	Lux      float64      `json:"lux,omitempty"` // 0 = the feed tells no level
	Readings int          `json:"readings"`
}

// MostPoints bounds how many points a person is sent to.
const MostPoints = 256

// Figures of reading a point.
const (
	pointReadings = 5  // that agree: one wrong among them is outvoted
	handPoints    = 2  // the same where a person reads the meter
	mostAtPoint   = 20 // readings of one point, of which enough must agree
)

func (c *Config) checkPoints() error {
	p := c.Points
	if p == nil || len(p.At) < 1 || len(p.At) > MostPoints {
		return fmt.Errorf("1 to %d points can be read", MostPoints)
	}
	seen := map[string]bool{}
	for _, s := range p.At {
		if s.Name == "" || seen[s.Name] {
			return fmt.Errorf("every point has a name of its own; %q is not", s.Name)
		}
		seen[s.Name] = true
	}
	return nil
}

// surface is the whole work of such a run.
type surface struct {
	look    relit
	at      int
	waiting bool // for the person to take the meter there
	after   time.Duration
	asked   int
	uv      []colorcalc.UV
	lux     []float64
}

func (s *surface) unit() *unit { return nil }

func (s *surface) step(c *Core, in input) want {
	switch {
	case in.refused != "":
		return s.look.refused(c, in)
	case in.arrived != nil:
		s.look.stands(c)
		s.after = c.now + c.slowest()
		c.enter(Entry{Kind: KindLevel, Note: fmt.Sprintf("the look stands: %s", printable.Count(len(s.look), "fixture"))})
		return s.there(c)
	case in.woke:
		s.waiting, s.after = false, max(s.after, c.now)
		return s.read(c)
	case in.reading != nil:
		return s.take(c, in.reading)
	}
	s.look = c.relight("points")
	return s.look.want("nothing to light: the earlier run left no setting for any fixture of this rig")
}

// there asks for the meter at the next point. A person who reads it is asked for the reading at once.
func (s *surface) there(c *Core) want {
	if s.at == len(c.cfg.Points.At) {
		return want{next: true}
	}
	s.uv, s.lux, s.asked = nil, nil, 0
	note := fmt.Sprintf("point %d of %d, %s"+putThere, s.at+1, len(c.cfg.Points.At), c.cfg.Points.At[s.at].Name)
	if c.cfg.Plan.HandMeter {
		c.enter(Entry{Kind: KindPoint, Note: note})
		return s.read(c)
	}
	c.enter(Entry{Kind: KindPoint, Note: note + thenNext})
	s.waiting = true
	return want{until: c.now + recallAtMost}
}

// putThere ends what a person with the meter is asked at a point, and thenNext what one is who sits at a terminal.
const putThere, thenNext = ": put the meter there", ", then type next and Enter"

// MeterAt tells what an entry asks of the person with the meter at a point of the lit surface, without how they say that it is there:
// each face has its own way. waits: the run goes on when it is told ([Next]); else the reading itself is asked for. words is "" for
// every other entry.
func (e *Entry) MeterAt() (words string, waits bool) {
	words, waits = strings.CutSuffix(e.Note, thenNext)
	if e.Kind != KindPoint || e.Point != nil || !strings.HasSuffix(words, putThere) {
		return "", false
	}
	return words, waits
}

func (s *surface) read(c *Core) want {
	return want{read: &Ask{Probe: c.cfg.Points.Probe, After: s.after, Faint: !c.cfg.Plan.HandMeter}}
}

// take takes a reading in and goes on to the next point once enough of them agree.
func (s *surface) take(c *Core, r *Reading) want {
	m := c.measured(r, solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY})
	s.asked++
	if r.TooDark {
		c.enter(Entry{Kind: KindAside, Reading: &m, Note: "set aside: it is too dark there for the meter"})
	} else {
		c.enter(Entry{Kind: KindReading, Reading: &m})
		s.uv, s.lux = append(s.uv, r.UV), append(s.lux, r.Y)
	}
	wanted := pointReadings
	if c.cfg.Plan.HandMeter {
		wanted = handPoints
	}
	sigma := c.noiseAt(r.Probe).sigmaUV()
	near := nearMedian(s.uv, sigma)
	spot := c.cfg.Points.At[s.at]
	switch {
	case len(near) >= wanted:
		p := PointRead{Spot: spot, UV: meanUV(pick(s.uv, near)), SD: sigma / math.Sqrt(float64(len(near))), Lux: median(pick(s.lux, near)), Readings: len(near)}
		p.Delta = p.UV.Dist(c.ref.UV)
		c.enter(Entry{Kind: KindPoint, Point: &p, Note: fmt.Sprintf("%s: %.4f off by %s, %.0f lux", spot.Name, p.Delta, printable.Count(p.Readings, "reading"), p.Lux)})
	case s.asked >= mostAtPoint:
		c.enter(Entry{Kind: KindPoint, Note: fmt.Sprintf("%s: the readings do not agree, or show no light: it is left out", spot.Name)})
	default:
		return s.read(c)
	}
	s.at++
	return s.there(c)
}

// next is a person's word that the meter is where it shall be.
func (c *Core) next() {
	if s, ok := c.main.task.(*surface); ok && s.waiting && !c.holding {
		c.main.until = 0
		c.tell(&c.main, input{woke: true})
	}
}
