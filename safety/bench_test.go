package safety_test

import (
	"testing"
	"time"

	"trueup/dmx"
	"trueup/safety"
)

// One universe of RGBW heads, all of them moving in every frame: the most work
// that a frame can be. The figure to look at is ns/fixture, with 0 allocs/op.
func BenchmarkMovingFixtureAndFrame(b *testing.B) { benchmark(b, true) }

// The same heads standing still, as most of them do most of the time.
func BenchmarkStandingFixtureAndFrame(b *testing.B) { benchmark(b, false) }

func benchmark(b *testing.B, moving bool) {
	y := &layout{}
	cfg := one()
	for range 40 {
		cfg.Heads = append(cfg.Heads, rgbw(y, "wash"))
	}
	cfg.Limits.Rise, cfg.Limits.Fall = 0.05, 0.05
	g, err := safety.NewGovernor(cfg)
	if err != nil {
		b.Fatal(err)
	}
	var frame [512]byte
	now := epoch
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		if moving && n%880 == 0 { // a fade takes 40 s: turn round half way
			b.StopTimer()
			now = now.Add(2 * time.Second)
			for h := range cfg.Heads {
				c := uint32(65535 * (n / 880 % 2))
				if err := g.Wish(h, []uint32{c, c, c, 65535 - c, 65535 - c}); err != nil {
					b.Fatal(err)
				}
			}
			b.StartTimer()
		}
		g.Alive()
		now = now.Add(time.Second / 44)
		g.Levels(now, dmx.Universe(1), &frame)
		n++
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/40, "ns/fixture")
}
