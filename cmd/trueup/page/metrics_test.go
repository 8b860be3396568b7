package page

import (
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"trueup/dmx/sacn"
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

// one collects one metric.
type one struct{ prometheus.Metric }

func (o one) Describe(to chan<- *prometheus.Desc) { to <- o.Desc() }
func (o one) Collect(to chan<- prometheus.Metric) { to <- o.Metric }
