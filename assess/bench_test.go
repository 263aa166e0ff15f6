package assess_test

import (
	"testing"

	"underpin/assess"
	"underpin/examples"
	"underpin/exchange"
)

func pairing(b testing.TB, file, tractor, trailer, law string, loads ...string) *assess.Pairing {
	b.Helper()
	data, err := examples.Files.ReadFile(file)
	if err != nil {
		b.Fatal(err)
	}
	f, err := exchange.ParseFleet(file, data)
	if err != nil {
		b.Fatal(err)
	}
	if law == "" {
		law = f.Law
	}
	book, err := exchange.OpenLaw(law, file)
	if err != nil {
		b.Fatal(err)
	}
	t, ok := f.Tractor(tractor)
	s, ok2 := f.Trailer(trailer)
	if !ok || !ok2 {
		b.Fatalf("%s has no %s or no %s", file, tractor, trailer)
	}
	cases, err := assess.Cases(&f.Fleet, s, loads...)
	if err != nil {
		b.Fatal(err)
	}
	return assess.Compile(assess.Combination{Tractor: t, Trailer: s, Cases: cases, Law: book})
}

// The hot path: one compiled pairing with three load cases at one position.
func BenchmarkEvaluate(b *testing.B) {
	p := pairing(b, "reference-a.toml", "tractor-a", "trailer-a", "eu", "empty", "laden", "laden")
	out := p.Evaluate(0.6, nil)
	b.ReportMetric(float64(len(out)), "findings")
	b.ReportAllocs()
	for b.Loop() {
		out = p.Evaluate(0.6, out[:0])
	}
}

func BenchmarkCompile(b *testing.B) {
	p := pairing(b, "reference-a.toml", "tractor-a", "trailer-a", "eu")
	for b.Loop() {
		assess.Compile(p.Combination)
	}
}

func BenchmarkAssess(b *testing.B) {
	p := pairing(b, "reference-a.toml", "tractor-a", "trailer-a", "eu")
	for b.Loop() {
		p.Assess(assess.AimMargin)
	}
}

func BenchmarkAt(b *testing.B) {
	p := pairing(b, "reference-a.toml", "tractor-a", "trailer-a", "de")
	s := p.Now()
	for b.Loop() {
		s.Lead = 1 - s.Lead
		p.At(s)
	}
}
