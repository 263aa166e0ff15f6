package rule_test

import (
	"testing"

	"underpin/rule"
	"underpin/unit"
)

func BenchmarkOpen(b *testing.B) {
	for b.Loop() {
		if _, err := rule.Open("de"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLimits(b *testing.B) {
	book := open(b, "de")
	f := rule.Facts{"group": "trailer", "axles": 3, "spacing": unit.Length(1.31), "drive": false}
	b.ReportAllocs()
	for b.Loop() {
		if len(book.Limits("mass-group", f)) == 0 {
			b.Fatal("no limit")
		}
	}
}

func BenchmarkCheck(b *testing.B) {
	limits := open(b, "eu").Limits("height", nil)
	b.ReportAllocs()
	for b.Loop() {
		if limits[0].Check("height", 3.99).Answer != rule.Fits {
			b.Fatal("does not fit")
		}
	}
}

func BenchmarkBridgeFormula(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := rule.BridgeFormula(4, 35*unit.Foot, rule.TiesDown); err != nil {
			b.Fatal(err)
		}
	}
}
