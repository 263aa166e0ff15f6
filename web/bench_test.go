package web_test

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"underpin/examples"
	"underpin/exchange"
	"underpin/web"
)

// What the live slider asks for at each move.
func BenchmarkSliderAnswer(b *testing.B) {
	data, err := examples.Files.ReadFile("demo.toml")
	if err != nil {
		b.Fatal(err)
	}
	f, err := exchange.ParseFleet("demo.toml", data)
	if err != nil {
		b.Fatal(err)
	}
	h := web.Handler(web.Config{Fleet: f, Path: "demo.toml", Demo: true})
	r := httptest.NewRequest(http.MethodGet, "/pairing?tractor=heron-07&trailer=marsh-23&law=eu&lead=650&part=answer", nil)
	for b.Loop() {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatal(w.Code)
		}
	}
}
