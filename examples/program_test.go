package examples_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"underpin/assess"
	"underpin/exchange"
	"underpin/rule"
)

// TestExpectedByProgram asks the program the questions of expected.toml: the
// answer is the one worked out by hand, and where a pair does not fit, a finding
// with the very value and limit of the row is among those that say so.
func TestExpectedByProgram(t *testing.T) {
	all := fleets(t)
	for _, p := range expected(t) {
		t.Run(p.String(), func(t *testing.T) {
			f := all[p.File]
			tractor, okT := f.Tractor(p.Tractor)
			trailer, okS := f.Trailer(p.Trailer)
			if !okT || !okS {
				t.Fatal("no such pair")
			}
			law, err := exchange.OpenLaw(p.Law, p.File)
			if err != nil {
				t.Fatal(err)
			}
			cases, err := assess.Cases(&f.Fleet, trailer, p.Load)
			if err != nil {
				t.Fatal(err)
			}
			r := assess.Compile(assess.Combination{Tractor: tractor, Trailer: trailer, Cases: cases, Law: law}).Assess(assess.AimMargin)
			if string(r.Answer) != p.Answer {
				t.Errorf("%s; %s expected", r.Answer, p.Answer)
			}
			for _, m := range p.Missing {
				if !slices.ContainsFunc(r.Missing, func(s string) bool { return strings.Contains(strings.ToLower(s), m) }) {
					t.Errorf("%q is not among what is missing: %q", m, r.Missing)
				}
			}
			if r.Answer != rule.DoesNotFit {
				return
			}
			value, half := quantity(t, p.Value)
			limit, _ := quantity(t, p.Limit)
			for _, x := range r.Findings {
				if x.Binding && x.Answer == rule.DoesNotFit &&
					math.Abs(x.Unit.ToSI(x.Value)-value) <= half*1.000001 && math.Abs(x.Unit.ToSI(x.Limit)-limit) <= 1e-9*math.Max(1, limit) {
					return
				}
			}
			t.Errorf("no finding fails with %s against %s (%s)", p.Value, p.Limit, p.Finding)
		})
	}
}
