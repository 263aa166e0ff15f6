package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"underpin/fleet"
)

// slowest is how long a large file may take over a slow line.
const slowest = 10 * time.Minute

func timeNow() time.Time { return time.Now() }

// readyz tells whether the program can do its work: whether the store can be
// reached and written.
func (s *site) readyz(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Cache-Control", "no-store")
	if s.Register != nil {
		ctx, cancel := context.WithTimeout(r.Context(), 3*time.Second)
		defer cancel()
		if err := s.Register.Store().Ping(ctx); err != nil {
			s.Log.Error("not ready", "error", err)
			http.Error(w, "the store cannot be reached", http.StatusServiceUnavailable)
			return
		}
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Write([]byte("ready\n"))
}

// A note is what the log tells of a request besides its address.
type note struct{ who string }

type noteKey struct{}

// noteWho puts who asks into the log of the request.
func noteWho(r *http.Request, a *fleet.Actor) {
	if n, ok := r.Context().Value(noteKey{}).(*note); ok {
		n.who = string(a.Who.Account)
	}
}

// A counted answer knows its status and its size.
type countedWriter struct {
	http.ResponseWriter
	status int
	bytes  int64
}

func (w *countedWriter) WriteHeader(status int) {
	if w.status == 0 {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *countedWriter) Write(b []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	n, err := w.ResponseWriter.Write(b)
	w.bytes += int64(n)
	return n, err
}

// Unwrap lets a ResponseController reach the connection.
func (w *countedWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// observe logs and counts each request. The address is logged without its query,
// which may hold a one-time link.
func (s *site) observe(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		n := &note{}
		r = r.WithContext(context.WithValue(r.Context(), noteKey{}, n))
		c := &countedWriter{ResponseWriter: w}
		start := time.Now()
		next.ServeHTTP(c, r)
		took := time.Since(start)
		if c.status == 0 {
			c.status = http.StatusOK
		}
		s.Metrics.count(r, c.status, took)
		s.Log.Info("request", "method", r.Method, "path", r.URL.Path, "route", r.Pattern, "status", c.status, "bytes", c.bytes,
			"ms", float64(took.Microseconds())/1e3, "from", s.address(r), "account", n.who)
	})
}

// Metrics counts requests for Prometheus. Routes are counted by pattern and never
// by address, of which there is no end.
type Metrics struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
}

// NewMetrics makes metrics of requests, of the process and of Go.
func NewMetrics() *Metrics {
	m := &Metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "underpin_requests_total", Help: "Requests that were answered."}, []string{"route", "code"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "underpin_request_seconds", Help: "Time until a request was answered.",
			Buckets: []float64{0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1, 3, 10}}, []string{"route"}),
	}
	m.registry.MustRegister(m.requests, m.seconds, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

func (m *Metrics) count(r *http.Request, status int, took time.Duration) {
	if m == nil {
		return
	}
	route := r.Pattern
	if route == "" {
		route = "none"
	}
	m.requests.WithLabelValues(route, strconv.Itoa(status)).Inc()
	m.seconds.WithLabelValues(route).Observe(took.Seconds())
}

// Handler serves the metrics.
func (m *Metrics) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{}))
	return mux
}

// serveMetrics serves the metrics on an address of their own, so that they need no
// account and the pages' address tells nothing of them.
func serveMetrics(ctx context.Context, c Config) error {
	if c.MetricsAddr == "" {
		return nil
	}
	l, err := listen(Config{Addr: c.MetricsAddr})
	if err != nil {
		return err
	}
	srv := &http.Server{Handler: c.Metrics.Handler(), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 15 * time.Second, WriteTimeout: 30 * time.Second}
	fmt.Fprintf(c.Out, "Metrics are served at http://%s/metrics\n", l.Addr())
	go func() {
		<-ctx.Done()
		_ = srv.Close()
	}()
	go func() {
		if err := srv.Serve(l); err != nil && !errors.Is(err, http.ErrServerClosed) && c.Log != nil {
			c.Log.Error("metrics", "error", err)
		}
	}()
	return nil
}
