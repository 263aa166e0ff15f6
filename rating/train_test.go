package rating_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"underpin/rating"
	"underpin/unit"
)

func bDouble() []rating.Trailing {
	return []rating.Trailing{
		{Imposed: 14 * t_, Axles: 20 * t_, FifthWheel: true},
		{Imposed: 13 * t_, Axles: 20 * t_, FifthWheel: true},
	}
}

func TestLumpedD(t *testing.T) {
	const src = "handbook chapter 01, 1.3, B-double of 62.5 t"
	var out [2]rating.DValue
	if err := rating.LumpedD(tonnes(22.5), bDouble(), out[:]); err != nil {
		t.Fatal(err)
	}
	near(t, "first coupling", out[0].D.Kilonewtons(), 114.42, 5e-3, src)
	near(t, "second coupling", out[1].D.Kilonewtons(), 132.08, 5e-3, src)
	near(t, "R at the first", out[0].R.Tonnes(), 54, 1e-9, src)
	near(t, "T at the second", out[1].T.Tonnes(), 42.5, 1e-9, src)
	near(t, "R at the second", out[1].R.Tonnes(), 33, 1e-9, src)
	for i := range out {
		near(t, "whole train", out[i].Combined.Tonnes(), 62.5, 1e-9, src)
	}
	if rating.EstimateEvidence.Certifies() {
		t.Error("an estimate that leans on memory must not certify")
	}
}

func TestLumpedDRefuses(t *testing.T) {
	var out [2]rating.DValue
	dolly := bDouble()
	dolly[1].FifthWheel = false
	wantNoAnswer(t, "dolly", rating.LumpedD(22*t_, dolly, out[:]))
	wantDomain(t, "one trailer", rating.LumpedD(22*t_, bDouble()[:1], out[:]))
	wantDomain(t, "no place", rating.LumpedD(22*t_, bDouble(), out[:1]))
	wantDomain(t, "tractor without imposed load", rating.LumpedD(8*t_, bDouble(), out[:]))
	bad := bDouble()
	bad[0].Axles = 0
	wantDomain(t, "no axle load", rating.LumpedD(22*t_, bad, out[:]))
}

// The estimate is no less than what the two vehicles at a coupling need alone.
func TestLumpedDIsNoLessThanThePairAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mass := func(lo, hi float64, name string) unit.Mass {
			return unit.Mass(rapid.Float64Range(lo, hi).Draw(t, name))
		}
		trailers := []rating.Trailing{
			{Imposed: mass(5e3, 15e3, "U1"), Axles: mass(8e3, 24e3, "A1"), FifthWheel: true},
			{Imposed: mass(5e3, 15e3, "U2"), Axles: mass(8e3, 24e3, "A2"), FifthWheel: true},
		}
		tractor := mass(16e3, 30e3, "T")
		var out [2]rating.DValue
		if err := rating.LumpedD(tractor, trailers, out[:]); err != nil {
			t.Fatal(err)
		}
		alone, err := rating.RequiredD(tractor, trailers[0].Imposed+trailers[0].Axles, trailers[0].Imposed)
		if err != nil {
			t.Fatal(err)
		}
		if !(out[0].D >= alone.D) {
			t.Errorf("train %v, pair alone %v", out[0].D, alone.D)
		}
	})
}

func ExampleLumpedD() {
	out := make([]rating.DValue, 2)
	err := rating.LumpedD(22.5*unit.Tonne, []rating.Trailing{
		{Imposed: 14 * unit.Tonne, Axles: 20 * unit.Tonne, FifthWheel: true},
		{Imposed: 13 * unit.Tonne, Axles: 20 * unit.Tonne, FifthWheel: true},
	}, out)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f kN and %.1f kN: %s\n", out[0].D.Kilonewtons(), out[1].D.Kilonewtons(), rating.Estimate)
	// Output: 114.4 kN and 132.1 kN: conservative estimate, not the R55 Annex 8 value
}
