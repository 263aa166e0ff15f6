package turning_test

import (
	"math"
	"testing"

	"underpin/turning"
)

// The lap of the reference vehicle must stay within 20 µs and not allocate.
func BenchmarkLegalCircle(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := turning.LegalCircle(legalE); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSteady(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := turning.Steady(circleE); err != nil {
			b.Fatal(err)
		}
	}
}

// One pair of a fleet matrix.
func BenchmarkBoundFits(b *testing.B) {
	bound, err := turning.KingpinBound(turning.BoundInput{GuideRadius: 12.5, GuideAhead: 5.075, GuideLeft: -1.275, Lead: 0.575})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	pin := circleE.PinToBogie
	for b.Loop() {
		if !bound.Fits(pin, 2.55, 5.30) {
			b.Fatal("does not fit")
		}
	}
}

func BenchmarkTurn90WithExit(b *testing.B) {
	in := turning.TurnInput{SteadyInput: circleE, Angle: math.Pi / 2, Exit: true, FrontOverhang: 1.5925, RearEnd: 12}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := turning.Turn(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFollow90(b *testing.B) {
	in := turning.FollowInput{Train: trainE(), Course: []turning.Segment{arcOf(12.5, 90), {Length: 40}}}
	for b.Loop() {
		if _, err := turning.Follow(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSweptWidth90(b *testing.B) {
	in := turning.SweptInput{Train: trainE(), Radius: 12.5, Angle: math.Pi / 2}
	for b.Loop() {
		if _, err := turning.SweptWidth(in); err != nil {
			b.Fatal(err)
		}
	}
}

// The hot path allocates nothing, so a fleet's matrix leaves no garbage.
func TestHotPathDoesNotAllocate(t *testing.T) {
	bound := turning.BoundInput{GuideRadius: 12.5, GuideAhead: 5.075, GuideLeft: -1.275, Lead: 0.575}
	turn := turning.TurnInput{SteadyInput: circleE, Angle: 7, Exit: true, FrontOverhang: 1.5925, RearEnd: 12}
	for name, f := range map[string]func() error{
		"LegalCircle":  func() error { _, err := turning.LegalCircle(legalE); return err },
		"Steady":       func() error { _, err := turning.Steady(circleE); return err },
		"KingpinBound": func() error { _, err := turning.KingpinBound(bound); return err },
		"Turn":         func() error { _, err := turning.Turn(turn); return err },
		"Drift": func() error {
			_, err := turning.Drift(turning.DriftInput{Radius: 10, Length: 4, Turned: 1})
			return err
		},
	} {
		if n := testing.AllocsPerRun(20, func() {
			if err := f(); err != nil {
				t.Fatal(err)
			}
		}); n != 0 {
			t.Errorf("%s allocates %v times", name, n)
		}
	}
}
