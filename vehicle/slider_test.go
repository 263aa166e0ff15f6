package vehicle_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
	"underpin/vehicle"
)

func slider(foremost, rearmost, pitch unit.Length) *vehicle.Slider {
	return &vehicle.Slider{Foremost: &foremost, Rearmost: &rearmost, Pitch: &pitch}
}

// Where a slider can be locked. Source of each row: counted by hand.
func TestPositions(t *testing.T) {
	const mm, in = unit.Millimetre, unit.Inch
	for _, tt := range []struct {
		name string
		s    *vehicle.Slider
		want []unit.Length
	}{
		{"evenly", slider(3000*mm, 3150*mm, 50*mm), []unit.Length{3000 * mm, 3050 * mm, 3100 * mm, 3150 * mm}},
		{"one only", slider(3000*mm, 3000*mm, 50*mm), []unit.Length{3000 * mm}},
		{"inches", slider(120*in, 132*in, 4*in), []unit.Length{120 * in, 124 * in, 128 * in, 132 * in}},
		// 24 in of travel at 4 in, each rounded to whole millimetres: counted in steps
		// of 102 mm from either end the other end would be missed by 2 mm.
		{"inches rounded to mm", slider(3048*mm, 3658*mm, 102*mm), []unit.Length{3048 * mm, (3048 + 610./6) * mm, (3048 + 610./3) * mm, 3353 * mm, (3048 + 610*2./3) * mm, (3048 + 610*5./6) * mm, 3658 * mm}},
		{"ends that do not go with the pitch", slider(3000*mm, 3120*mm, 50*mm), []unit.Length{3000 * mm, 3050 * mm, 3100 * mm, 3120 * mm}},
		{"no pitch", &vehicle.Slider{Foremost: new(unit.Length), Rearmost: new(unit.Length)}, nil},
		{"an end not known", &vehicle.Slider{Foremost: new(unit.Length)}, nil},
	} {
		got := tt.s.Positions()
		ok := len(got) == len(tt.want)
		for i := range got {
			ok = ok && math.Abs(float64(got[i]-tt.want[i])) < 1e-9
		}
		if !ok {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
}

// A place is in a position, to the millimetre of a tape, or between two neighbours.
func TestNearIsBetweenNeighbours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "n")
		pitch := unit.Length(rapid.Float64Range(0.005, 0.2).Draw(t, "pitch"))
		first := unit.Length(rapid.Float64Range(2, 4).Draw(t, "first"))
		s := slider(first, first+pitch*unit.Length(n), pitch)
		at := first + pitch*unit.Length(n)*unit.Length(rapid.Float64Range(0, 1).Draw(t, "at"))
		ahead, behind, on := s.Near(at)
		switch {
		case on && math.Abs(float64(ahead-at)) > 0.001+1e-8:
			t.Fatalf("%v is taken for %v", at, ahead)
		case !on && !(ahead < at && at < behind && math.Abs(float64(behind-ahead-pitch)) < 1e-9):
			t.Fatalf("%v lies between %v and %v, %v apart", at, ahead, behind, pitch)
		}
	})
}

// A position between two notches locks nothing, and a pitch of which the travel
// is no whole number contradicts the ends: both are refused with what could be meant.
func TestNotchesAreChecked(t *testing.T) {
	for _, tt := range []struct {
		name, foremost, rearmost, pitch, at string
		path, says                          string
	}{
		{"on a notch", "2950 mm", "3350 mm", "50 mm", "3100 mm", "", ""},
		{"a tape's millimetre off", "2950 mm", "3350 mm", "50 mm", "3101 mm", "", ""},
		{"not stated", "2950 mm", "3350 mm", "50 mm", "", "", ""},
		{"no pitch: any place", "2950 mm", "3350 mm", "", "3117 mm", "", ""},
		{"between", "2950 mm", "3350 mm", "50 mm", "3117 mm", ".at", "the nearest are 3100 mm and 3150 mm"},
		{"two millimetres off", "2950 mm", "3350 mm", "50 mm", "3102 mm", ".at", "the nearest are 3100 mm and 3150 mm"},
		{"rounded inches, on a notch", "3048 mm", "3658 mm", "102 mm", "3455 mm", "", ""},
		{"rounded inches, between", "3048 mm", "3658 mm", "102 mm", "3400 mm", ".at", "the nearest are 3353 mm and 3454.67 mm"},
		{"no whole number", "2950 mm", "3320 mm", "50 mm", "", ".slider.pitch", "rearmost = 3300 mm or 3350 mm"},
	} {
		q := func(text string) *unit.Length {
			if text == "" {
				return nil
			}
			v, err := unit.Parse(text, unit.LengthDim)
			if err != nil {
				t.Fatal(err)
			}
			return (*unit.Length)(&v)
		}
		f := vehicle.Fleet{Tractors: []vehicle.Tractor{{ID: "a", Axles: []vehicle.Axle{{Kind: "steer"}, {Kind: "drive", At: q("3700 mm")}},
			FifthWheel: vehicle.FifthWheel{At: q(tt.at), Slider: &vehicle.Slider{Foremost: q(tt.foremost), Rearmost: q(tt.rearmost), Pitch: q(tt.pitch)}}}}}
		errs := f.Validate()
		if tt.says == "" {
			for _, e := range errs {
				t.Errorf("%s: %v", tt.name, e)
			}
			continue
		}
		if len(errs) != 1 || errs[0].Path != "tractor[0].fifth-wheel"+tt.path || !strings.Contains(errs[0].Expected, tt.says) {
			t.Errorf("%s: %v, want one error at %s that says %q", tt.name, errs, tt.path, tt.says)
		}
	}
}
