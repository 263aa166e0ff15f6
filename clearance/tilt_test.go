package clearance_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/clearance"
	"underpin/unit"
)

func box(hc unit.Length) clearance.CoupledTrailer {
	return clearance.CoupledTrailer{CouplingHeight: hc, TrailerHeight: 1.100, PinToBogie: 7.70, BodyHeight: 2.85, Front: 1.60, Rear: 12.0}
}

func TestTrailerTilt(t *testing.T) {
	const source = "handbook chapter 04, 3.4, worked: Hk 1.100, ht 2.85, xf 1.60, xr 12.0, L2 7.70"
	for _, tt := range []struct {
		hc                unit.Length
		tilt, front, rear float64 // degrees, m, m
		source            string
	}{
		{1.150, 0.372045287, 4.010329307, 3.922019481, source},
		{1.050, -0.372045287, 3.889550525, 3.977860351, source},
		{1.100, 0, 3.95, 3.95, "algebra: no mismatch, Hk + ht"},
	} {
		r, err := clearance.TrailerTilt(box(tt.hc))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "tilt", r.Angle.Degrees(), tt.tilt, 5e-10, tt.source)
		near(t, "H_front", float64(r.FrontTop), tt.front, 5e-10, tt.source)
		near(t, "H_rear", float64(r.RearTop), tt.rear, 5e-10, tt.source)
		near(t, "top", float64(r.Top()), math.Max(tt.front, tt.rear), 5e-10, tt.source)
	}
	r, _ := clearance.TrailerTilt(box(1.110))
	near(t, "tilt of 10 mm", r.Angle.Degrees(), 0.0744, 5e-5, "handbook chapter 04, 3.4: 0.0744° for 10 mm")
	near(t, "rear end of the plate line", (1.1 - float64(r.At(12, 0))), 0.0056, 5e-5, "handbook chapter 04, 3.4: rear 5.6 mm too low")
}

// The plate line passes through the coupling height over the pin and the
// trailer's own height over the bogie, and points keep their distance.
func TestTiltGeometry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := clearance.CoupledTrailer{
			CouplingHeight: unit.Length(rapid.Float64Range(0.9, 1.4).Draw(t, "Hc")), TrailerHeight: unit.Length(rapid.Float64Range(0.9, 1.4).Draw(t, "Hk")),
			PinToBogie: unit.Length(rapid.Float64Range(3, 12).Draw(t, "L2")), BodyHeight: 2.8, Front: 1.6, Rear: 12,
		}
		r, err := clearance.TrailerTilt(in)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "over the pin", float64(r.At(0, 0)), float64(in.CouplingHeight), 1e-15, "definition")
		// L2 is taken along the road, the plate line is L2/cosβ long.
		along := float64(in.PinToBogie) / math.Cos(float64(r.Angle))
		near(t, "over the bogie", float64(r.At(unit.Length(along), 0)), float64(in.TrailerHeight), 1e-12, "definition of tan β")
		near(t, "front less rear", float64(r.FrontTop-r.RearTop), 13.6*math.Sin(float64(r.Angle)), 1e-12, "algebra: (xf + xr)·sinβ")
		if (r.Angle > 0) != (in.CouplingHeight > in.TrailerHeight) && in.CouplingHeight != in.TrailerHeight {
			t.Errorf("tilt %v with Hc %v over Hk %v: nose-up must be positive", r.Angle, in.CouplingHeight, in.TrailerHeight)
		}
	})
}

func TestTotalHeight(t *testing.T) {
	body := clearance.TrailerBody{PinToBogie: 7.70, BodyHeight: 2.85, Front: 1.60, Rear: 12.0}
	states := []clearance.HeightState{{"laden", 1.050, 1.100}, {"unladen", 1.150, 1.100}}
	const source = "handbook chapter 04, 3.4: the greater of the two worked states"
	r, err := clearance.TotalHeight(body, states)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "H", float64(r.Height), 4.010329307, 5e-10, source)
	if r.State != 1 || r.Where != "front" {
		t.Errorf("governed by state %d at the %s, want 1 at the front (%s)", r.State, r.Where, source)
	}
	r, _ = clearance.TotalHeight(body, states[:1])
	if near(t, "H", float64(r.Height), 3.977860351, 5e-10, source); r.Where != "rear" {
		t.Errorf("at the %s, want the rear", r.Where)
	}
	body.OnTop = []clearance.RoofPoint{{"roof vent", 6, 3.0}}
	r, _ = clearance.TotalHeight(body, []clearance.HeightState{{"level", 1.1, 1.1}})
	if near(t, "H", float64(r.Height), 4.1, 1e-12, "hand: 1.1 + 3.0"); r.Where != "roof vent" {
		t.Errorf("at the %s, want the roof vent", r.Where)
	}

	_, err = clearance.TotalHeight(body, nil)
	wantDomain(t, "no states", err)
	_, err = clearance.TotalHeight(body, []clearance.HeightState{{"unladen", unit.Length(math.NaN()), 1.1}})
	wantDomain(t, "unknown height", err)
	if !strings.Contains(err.Error(), "unladen") {
		t.Errorf("error %q does not name the state", err)
	}
	body.OnTop[0].Above = unit.Length(math.NaN())
	_, err = clearance.TotalHeight(body, states)
	wantDomain(t, "unknown point on top", err)
}

