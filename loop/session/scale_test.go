package session

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"trueup/safety"
)

// shortScales is a lamp whose emitters use a fifth of their codes, the first of which are dark,
// with no curve named; a lamp with a colour temperature on a quarter of its codes; a UV emitter.
const shortScales = `profile: Short Scales
maker: Zubberlow
modes:
  - mode: mix
    kind: emitters
    slots: 6
    emitters:
      - {name: red, slots: [1, 2], levels: [1000, 14107]}
      - {name: green, slots: [3, 4], levels: [1000, 14107]}
      - {name: blue, slots: [5, 6], levels: [1000, 14107]}
  - mode: white
    kind: cct
    slots: 4
    dimmer: {slots: [1, 2], curve: linear}
    cct: {slots: [3, 4], kelvin: [2700, 6500], scale: kelvin, levels: [0, 16384]}
  - mode: uv
    kind: emitters
    slots: 10
    emitters:
      - {name: red, slots: [1, 2]}
      - {name: green, slots: [3, 4]}
      - {name: blue, slots: [5, 6]}
      - {name: amber, slots: [7, 8], levels: [0, 6554], cap_percent: 20}
      - {name: uv, slots: [9, 10], levels: [0, 6554]}
`

// shortHead compiles one mode of the profile as a rig would.
func shortHead(t *testing.T, mode string) (*Compiled, safety.Head) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "short.yaml")
	if err := os.WriteFile(path, []byte(shortScales), 0o600); err != nil {
		t.Fatal(err)
	}
	c := compiled(t, "  - {name: x, profile: "+filepath.ToSlash(path)+", mode: "+mode+", address: 1/1}\n")
	return c, c.Heads[0]
}

// play wishes codes of a lone head and gives its slots' codes in each frame of the next seconds.
func play(t *testing.T, h safety.Head, from, to []uint32, seconds float64) (frames [][]uint32) {
	t.Helper()
	start := new([512]byte)
	for i, c := range from {
		for k, s := range h.Slots[i].Slots {
			start[s-1] = byte(c >> (8 * (len(h.Slots[i].Slots) - 1 - k)))
		}
	}
	limits := safety.DefaultLimits()
	limits.LevelCap = 1
	g, err := safety.NewGovernor(safety.Config{Limits: limits, Heads: []safety.Head{h}, Start: safety.Look{1: start}})
	if err != nil {
		t.Fatal(err)
	}
	if err := g.Wish(0, to); err != nil {
		t.Fatal(err)
	}
	now, tick := time.Unix(0, 0), time.Second/44
	var frame [512]byte
	for range int(seconds * 44) {
		now = now.Add(tick)
		g.Alive()
		g.Levels(now, 1, &frame)
		codes := make([]uint32, len(to))
		for i := range codes {
			for _, s := range h.Slots[i].Slots {
				codes[i] = codes[i]<<8 | uint32(frame[s-1])
			}
		}
		frames = append(frames, codes)
	}
	return frames
}

// A lamp that uses a part of its codes, with no curve named, rises and falls within the limit
// whatever its curve is on that part; a colour moves through the promised share of the scale,
// not of all codes; and a UV emitter's cap is a share of the scale too.
func TestTheLimitsHoldOnAPartOfTheCodes(t *testing.T) {
	_, h := shortHead(t, "mix")
	const lo, hi = 1000, 14107
	for name, law := range map[string]func(float64) float64{
		"linear": func(x float64) float64 { return x },
		"square": func(x float64) float64 { return x * x },
		"s":      func(x float64) float64 { return x * x * (3 - 2*x) },
	} {
		dark, full := []uint32{lo, lo, lo}, []uint32{hi, hi, hi}
		for _, way := range [][2][]uint32{{dark, full}, {full, dark}} {
			frames := play(t, h, way[0], way[1], 8)
			light := func(i int) float64 {
				return law(min(max((float64(frames[i][0])-lo)/(hi-lo), 0), 1))
			}
			for i := 44; i < len(frames); i++ {
				if d := math.Abs(light(i) - light(i-44)); d > 0.5+1e-3 {
					t.Fatalf("%s, %v to %v: %.0f %% of full in a second, the limit is 50 %%", name, way[0][0], way[1][0], 100*d)
				}
			}
			if end := frames[len(frames)-1]; fmt.Sprint(end) != fmt.Sprint(way[1]) {
				t.Errorf("%s: after 8 s it stands at %v, wished %v", name, end, way[1])
			}
		}
	}

	_, h = shortHead(t, "white")
	frames := play(t, h, []uint32{32768, 0}, []uint32{32768, 16384}, 8)
	limit := safety.DefaultLimits().Colour
	for i := 44; i < len(frames); i++ {
		if d := (float64(frames[i][1]) - float64(frames[i-44][1])) / 16384; d > limit+1e-3 {
			t.Fatalf("the colour moves through %.0f %% of its scale in a second, the limit is %.0f %%", 100*d, 100*limit)
		}
	}

	c, h := shortHead(t, "uv")
	frames = play(t, h, make([]uint32, 5), []uint32{0, 0, 0, 6554, 6554}, 8)
	end := frames[len(frames)-1]
	if most := 0.20*6554 + 1; float64(end[3]) > most || float64(c.Units[0].Spec.Channels[3].Hi) > most {
		t.Errorf("amber ends at code %d, the solver may plan it up to %d: its cap is 20 %% of its scale, which is 1310", end[3], c.Units[0].Spec.Channels[3].Hi)
	}
	if most := 0.05*6554 + 1; float64(end[4]) > most {
		t.Errorf("uv ends at code %d: its cap is 5 %% of its scale, which is 327", end[4])
	}
}
