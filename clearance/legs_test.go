package clearance_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/clearance"
	"underpin/unit"
)

var rear = []clearance.RearPoint{{0.90, 0.40}, {0.62, 1.275}} // frame end, mudguard corner

func TestGapToLegs(t *testing.T) {
	const source = "handbook chapter 04, 2.4, worked: e 0.575, legs at 2.300"
	for _, tt := range []struct {
		name      string
		points    []clearance.RearPoint
		what      string
		want, tol float64
		source    string
	}{
		{"frame end", rear[:1], "Rt", 1.528275, 5e-7, source},
		{"mudguard corner", rear[1:], "Rt", 1.747470, 5e-7, source},
		{"both", rear, "gap", 0.5525, 5e-5, source},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := clearance.GapToLegs(0.575, 2.300, tt.points)
			if err != nil {
				t.Fatal(err)
			}
			got := map[string]unit.Length{"Rt": s.Radius, "gap": s.Gap}[tt.what]
			near(t, tt.what, float64(got), tt.want, tt.tol, tt.source)
		})
	}
	if s, _ := clearance.GapToLegs(0.575, 2.300, rear); s.Governs != 1 {
		t.Errorf("governing point %d, want 1, the mudguard (%s)", s.Governs, source)
	}
}

func TestSAEJ701Legs(t *testing.T) {
	for _, tt := range []struct {
		lwc, w    float64 // in
		sum       float64 // FW + R + C, in
		fw        float64 // with R 20.5, C 4
		tol, tol2 float64
		source    string
	}{
		{90, 102, 74.1552426, 49.655, 5e-8, 5e-4, "handbook chapter 04, 2.4: SAE J701 inverted"},
		{90, 96, 76.1314652, 51.631, 5e-8, 5e-4, "handbook chapter 04, 2.4"},
		{64, 102, 38.6652299, 14.165, 5e-8, 5e-4, "handbook chapter 04, 2.4"},
		{64, 96, 42.3320210, 17.832, 5e-8, 5e-4, "handbook chapter 04, 2.4"},
	} {
		sum, err := clearance.SAEJ701LargestLead(unit.Length(tt.lwc)*in, unit.Length(tt.w)*in, 0, 0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "FW + R + C", sum.Inches(), tt.sum, tt.tol, tt.source)
		fw, err := clearance.SAEJ701LargestLead(unit.Length(tt.lwc)*in, unit.Length(tt.w)*in, 20.5*in, 4*in)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "FW", fw.Inches(), tt.fw, tt.tol2, tt.source)
		back, err := clearance.SAEJ701LegDistance(unit.Length(tt.w)*in, fw, 20.5*in, 4*in)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "LWC", back.Inches(), tt.lwc, 1e-9, "algebra: inverse")
	}
	got, err := clearance.SAEJ701LegDistance(102*in, 0, 20.5*in, 4*in)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "LWC", got.Inches(), 56.5796, 5e-5, "handbook chapter 04, 2.4: FW 0, W 102")

	_, err = clearance.SAEJ701LargestLead(50*in, 102*in, 20.5*in, 4*in)
	wantNoAnswer(t, "a tractor wider than the legs allow", err)
	nan := unit.Length(math.NaN())
	for _, a := range [][4]unit.Length{{nan, 2, 0, 0}, {2, nan, 0, 0}, {2, 2, nan, 0}, {2, 2, 0, nan}, {0, 2, 0, 0}, {2, 2, -1, 0}} {
		_, err := clearance.SAEJ701LargestLead(a[0], a[1], a[2], a[3])
		wantDomain(t, fmt.Sprint(a), err)
	}
	for _, a := range [][4]unit.Length{{nan, 1, 0, 0}, {2, nan, 0, 0}, {2, 1, nan, 0}, {2, 1, 0, nan}, {2, -1, 0.5, 0.1}} {
		_, err := clearance.SAEJ701LegDistance(a[0], a[1], a[2], a[3])
		wantDomain(t, fmt.Sprint(a), err)
	}
}

func TestLegLeads(t *testing.T) {
	// Hand: mudguard sqrt(2.2² − 1.275²) − 0.62 = 1.792868… − 0.62; frame end sqrt(2.2² − 0.16) − 0.9 = 1.263330…
	r, err := clearance.LegLeads(2.300, 0.100, rear)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "max", float64(r.Max), math.Sqrt(4.84-1.625625)-0.62, 1e-12, "hand: mudguard corner governs")
	if r.Governs != 1 {
		t.Errorf("governing point %d, want 1", r.Governs)
	}
	_, err = clearance.LegLeads(1.2, 0, rear)
	wantNoAnswer(t, "legs nearer than half the width", err)
	_, err = clearance.LegLeads(1.0, 0, []clearance.RearPoint{{-1.5, 0}, {1.5, 0}})
	wantNoAnswer(t, "a rear too long at any lead", err)
}

// At the largest lead the clearance is just kept, beyond it it is not; and the
// gap only falls as the lead grows past the points.
func TestLegLeadsInvertGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := make([]clearance.RearPoint, rapid.IntRange(1, 4).Draw(t, "n"))
		for i := range points {
			points[i] = clearance.RearPoint{BehindAxle: unit.Length(rapid.Float64Range(0, 1.2).Draw(t, "xp")), Offset: unit.Length(rapid.Float64Range(-1.3, 1.3).Draw(t, "yp"))}
		}
		legs := unit.Length(rapid.Float64Range(2.0, 3).Draw(t, "legs"))
		c := unit.Length(rapid.Float64Range(0, 0.3).Draw(t, "c"))
		r, err := clearance.LegLeads(legs, c, points)
		if err != nil {
			t.Fatal(err)
		}
		at := func(e unit.Length) clearance.RearSwing {
			s, err := clearance.GapToLegs(e, legs, points)
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		near(t, "gap at the largest lead", float64(at(r.Max).Gap), float64(c), 1e-12, "algebra: inverse")
		near(t, "gap at the least lead", float64(at(r.Min).Gap), float64(c), 1e-12, "algebra: inverse")
		e := r.Min + (r.Max-r.Min)*unit.Length(rapid.Float64Range(0, 1).Draw(t, "share"))
		if g := at(e).Gap; g < c-1e-12 {
			t.Errorf("at lead %v inside the range the gap is %v, below %v", e, g, c)
		}
		if g := at(r.Max + 0.01).Gap; !(g < c) {
			t.Errorf("beyond the largest lead the gap is still %v", g)
		}
	})
}

func TestGapToLegsRefuses(t *testing.T) {
	nan := unit.Length(math.NaN())
	for name, in := range map[string]struct {
		e, legs unit.Length
		points  []clearance.RearPoint
	}{
		"lead unknown":  {nan, 2.3, rear},
		"legs unknown":  {0.5, nan, rear},
		"legs zero":     {0.5, 0, rear},
		"no points":     {0.5, 2.3, nil},
		"point unknown": {0.5, 2.3, []clearance.RearPoint{{0.9, 0.4}, {nan, 1}}},
		"side unknown":  {0.5, 2.3, []clearance.RearPoint{{0.9, nan}}},
	} {
		_, err := clearance.GapToLegs(in.e, in.legs, in.points)
		wantDomain(t, name, err)
		if name != "lead unknown" {
			_, err = clearance.LegLeads(in.legs, 0.1, in.points)
			wantDomain(t, name, err)
		}
	}
	for _, c := range []unit.Length{nan, -0.1} {
		_, err := clearance.LegLeads(2.3, c, rear)
		wantDomain(t, "clearance", err)
	}
}