func TestTiltRefuses(t *testing.T) {
	nan := unit.Length(math.NaN())
	for name, spoil := range map[string]func(*clearance.CoupledTrailer){
		"coupling unknown": func(c *clearance.CoupledTrailer) { c.CouplingHeight = nan }, "coupling zero": func(c *clearance.CoupledTrailer) { c.CouplingHeight = 0 },
		"trailer unknown": func(c *clearance.CoupledTrailer) { c.TrailerHeight = nan }, "bogie unknown": func(c *clearance.CoupledTrailer) { c.PinToBogie = nan },
		"bogie at the pin": func(c *clearance.CoupledTrailer) { c.PinToBogie = 0 }, "body unknown": func(c *clearance.CoupledTrailer) { c.BodyHeight = nan },
		"front unknown": func(c *clearance.CoupledTrailer) { c.Front = nan }, "rear unknown": func(c *clearance.CoupledTrailer) { c.Rear = nan },
		"mismatch beyond the wheelbase": func(c *clearance.CoupledTrailer) { c.CouplingHeight = 9 },
	} {
		in := box(1.15)
		spoil(&in)
		_, err := clearance.TrailerTilt(in)
		wantDomain(t, name, err)
	}
}

func TestCombinationLength(t *testing.T) {
	const source = "handbook chapter 04, 0: vehicle E, 16.500 m"
	l := clearance.Layout{FrontOverhang: 1.375, Wheelbase: 3.70, Lead: 0.575, PinToRear: 12}
	c, err := clearance.CombinationLength(l)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "length", float64(c.Length), 16.5, 5e-4, source)
	near(t, "front to pin", float64(c.FrontToPin), 4.5, 1e-12, "hand: 1.375 + 3.700 − 0.575")
	b, err := clearance.ShortestLead(16.5, l)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "least lead", float64(b.MinLead), 0.575, 1e-12, source)
	near(t, "bound of front to pin", float64(b.FrontToPin), 4.5, 1e-12, "hand: 16.5 − 12.0")

	nan := unit.Length(math.NaN())
	for _, l := range []clearance.Layout{{nan, 3.7, 0.5, 12}, {1.3, nan, 0.5, 12}, {1.3, 3.7, 0.5, nan}, {-1, 3.7, 0.5, 12}, {1.3, 0, 0.5, 12}, {1.3, 3.7, 0.5, 0}} {
		_, err := clearance.CombinationLength(l)
		wantDomain(t, fmt.Sprint(l), err)
		_, err = clearance.ShortestLead(16.5, l)
		wantDomain(t, fmt.Sprint(l), err)
	}
	_, err = clearance.CombinationLength(clearance.Layout{1.3, 3.7, nan, 12})
	wantDomain(t, "lead unknown", err)
	_, err = clearance.ShortestLead(nan, l)
	wantDomain(t, "limit unknown", err)
}

func ExampleTrailerTilt() {
	t, err := clearance.TrailerTilt(clearance.CoupledTrailer{
		CouplingHeight: 1150 * unit.Millimetre, TrailerHeight: 1100 * unit.Millimetre, PinToBogie: 7700 * unit.Millimetre,
		BodyHeight: 2850 * unit.Millimetre, Front: 1600 * unit.Millimetre, Rear: 12000 * unit.Millimetre,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("nose-up %.2f°, front %.1f mm, rear %.1f mm\n", t.Angle.Degrees(), t.FrontTop.Millimetres(), t.RearTop.Millimetres())
	// Output: nose-up 0.37°, front 4010.3 mm, rear 3922.0 mm
}

func BenchmarkTrailerTilt(b *testing.B) {
	in := box(1.15)
	b.ReportAllocs()
	for b.Loop() {
		in.CouplingHeight += 1e-10
		if _, err := clearance.TrailerTilt(in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTotalHeight(b *testing.B) {
	body := clearance.TrailerBody{PinToBogie: 7.70, BodyHeight: 2.85, Front: 1.60, Rear: 12.0}
	states := []clearance.HeightState{{"laden", 1.050, 1.100}, {"unladen", 1.150, 1.100}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := clearance.TotalHeight(body, states); err != nil {
			b.Fatal(err)
		}
	}
}
