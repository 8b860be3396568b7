package feed

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"trueup/colorcalc"
)

// ownJSON reads JSON lines of our own, as the simulated stage and small
// home-made meters send them:
//
//	{"probe":"mark","seq":12,"time_unix_ms":1700000000123,"integration_ms":200,"x":0.3127,"y":0.3290,"lux":123.4}
//
// time_unix_ms is the end of the integration. Only x and y must be there.
type ownJSON struct{}

type ownLine struct {
	Probe         string   `json:"probe"`
	Serial        string   `json:"serial"`
	Seq           *uint64  `json:"seq"`
	TimeUnixMs    *float64 `json:"time_unix_ms"`
	IntegrationMs float64  `json:"integration_ms"`
	X             *float64 `json:"x"`
	Y             *float64 `json:"y"`
	Lux           *float64 `json:"lux"`
	RoundXY       *float64 `json:"round_xy"`
	Saturated     bool     `json:"saturated"`
	Underrange    bool     `json:"underrange"`
}

// ownRoundXY is the rounding assumed for our own lines: four decimals.
const ownRoundXY = 1e-4

func (ownJSON) decode(in message, _ time.Time) ([]draft, []Aside) {
	m := bytes.TrimSpace(in.data)
	if len(m) == 0 {
		return nil, nil
	}
	bad := func(format string, args ...any) ([]draft, []Aside) {
		return nil, []Aside{{Reason: Unreadable, Words: fmt.Sprintf(format, args...), Raw: cut(m)}}
	}
	var l ownLine
	if err := json.Unmarshal(m, &l); err != nil {
		return bad("not a JSON object of ours: %v", err)
	}
	d := draft{quantity: Chromaticity, probe: l.Probe, serial: l.Serial, roundXY: ownRoundXY, raw: cut(m)}
	if l.Saturated {
		d.flags |= Saturated
	}
	if l.Underrange {
		d.flags |= Underrange
	}
	if l.X == nil || l.Y == nil {
		if !l.Underrange && !l.Saturated {
			return bad("x or y is missing")
		}
	} else {
		d.uv = colorcalc.XY{X: *l.X, Y: *l.Y}.UV()
	}
	if l.Lux != nil {
		d.y, d.hasY, d.quantity = *l.Lux, true, ChromaLevel
	}
	if l.Seq != nil {
		d.seq, d.hasSeq = *l.Seq, true
	}
	if l.TimeUnixMs != nil {
		if !(math.Abs(*l.TimeUnixMs) < 1e14) {
			return bad("time_unix_ms %v is no time", *l.TimeUnixMs)
		}
		d.stamp, d.hasStamp = time.UnixMicro(int64(*l.TimeUnixMs*1000)), true
	}
	if l.IntegrationMs < 0 || l.IntegrationMs > 60_000 {
		return bad("integration_ms %v is not between 0 and 60000", l.IntegrationMs)
	}
	d.integration = time.Duration(l.IntegrationMs * float64(time.Millisecond))
	if l.RoundXY != nil && *l.RoundXY >= 0 && *l.RoundXY < 0.1 {
		d.roundXY = *l.RoundXY
	}
	return []draft{d}, nil
}
