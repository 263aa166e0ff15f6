//go:build unix

package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"underpin/fleet"
	"underpin/store"
	"underpin/web"
)

// BenchmarkListPage makes the pages of a large register, from the request to the last
// byte. The register is one that the benchmarks of the store have kept: state the
// figures only with its size.
//
//	UNDERPIN_BENCH_STORE=/large UNDERPIN_BENCH_READINGS=200 go test -run '^$' -bench Open ./store
//	UNDERPIN_BENCH_STORE=/large go test -run '^$' -bench ListPage ./web
func BenchmarkListPage(b *testing.B) {
	dir := os.Getenv("UNDERPIN_BENCH_STORE")
	if dir == "" {
		b.Skip("UNDERPIN_BENCH_STORE names no register")
	}
	st, err := store.OpenSQLite(b.Context(), dir, store.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer st.Close()
	guest := fleet.Operator("benchmark")
	h := web.Handler(web.Config{Register: fleet.New(st, fleet.World{Program: "benchmark"}), Path: "register", Guest: &guest})
	get := func(path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
		if w.Code != http.StatusOK {
			b.Fatalf("%s: %d %s", path, w.Code, w.Body)
		}
		return w
	}
	next := regexp.MustCompile(`/vehicles\?[^"]*from=[^"]*`).FindString(get("/vehicles").Body.String())
	one := regexp.MustCompile(`/vehicles/[0-9a-f-]{36}`).FindString(get("/vehicles").Body.String())
	for _, path := range []string{"/vehicles", strings.ReplaceAll(next, "&amp;", "&"), "/parts", "/depots", "/find?q=t-4711", "/records", "/fleet", one} {
		b.Run(fmt.Sprint(regexp.MustCompile(`[0-9a-f]{8}-.*|from=.*`).ReplaceAllString(path, "…")), func(b *testing.B) {
			before := cpu()
			for b.Loop() {
				get(path)
			}
			b.ReportMetric((cpu()-before)*1e3/float64(b.N), "cpu-ms/op")
		})
	}
}

// cpu is the processor time that this process has had, in seconds: on a machine with
// other work it tells more than the clock.
func cpu() float64 {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9
}
