package page

import (
	"context"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"trueup/dmx/sacn"
	"trueup/loop/feed"
	"trueup/loop/session"
)

// The lateness of frames is a histogram whose last bound, and no other, leaves out what was later than a second.
func TestLatenessOfFramesIsAHistogram(t *testing.T) {
	l := sacn.Lateness{Frames: 10, Sum: 1500 * time.Millisecond}
	for i := range l.Within {
		l.Within[i] = uint64(i + 2)
	}
	reg := prometheus.NewPedanticRegistry()
	reg.MustRegister(one{lateness(l)})
	all, err := reg.Gather()
	if err != nil || len(all) != 1 || all[0].GetName() != "trueup_frame_lateness_seconds" {
		t.Fatalf("%v, %v", all, err)
	}
	h := all[0].GetMetric()[0].GetHistogram()
	if h.GetSampleCount() != 10 || h.GetSampleSum() != 1.5 || len(h.GetBucket()) != len(sacn.LateBounds) {
		t.Errorf("%v", h)
	}
	if b := h.GetBucket()[4]; b.GetUpperBound() != 0.023 || b.GetCumulativeCount() != 6 {
		t.Errorf("%v", b)
	}
}

// All that is told of a run that is at work was named before there was one: Prometheus refuses the whole answer else.
func TestMetricsOfARunAreNamedBeforehand(t *testing.T) {
	reg := prometheus.NewPedanticRegistry()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	reg.MustRegister(running{collector{NewControl(ctx, NewBoard("", "e", nil), nil)}})
	all, err := reg.Gather()
	if err != nil || len(all) != 15 {
		t.Errorf("%d metrics: %v", len(all), err)
	}
}

// running is a collector while a run is at work of which there is all to tell.
type running struct{ collector }

func (r running) Collect(to chan<- prometheus.Metric) {
	r.collector.Collect(to)
	collectHealth(to, session.Health{Feeds: []feed.Status{{Name: "meter", SetAside: map[feed.Reason]uint64{"stale": 1}}}, Ways: []sacn.LinkState{{Name: "way"}},
		Overlay: true, Lateness: sacn.Lateness{Frames: 1}})
}

// one collects one metric.
type one struct{ prometheus.Metric }

func (o one) Describe(to chan<- *prometheus.Desc) { to <- o.Desc() }
func (o one) Collect(to chan<- prometheus.Metric) { to <- o.Metric }
