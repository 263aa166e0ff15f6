package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/axleload"
	"underpin/unit"
)

// stage8 is vehicle A at the worst stage of the round of handbook chapter 03, 5.2.
func stage8() axleload.Pair {
	p := vehicleA()
	p.Payload, p.PayloadAt = 18*t_, 4.8-1.6
	return p
}

func TestLeadRange(t *testing.T) {
	inf := math.Inf(1)
	for _, tt := range []struct {
		name         string
		pair         axleload.Pair
		lim          axleload.Limits
		min, max     float64
		minBy, maxBy axleload.Limit
		scale        unit.Length
		tol          float64
		caution      bool
		source       string
	}{
		{"A", vehicleA(), axleload.Limits{MaxFront: new(7.5 * t_), MaxRear: new(11.5 * t_)},
			0.398, 0.718, axleload.MaxRear, axleload.MaxFront, m_, 5e-4, false, "handbook chapter 03, 4.1: 0.398 ≤ e ≤ 0.718"},
		{"A at 8 rows", stage8(), axleload.Limits{MaxFront: new(7.5 * t_), MaxRear: new(11.5 * t_)},
			0.959, 0.596, axleload.MaxRear, axleload.MaxFront, m_, 5e-4, false, "handbook chapter 03, 4.1: no hole"},
		{"C, steer 12,000 lb", vehicleC(4 * in), axleload.Limits{MaxFront: new(12000 * lb)},
			-inf, 9.054, "", axleload.MaxFront, in, 5e-4, true, "handbook chapter 03, 8 C: 9.054 in"},
		{"A, steer share", vehicleA(), axleload.Limits{MinSteerShare: new(0.20)},
			3.7 * (0.2*(7.8+10.309091) - 5.5) / 10.309091, inf, axleload.MinSteerShare, "", m_, 5e-7, true,
			"hand: L_T [φ_s (W_T + K) − F_e]/K, handbook chapter 03, 4.1"},
		{"A, drive share", vehicleA(), axleload.Limits{MinDriveShare: new(0.25)},
			-inf, 3.7 * (1 - (0.25*40-2.3)/10.309091), "", axleload.MinDriveShare, m_, 5e-7, true,
			"hand: L_T [1 − (φ_d G − D_e)/K]"},
		{"A, no limits", vehicleA(), axleload.Limits{}, -inf, inf, "", "", m_, 0, true, "nothing bounds it"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := axleload.LeadRange(tt.pair, tt.lim)
			if err != nil {
				t.Fatal(err)
			}
			for _, end := range []struct {
				what      string
				got, want float64
			}{{"min", float64(s.Min / tt.scale), tt.min}, {"max", float64(s.Max / tt.scale), tt.max}} {
				if math.IsInf(end.want, 0) {
					if end.got != end.want {
						t.Errorf("%s = %v, want %v (%s)", end.what, end.got, end.want, tt.source)
					}
					continue
				}
				near(t, end.what, end.got, end.want, tt.tol, tt.source)
			}
			if s.MinBy != tt.minBy || s.MaxBy != tt.maxBy {
				t.Errorf("ends by %q and %q, want %q and %q", s.MinBy, s.MaxBy, tt.minBy, tt.maxBy)
			}
			if s.Empty() != (tt.min > tt.max) {
				t.Errorf("empty = %v", s.Empty())
			}
			if (s.Caution != "") != tt.caution {
				t.Errorf("caution %q, want one: %v", s.Caution, tt.caution)
			}
		})
	}
}

// The rows of the table of 4.1 for vehicle A.
func TestLeadTable(t *testing.T) {
	const src = "handbook chapter 03, 4.1, table"
	for _, row := range [][3]float64{{0.40, 6.614, 11.495}, {0.50, 6.893, 11.216}, {0.60, 7.172, 10.937}, {0.70, 7.450, 10.659}, {0.75, 7.590, 10.519}} {
		p := vehicleA()
		p.Lead = unit.Length(row[0])
		r, err := axleload.Loads(p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("F at ", row[0]), r.Front.Tonnes(), row[1], 5e-4, src)
		near(t, fmt.Sprint("R at ", row[0]), r.Rear.Tonnes(), row[2], 5e-4, src)
	}
}

