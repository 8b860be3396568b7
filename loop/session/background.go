package session

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
	"trueup/loop/feed"
	"trueup/loop/solve"
)

// backgroundReadings of a dark stage are averaged.
const backgroundReadings = 3

// readBackgrounds takes every unit of the run down (they mostly are) and reads
// each probe that units are read by. A probe without a level, or one too dark
// for its meter, has no background to take off: that is said, not guessed.
func (s *Session) readBackgrounds(ctx context.Context) error {
	order, settled, err := s.goDark(ctx)
	if err != nil {
		return err
	}
	for _, probe := range order {
		if err := s.readBackground(ctx, probe, settled); err != nil {
			return err
		}
	}
	return nil
}

// goDark fades every unit of the run out, and returns the probes that units are
// read by and the moment from which their light has settled.
func (s *Session) goDark(ctx context.Context) (order []string, settled time.Time, err error) {
	probes, settle := map[string]bool{}, time.Duration(0)
	for _, u := range s.units {
		if u.Head < 0 {
			continue
		}
		if !probes[u.Info.Probe] {
			probes[u.Info.Probe] = true
			order = append(order, u.Info.Probe)
		}
		settle = max(settle, u.Settle)
		if u.Dark == nil {
			continue
		}
		now := u.at.drive
		if now == nil {
			now = u.Rest
		}
		u.at.drive = u.Dark(now)
		if err := s.wire.Wish(u.Head, u.at.drive); err != nil {
			return nil, settled, err
		}
	}
	s.lit = nil
	arrived := time.Now()
	for _, u := range s.units {
		if u.Head < 0 || u.Dark == nil {
			continue
		}
		t, err := s.wait(ctx, u.Head)
		if err != nil {
			return nil, settled, fmt.Errorf("%s: fading out: %w", u.Info.Name, err)
		}
		if t.After(arrived) {
			arrived = t
		}
	}
	return order, arrived.Add(settle), nil
}

// recheckBackgrounds reads the background again at the end of a run that ends
// dark anyway, and says by how much a drift of it may have moved the results.
func (s *Session) recheckBackgrounds(ctx context.Context) error {
	if !s.plan.DarkEnd || len(s.background) == 0 {
		return nil
	}
	order, settled, err := s.goDark(ctx)
	if err != nil {
		return err
	}
	for _, probe := range order {
		was, ok := s.background[probe]
		if !ok {
			continue
		}
		r, err := s.readDark(ctx, probe, settled)
		if err != nil {
			return fmt.Errorf("reading the background again: %w", err)
		}
		if r.Flags.Has(feed.Underrange) || !r.HasY {
			continue
		}
		m := Measured{UV: r.UV, RawUV: r.UV, Lux: r.Y, RawLux: r.Y, Probe: probe}
		e := Entry{Kind: KindDrift, Reading: &m}
		if moved := s.driftEffect(probe, r.XYZ().Sub(was)); moved > s.plan.Tolerance/2 {
			e.Note = fmt.Sprintf("the background at probe %q went from %.2f to %.2f lux during the run: results read there may be off by up to %.4f; find what changed, or match again", probe, was.Y, r.Y, moved)
		}
		if err := s.journal.Append(e); err != nil {
			return err
		}
	}
	return nil
}

// driftEffect is how far an unnoticed change of background moves the colour of
// the weakest light that was read by the probe.
func (s *Session) driftEffect(probe string, change colorcalc.XYZ) float64 {
	weakest := math.Inf(1)
	for _, u := range s.units {
		if u.Info.Probe == probe && u.outcome != nil && u.outcome.Lux > 0 {
			weakest = min(weakest, u.outcome.Lux)
		}
	}
	if math.IsInf(weakest, 1) {
		return 0
	}
	return s.ref.UV.XYZ(weakest).Add(change).UV().Dist(s.ref.UV)
}

func (s *Session) readBackground(ctx context.Context, probe string, settled time.Time) error {
	var sum colorcalc.XYZ
	n := 0
	for range backgroundReadings {
		r, err := s.readDark(ctx, probe, settled)
		if err != nil {
			return fmt.Errorf("reading the background: %w", err)
		}
		if r.Flags.Has(feed.Underrange) {
			return s.journal.Append(Entry{Kind: KindBackground, Note: fmt.Sprintf("probe %q is too dark for its meter with the lamps out: nothing is taken off", probe)})
		}
		if !r.HasY {
			return s.journal.Append(Entry{Kind: KindBackground, Note: fmt.Sprintf("probe %q tells no level: the background stays in the readings", probe)})
		}
		sum = sum.Add(r.XYZ())
		n++
	}
	bg := sum.Scale(1 / float64(n))
	s.background[probe] = bg
	m := Measured{UV: bg.UV(), RawUV: bg.UV(), Lux: bg.Y, RawLux: bg.Y, Probe: probe}
	return s.journal.Append(Entry{Kind: KindBackground, Reading: &m, Note: fmt.Sprintf("background at probe %q: %.2f lux, taken off every reading", probe, bg.Y)})
}

// darkMeters are meters that also say when it is too dark for a colour.
type darkMeters interface {
	ReadDarkAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error)
}

// darkly makes a meter's darkness a reading.
type darkly struct{ darkMeters }

// ReadAfter implements Meters.
func (d darkly) ReadAfter(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	return d.ReadDarkAfter(ctx, probe, settled)
}

// readDark is read for a stage that may be too dark for the meter.
func (s *Session) readDark(ctx context.Context, probe string, settled time.Time) (feed.Reading, error) {
	d, ok := s.meters.(darkMeters)
	if !ok {
		return s.read(ctx, probe, settled)
	}
	was := s.meters
	s.meters = darkly{d}
	defer func() { s.meters = was }()
	return s.read(ctx, probe, settled)
}

// errNoLight marks a unit whose light does not reach its probe. The unit is
// given up; the run goes on.
var errNoLight = errors.New("no light to speak of")

// net takes the background off a reading and attaches its noise. Light that is
// weaker than a fifth of the background cannot be told from it.
func (s *Session) net(r feed.Reading) (solve.Reading, error) {
	out := solve.Reading{UV: r.UV, Y: r.Y, HasY: r.HasY, SigmaUV: s.noise.sigmaUV(), SigmaLnY: s.noise.sigmaLnY(), RoundXY: r.RoundXY}
	bg, ok := s.background[r.Probe]
	if !ok || !r.HasY {
		return out, nil
	}
	light := r.XYZ().Sub(bg)
	if !(light.Y > 0.2*bg.Y) || !light.XY().Valid() {
		return out, fmt.Errorf("%w: probe %q reads %.2f lux with the fixture lit and %.2f lux with it dark: the fixture does not reach the probe; check its patch, its power and what the probe looks at", errNoLight, r.Probe, r.Y, bg.Y)
	}
	out.UV, out.Y = light.UV(), light.Y
	// The background's share dilutes the fixture's colour; taking it off blows
	// the noise up by the same factor, and adds the background's own.
	blow := r.Y / light.Y
	own := (bg.Y / light.Y) / math.Sqrt(backgroundReadings)
	out.SigmaUV *= math.Hypot(blow, own)
	out.SigmaLnY *= math.Hypot(blow, own)
	return out, nil
}
