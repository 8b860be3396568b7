package page

import (
	"context"
	"errors"
	"net"
	"net/http"
	"sync/atomic"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"golang.org/x/net/netutil"

	"trueup/dmx/sacn"
	"trueup/loop/feed"
	"trueup/loop/session"
	"trueup/loop/session/core"
)

// counts are what has happened since the program began.
type counts struct{ readings, aside, moves, landed, outcomes atomic.Uint64 }

func (n *counts) entry(e session.Entry) {
	switch e.Kind {
	case core.KindReading, core.KindFound:
		n.readings.Add(1)
	case core.KindAside:
		n.readings.Add(1)
		n.aside.Add(1)
	case core.KindSent:
		n.moves.Add(1)
	case core.KindOutcome:
		n.outcomes.Add(1)
		if e.Outcome.Landed() {
			n.landed.Add(1)
		}
	}
}

// collector makes metrics of a control when it is asked, and of nothing in between.
type collector struct{ c *Control }

var (
	descRunning  = prometheus.NewDesc("trueup_run_active", "Whether a run is at work (1) or not (0).", nil, nil)
	descReadings = prometheus.NewDesc("trueup_readings_total", "Readings of fixtures, used or not.", nil, nil)
	descAside    = prometheus.NewDesc("trueup_readings_set_aside_total", "Readings of fixtures that were not used.", nil, nil)
	descMoves    = prometheus.NewDesc("trueup_moves_total", "Settings that fixtures were brought to.", nil, nil)
	descOutcomes = prometheus.NewDesc("trueup_outcomes_total", "Outcomes of first visits.", nil, nil)
	descLanded   = prometheus.NewDesc("trueup_landed_total", "Outcomes of first visits that are landed.", nil, nil)
	descHeld     = prometheus.NewDesc("trueup_frames_held_back_total", "Frames of this run in which the flash guard held a head back.", nil, nil)
	descFeed     = prometheus.NewDesc("trueup_feed_live", "Whether a feed is live (1) or not (0).", []string{"feed"}, nil)
	descFeedGood = prometheus.NewDesc("trueup_feed_accepted_total", "Readings that a feed has accepted in this run.", []string{"feed"}, nil)
	descFeedBad  = prometheus.NewDesc("trueup_feed_set_aside_total", "Readings that a feed has set aside in this run.", []string{"feed", "reason"}, nil)
	descWay      = prometheus.NewDesc("trueup_output_up", "Whether a way out to the fixtures works (1) or not (0).", []string{"way"}, nil)
	descPackets  = prometheus.NewDesc("trueup_output_packets_total", "E1.31 packets handed to the system in this run.", []string{"way"}, nil)
	descErrors   = prometheus.NewDesc("trueup_output_errors_total", "Batches of packets that could not be sent in this run.", []string{"way"}, nil)
	descLate     = prometheus.NewDesc("trueup_frame_lateness_seconds", "How long after they were due frames had left in this run.", nil, nil)
	descDesk     = prometheus.NewDesc("trueup_desk_live", "Whether the desk under an overlay is heard on all universes (1) or not (0).", nil, nil)
)

// Describe implements [prometheus.Collector]. It names those of a run too, of which there is none yet when it is asked.
func (m collector) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{descRunning, descReadings, descAside, descMoves, descOutcomes, descLanded, descHeld, descFeed, descFeedGood, descFeedBad,
		descWay, descPackets, descErrors, descLate, descDesk} {
		to <- d
	}
}

// Collect implements [prometheus.Collector].
func (m collector) Collect(to chan<- prometheus.Metric) {
	put := putTo(to)
	n := &m.c.counts
	for d, v := range map[*prometheus.Desc]uint64{descReadings: n.readings.Load(), descAside: n.aside.Load(), descMoves: n.moves.Load(),
		descOutcomes: n.outcomes.Load(), descLanded: n.landed.Load()} {
		put(d, prometheus.CounterValue, float64(v))
	}
	var h session.Health
	err := m.c.during(func(r *session.Run) { h = r.Health() })
	put(descRunning, prometheus.GaugeValue, truth(err == nil))
	if err == nil {
		collectHealth(to, h)
	}
}

func putTo(to chan<- prometheus.Metric) func(*prometheus.Desc, prometheus.ValueType, float64, ...string) {
	return func(d *prometheus.Desc, kind prometheus.ValueType, v float64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, kind, v, labels...)
	}
}

// collectHealth makes the metrics of a run.
func collectHealth(to chan<- prometheus.Metric, h session.Health) {
	put := putTo(to)
	put(descHeld, prometheus.CounterValue, float64(h.HeldBack))
	for _, f := range h.Feeds {
		put(descFeed, prometheus.GaugeValue, truth(f.State == feed.Live), f.Name)
		put(descFeedGood, prometheus.CounterValue, float64(f.Accepted), f.Name)
		for why, k := range f.SetAside {
			put(descFeedBad, prometheus.CounterValue, float64(k), f.Name, string(why))
		}
	}
	for _, w := range h.Ways {
		put(descWay, prometheus.GaugeValue, truth(w.Up), w.Name)
		put(descPackets, prometheus.CounterValue, float64(w.Packets), w.Name)
		put(descErrors, prometheus.CounterValue, float64(w.Errors), w.Name)
	}
	if h.Lateness.Frames > 0 {
		to <- lateness(h.Lateness)
	}
	if h.Overlay {
		put(descDesk, prometheus.GaugeValue, truth(len(h.NoDesk) == 0))
	}
}

func lateness(l sacn.Lateness) prometheus.Metric {
	within := map[float64]uint64{}
	for i, b := range sacn.LateBounds {
		within[b.Seconds()] = l.Within[i]
	}
	return prometheus.MustNewConstHistogram(descLate, l.Frames, l.Sum.Seconds(), within)
}

func truth(b bool) float64 { return float64(bit(b)) }

// maxScrapers bounds the connections of those who read metrics: descriptors are needed for the journal and the meters.
const maxScrapers = 16

// ServeMetrics answers Prometheus at /metrics, until ctx ends.
func ServeMetrics(ctx context.Context, l net.Listener, c *Control) error {
	reg := prometheus.NewPedanticRegistry()
	if err := reg.Register(collector{c}); err != nil {
		return err
	}
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(reg, promhttp.HandlerOpts{MaxRequestsInFlight: 4, Timeout: readTime}))
	h := &http.Server{Handler: mux, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime, MaxHeaderBytes: maxHeader}
	stop := context.AfterFunc(ctx, func() { h.Close() })
	defer stop()
	if err := h.Serve(netutil.LimitListener(l, maxScrapers)); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