// A body-builder guide places the fifth wheel by F = L_R·WB/U from the front
// axle, L_R the part of the rear capacity left for U.
func TestLeadRangeAgreesWithTheBodyBuilderRule(t *testing.T) {
	p := vehicleA()
	r, err := axleload.Loads(p)
	if err != nil {
		t.Fatal(err)
	}
	const rearMax = 11.5 * t_
	fromFront := float64(rearMax-p.TareRear) * float64(p.Wheelbase) / float64(r.Imposed)
	s, err := axleload.LeadRange(p, axleload.Limits{MaxRear: new(rearMax)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "least lead", float64(s.Min), float64(p.Wheelbase)-fromFront, 1e-9, "a body-builder guide of 2015, part II p. 273")
}

func TestLeadRangeEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, l := drawPair(t), drawLimits(t)
		s, err := axleload.LeadRange(p, l)
		if err != nil {
			t.Fatal(err)
		}
		if (s.Min < 0 || s.Max < 0 || p.Lead < 0) != (s.Caution != "") {
			t.Errorf("lead %v, span %v to %v: caution %q", p.Lead, s.Min, s.Max, s.Caution)
		}
		onLead := l // only the limits that a lead can change
		onLead.MaxTractor, onLead.MaxImposed, onLead.MinImposed, onLead.MaxBogie = nil, nil, nil, nil
		onLead.MaxTrailer, onLead.MaxGross, onLead.MaxBogieShare = nil, nil, nil
		check := func(lead unit.Length, key axleload.Limit) {
			if !(math.Abs(float64(lead)) <= 20) || !(lead < p.Wheelbase) {
				return
			}
			q := p
			q.Lead = lead
			r, err := axleload.Loads(q)
			if err != nil {
				t.Fatal(err)
			}
			if m, ok := margin(key, r, l); !ok || !(math.Abs(m) <= 1e-5) {
				t.Errorf("at lead %v the limit %s is off by %v kg", lead, key, m)
			}
			if b := broken(t, q, onLead); !s.Empty() && b != nil {
				if m, _ := margin(b[0], r, l); m < -1e-5 {
					t.Errorf("at the end %v of the span %v is broken by %v kg", lead, b, m)
				}
			}
		}
		check(s.Min, s.MinBy)
		check(s.Max, s.MaxBy)
	})
}

func TestLeadRangeWithoutLoadAtTheKingpin(t *testing.T) {
	p := vehicleA()
	p.Payload, p.PayloadAt = 10*t_, 7.7*(1+0.19) // K = 1.9 − 1.9 = 0
	s, err := axleload.LeadRange(p, axleload.Limits{MaxFront: new(5 * t_)})
	if err != nil {
		t.Fatal(err)
	}
	if !s.Empty() || s.MaxBy != axleload.MaxFront {
		t.Errorf("K = %v, front over at tare: span %+v, want empty by max-front", s.Imposed, s)
	}
	s, err = axleload.LeadRange(p, axleload.Limits{MaxFront: new(6 * t_)})
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(float64(s.Min), -1) || !math.IsInf(float64(s.Max), 1) {
		t.Errorf("K = %v, front within: span %+v, want unbounded", s.Imposed, s)
	}
}

func TestLeadSpanIntersect(t *testing.T) {
	lim := axleload.Limits{MaxFront: new(7.5 * t_), MaxRear: new(11.5 * t_)}
	full, err := axleload.LeadRange(vehicleA(), lim)
	if err != nil {
		t.Fatal(err)
	}
	stage, err := axleload.LeadRange(stage8(), lim)
	if err != nil {
		t.Fatal(err)
	}
	both := full.Intersect(stage)
	near(t, "min", float64(both.Min), 0.959, 5e-4, "handbook chapter 03, 4.1")
	near(t, "max", float64(both.Max), 0.596, 5e-4, "handbook chapter 03, 4.1")
	if !both.Empty() || full.Empty() {
		t.Errorf("both stages: %+v; want an empty span", both)
	}
	if both.Imposed != stage.Imposed {
		t.Errorf("imposed %v, want the greater, %v", both.Imposed, stage.Imposed)
	}
}

func TestStepsNeededEdges(t *testing.T) {
	for _, tt := range []struct {
		excess, per unit.Mass
		want        int
	}{{0, 10, 0}, {0.3, 0.1, 3}, {600, 300, 2}, {601, 300, 3}} {
		s, err := axleload.StepsNeeded(tt.excess, tt.per)
		if err != nil || s.Count != tt.want {
			t.Errorf("%v by %v: %d steps, %v; want %d", tt.excess, tt.per, s.Count, err, tt.want)
		}
	}
	for _, bad := range [][2]unit.Mass{{-1, 1}, {1, 0}, {unit.Mass(math.NaN()), 1}, {1e9, 1}} {
		_, err := axleload.StepsNeeded(bad[0], bad[1])
		wantDomain(t, fmt.Sprint(bad), err)
	}
}

func ExampleLeadRange() {
	span, err := axleload.LeadRange(axleload.Pair{
		Wheelbase: 3.70, TareFront: 5500, TareRear: 2300,
		PinToBogie: 7.70, TarePin: 1900, TareBogie: 4400, Payload: 25900, PayloadAt: 5.20,
	}, axleload.Limits{MaxFront: new(unit.Mass(7500)), MaxRear: new(unit.Mass(11500))})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f mm (%s) to %.0f mm (%s)\n", span.Min.Millimetres(), span.MinBy, span.Max.Millimetres(), span.MaxBy)
	// Output: 398 mm (max-rear) to 718 mm (max-front)
}
