package api

import (
	"math"
	"net/netip"
	"slices"
	"strconv"
	"time"

	"hoppertally/sync/hub"

	"log/slog"

	"github.com/gofiber/fiber/v2"
	"github.com/gofiber/fiber/v2/middleware/adaptor"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics counts what happens, without names of people or things.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.HistogramVec
	entries  *prometheus.CounterVec
	sent     prometheus.Counter
}

func newMetrics(s *Server) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "hoppertally_request_seconds", Help: "Time to answer, by route and status.",
			Buckets: []float64{.001, .003, .01, .03, .1, .3, 1, 3}}, []string{"route", "status"}),
		entries: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "hoppertally_entries_total", Help: "Entries handed in, by outcome."}, []string{"outcome"}),
		sent:    prometheus.NewCounter(prometheus.CounterOpts{Name: "hoppertally_entries_sent_total", Help: "Entries given out by pull."}),
	}
	for _, o := range []hub.Outcome{hub.Accepted, hub.Duplicate, hub.Held, hub.Refused} {
		m.entries.WithLabelValues(string(o))
	}
	gauge := func(name, help string, fn func() float64) prometheus.Collector {
		return prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: name, Help: help}, fn)
	}
	m.registry.MustRegister(m.requests, m.entries, m.sent, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
		gauge("hoppertally_head", "Sequence number of the latest entry.", func() float64 { return float64(s.Log.Head()) }),
		gauge("hoppertally_backup_seq", "Up to here the log is in a verified backup.", func() float64 { return float64(s.Log.BackupSeq()) }),
		gauge("hoppertally_backup_age_seconds", "Since the last good backup was made; +Inf if never.", s.backupAge),
		gauge("hoppertally_backup_failed", "1 if the last backup that was due failed.", func() float64 { return oneIf(s.Log.Backups().Fault != "") }),
		gauge("hoppertally_disk_low", "1 while entries are refused because the disk is nearly full.", func() float64 { return oneIf(s.Log.DiskLow()) }),
		gauge("hoppertally_streams", "Phones that listen for news.", func() float64 { return float64(s.listeners.count()) }),
		gauge("hoppertally_attention", "Things in the books that need a look.", func() float64 { return float64(s.Books.Open()) }))
	return m
}

func (s *Server) backupAge() float64 {
	made := s.Log.Backups().LastMS
	if made == 0 {
		return math.Inf(1)
	}
	return s.Now().Sub(time.UnixMilli(made)).Seconds()
}

func oneIf(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// handler gives the metrics to this machine and to whom [Config] names.
func (m *metrics) handler(s *Server) fiber.Handler {
	give := adaptor.HTTPHandler(promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{}))
	return func(c *fiber.Ctx) error {
		from := s.address(c)
		if s.isHere(c) || slices.ContainsFunc(s.MetricsFrom, func(p netip.Prefix) bool { return p.Contains(from) }) {
			return give(c)
		}
		return problem("metrics.denied", "start the server with --metrics-from to let another machine read this")
	}
}

func (m *metrics) pushed(results []hub.Result) {
	for _, r := range results {
		m.entries.WithLabelValues(string(r.Outcome)).Inc()
	}
}

func (m *metrics) pulled(n int) { m.sent.Add(float64(n)) }

// observe times every request. A refusal is turned into its answer here, so that
// its status is known.
func (s *Server) observe(c *fiber.Ctx) error {
	start := time.Now()
	if err := c.Next(); err != nil {
		if err := s.onError(c, err); err != nil {
			return err
		}
	}
	status, route := c.Response().StatusCode(), "shell"
	if r := c.Route(); r.Path != "/" {
		route = r.Path
	}
	s.metrics.requests.WithLabelValues(route, strconv.Itoa(status)).Observe(time.Since(start).Seconds())
	s.log.Debug("request", slog.String("method", c.Method()), slog.String("path", c.Path()), slog.Int("status", status), slog.Duration("took", time.Since(start)))
	return nil
}

func (s *Server) healthz(c *fiber.Ctx) error { return c.SendString("ok\n") }

// readyz is 503 while entries cannot be taken in.
func (s *Server) readyz(c *fiber.Ctx) error {
	if err := s.Log.Ready(); err != nil {
		return problem("server.full", err.Error())
	}
	return c.SendString("ready\n")
}
