package axleload_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/axleload"
	"underpin/unit"
)

// limitsA are those of handbook chapter 03, 3.3, without the drive share.
func limitsA() axleload.Limits {
	return axleload.Limits{
		MaxFront: new(7.5 * t_), MaxRear: new(11.5 * t_), MaxTractor: new(18.0 * t_), MaxImposed: new(12.0 * t_),
		MaxBogie: new(24.0 * t_), MaxTrailer: new(39.0 * t_), MaxGross: new(40.0 * t_),
	}
}

func TestPayloadLimit(t *testing.T) {
	const src = "handbook chapter 03, 3.3, worked diagram 1"
	for _, tt := range []struct {
		s       float64 // behind the headboard
		want    float64 // t
		by      axleload.Limit
		with25  float64 // with the drive share; 0: not printed
		tol     float64
		source  string
		by25    axleload.Limit
		comment string
	}{
		{1.0, 7.700, axleload.MaxTractor, 0, 5e-4, src, "", ""},
		{2.0, 8.755, axleload.MaxTractor, 0, 5e-4, src, "", ""},
		{3.0, 10.144, axleload.MaxTractor, 0, 5e-4, src, "", ""},
		{4.0, 12.058, axleload.MaxTractor, 0, 5e-4, src, "", ""},
		{5.0, 14.863, axleload.MaxTractor, 0, 5e-4, src, "", ""},
		{6.0, 19.367, axleload.MaxTractor, 0, 5e-4, src, "", ""},
		{6.5, 22.825, axleload.MaxTractor, 0, 5e-4, src, "", ""},
		{6.8, 25.564, axleload.MaxTractor, 25.564, 5e-4, src + ": the share does not bound", axleload.MaxTractor, ""},
		{7.0, 25.900, axleload.MaxGross, 25.900, 5e-4, src, axleload.MaxGross, ""},
		{7.5, 25.580, axleload.MaxBogie, 6.776, 5e-4, src, axleload.MinDriveShare, ""},
		{8.0, 23.581, axleload.MaxBogie, 3.380, 5e-4, src, axleload.MinDriveShare, ""},
		{9.0, 20.395, axleload.MaxBogie, 1.688, 5e-4, src, axleload.MinDriveShare, ""},
		{10.0, 17.967, axleload.MaxBogie, 1.125, 5e-4, src, axleload.MinDriveShare, ""},
		{12.0, 14.512, axleload.MaxBogie, 0.675, 5e-4, src, axleload.MinDriveShare, ""},
	} {
		p := vehicleA()
		p.PayloadAt = unit.Length(tt.s - 1.6)
		got, err := axleload.PayloadLimit(p, limitsA())
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("s %.1f", tt.s), got.Payload.Tonnes(), tt.want, tt.tol, tt.source)
		if got.GovernedBy != tt.by {
			t.Errorf("s %.1f is governed by %s, want %s (%s)", tt.s, got.GovernedBy, tt.by, tt.source)
		}
		if tt.with25 == 0 {
			continue
		}
		lim := limitsA()
		lim.MinDriveShare = new(0.25)
		got, err = axleload.PayloadLimit(p, lim)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("s %.1f with 25 %%", tt.s), got.Payload.Tonnes(), tt.with25, tt.tol, tt.source)
		if got.GovernedBy != tt.by25 {
			t.Errorf("s %.1f with 25 %% is governed by %s, want %s (%s)", tt.s, got.GovernedBy, tt.by25, tt.source)
		}
	}
	// N of the drive share is what the empty pair has over 25 %.
	p := vehicleA()
	p.PayloadAt = 8
	got, err := axleload.PayloadLimit(p, axleload.Limits{MinDriveShare: new(0.25)})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "N", got.Room.Tonnes(), 0.366892, 5e-7, src)
}

func TestImposedLimit(t *testing.T) {
	const src = "handbook chapter 03, 3.3, limits of K"
	all := limitsA()
	for _, tt := range []struct {
		lim       axleload.Limits
		want, tol float64
		by        axleload.Limit
	}{
		{axleload.Limits{MaxFront: all.MaxFront}, 12.333, 5e-4, axleload.MaxFront},
		{axleload.Limits{MaxRear: all.MaxRear}, 10.981, 5e-4, axleload.MaxRear},
		{axleload.Limits{MaxTractor: all.MaxTractor}, 10.200, 5e-4, axleload.MaxTractor},
		{axleload.Limits{MaxImposed: all.MaxImposed}, 12.0, 1e-9, axleload.MaxImposed},
		{all, 10.2, 1e-9, axleload.MaxTractor},
	} {
		k, err := axleload.ImposedLimit(vehicleA(), tt.lim)
		if err != nil {
			t.Fatal(err)
		}
		near(t, string(tt.by), k.Imposed.Tonnes(), tt.want, tt.tol, src)
		if k.GovernedBy != tt.by {
			t.Errorf("governed by %s, want %s", k.GovernedBy, tt.by)
		}
	}
	// Curve 5: K ≤ (F_e − φ_s W_T)/(φ_s − e/L_T), here (5.5 − 0.2·7.8)/0.2 with e = 0.
	p := vehicleA()
	p.Lead = 0
	k, err := axleload.ImposedLimit(p, axleload.Limits{MinSteerShare: new(0.20), MaxFront: all.MaxFront})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "steer share", k.Imposed.Tonnes(), 19.7, 1e-9, "hand: (5.5 − 1.56)/0.2; handbook chapter 03, 3.2 curve 5")
	if k.GovernedBy != axleload.MinSteerShare {
		t.Errorf("governed by %s; with e = 0 the front limit is never reached", k.GovernedBy)
	}
	k, err = axleload.ImposedLimit(p, axleload.Limits{MaxTractor: new(7 * t_)})
	wantNoAnswer(t, "tractor over by itself", err)
	if k.GovernedBy != axleload.MaxTractor {
		t.Errorf("governed by %q, want %s", k.GovernedBy, axleload.MaxTractor)
	}
}

// The curves of 3.2 that 3.3 does not use.
func TestPayloadLimitOtherCurves(t *testing.T) {
	for _, tt := range []struct {
		name     string
		x        float64
		lim      axleload.Limits
		want     float64 // t
		by       axleload.Limit
		least    float64
		leastBy  axleload.Limit
		noAnswer bool
		source   string
	}{
		{"least imposed, load behind the bogie", 9.7, axleload.Limits{MinImposed: new(0.5 * t_)}, 1.4 * 7.7 / 2, axleload.MinImposed, 0, "", false,
			"hand: (K_e − K_min) L/(x − L) = 1.4·7.7/2.0, curve 4"},
		{"least imposed above the empty load", 3.85, axleload.Limits{MinImposed: new(3 * t_), MaxGross: new(40 * t_)}, 25.9, axleload.MaxGross, 2.2, axleload.MinImposed, false,
			"hand: (3.0 − 1.9)·7.7/(7.7 − 3.85), curve 4 lower bound"},
		{"least imposed, load on the line", 7.7, axleload.Limits{MinImposed: new(3 * t_)}, math.Inf(1), "", 0, "", true,
			"curve 4: no load there raises K"},
		{"trailer axles 60 %", 6.2, axleload.Limits{MaxBogieShare: new(0.6)}, (0.6*14.1 - 4.4) / (6.2/7.7 - 0.6), axleload.MaxBogieShare, 0, "", false,
			"ADR 9.7.5.1; curve 7"},
		{"trailer axles 60 %, load ahead of 0.6 L", 4.6, axleload.Limits{MaxBogieShare: new(0.6)}, math.Inf(1), "", 0, "", false,
			"curve 7: bounds only for x > 0.6 L"},
		{"drive share above the empty one", 2.0, axleload.Limits{MinDriveShare: new(0.30), MaxGross: new(40 * t_)}, 25.9, axleload.MaxGross,
			(2.3 + 1.9*3.1/3.7 - 0.30*14.1) / (0.30 - 3.1/3.7*(1-2/7.7)), axleload.MinDriveShare, false,
			"hand: N/d with N < 0 and d < 0, curve 6 lower bound"},
		{"drive share impossible", 9.0, axleload.Limits{MinDriveShare: new(0.30)}, math.Inf(1), "", 0, "", true,
			"curve 6: d > 0 and N < 0"},
		{"least above most", 3.85, axleload.Limits{MinImposed: new(3 * t_), MaxGross: new(16 * t_)}, 1.9, axleload.MaxGross, 2.2, axleload.MinImposed, true,
			"hand: at least 2.2 t, at most 1.9 t"},
		{"no limits", 5.2, axleload.Limits{}, math.Inf(1), "", 0, "", false, "nothing bounds it"},
		{"empty exactly on the limit", 5.2, axleload.Limits{MaxGross: new(14.1 * t_)}, 0, axleload.MaxGross, 0, "", false, "algebra: no room"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := vehicleA()
			p.PayloadAt = unit.Length(tt.x)
			got, err := axleload.PayloadLimit(p, tt.lim)
			if tt.noAnswer {
				wantNoAnswer(t, tt.name, err)
				if got.BlockedBy == "" {
					t.Error("no limit is named")
				}
			} else if err != nil {
				t.Fatal(err)
			}
			if math.IsInf(tt.want, 1) {
				if !math.IsInf(float64(got.Payload), 1) {
					t.Errorf("payload %v, want +Inf (%s)", got.Payload, tt.source)
				}
			} else {
				near(t, "payload", got.Payload.Tonnes(), tt.want, 1e-9, tt.source)
			}
			near(t, "least", got.AtLeast.Tonnes(), tt.least, 1e-9, tt.source)
			if got.GovernedBy != tt.by || got.AtLeastBy != tt.leastBy {
				t.Errorf("governed by %q, least by %q; want %q, %q (%s)", got.GovernedBy, got.AtLeastBy, tt.by, tt.leastBy, tt.source)
			}
		})
	}
}

func drawLimits(t *rapid.T) axleload.Limits {
	mass := func(lo, hi float64, name string) *unit.Mass {
		if rapid.Bool().Draw(t, "has "+name) {
			return nil
		}
		return new(unit.Mass(rapid.Float64Range(lo, hi).Draw(t, name)))
	}
	share := func(lo, hi float64, name string) *float64 {
		if rapid.Bool().Draw(t, "has "+name) {
			return nil
		}
		return new(rapid.Float64Range(lo, hi).Draw(t, name))
	}
	return axleload.Limits{
		MaxFront: mass(5e3, 9e3, "max-front"), MaxRear: mass(6e3, 20e3, "max-rear"), MaxTractor: mass(12e3, 26e3, "max-tractor"),
		MaxImposed: mass(6e3, 20e3, "max-imposed"), MinImposed: mass(0, 3e3, "min-imposed"), MaxBogie: mass(12e3, 27e3, "max-bogie"),
		MaxTrailer: mass(15e3, 40e3, "max-trailer"), MaxGross: mass(25e3, 50e3, "max-gross"),
		MinDriveShare: share(0.05, 0.3, "min-drive-share"), MinSteerShare: share(0.05, 0.3, "min-steer-share"), MaxBogieShare: share(0.4, 0.7, "max-bogie-share"),
	}
}

// margin is how far a result is inside a limit, in kg; it states each limit
// directly and shares nothing with the closed form.
func margin(key axleload.Limit, r axleload.Result, l axleload.Limits) (float64, bool) {
	mass := func(limit *unit.Mass, v unit.Mass, sign float64) (float64, bool) {
		if limit == nil {
			return 0, false
		}
		return sign * float64(*limit-v), true
	}
	share := func(limit *float64, part, whole unit.Mass, sign float64) (float64, bool) {
		if limit == nil {
			return 0, false
		}
		return sign * (*limit*float64(whole) - float64(part)), true
	}
	switch key {
	case axleload.MaxFront:
		return mass(l.MaxFront, r.Front, 1)
	case axleload.MaxRear:
		return mass(l.MaxRear, r.Rear, 1)
	case axleload.MaxTractor:
		return mass(l.MaxTractor, r.Front+r.Rear, 1)
	case axleload.MaxImposed:
		return mass(l.MaxImposed, r.Imposed, 1)
	case axleload.MinImposed:
		return mass(l.MinImposed, r.Imposed, -1)
	case axleload.MaxBogie:
		return mass(l.MaxBogie, r.Bogie, 1)
	case axleload.MaxTrailer:
		return mass(l.MaxTrailer, r.Imposed+r.Bogie, 1)
	case axleload.MaxGross:
		return mass(l.MaxGross, r.Gross, 1)
	case axleload.MinDriveShare:
		return share(l.MinDriveShare, r.Driven, r.Gross, -1)
	case axleload.MinSteerShare:
		return share(l.MinSteerShare, r.Front, r.Tractor, -1)
	case axleload.MaxBogieShare:
		return share(l.MaxBogieShare, r.Bogie, r.Gross, 1)
	}
	panic("unknown limit " + key)
}

var allLimits = []axleload.Limit{
	axleload.MaxFront, axleload.MaxRear, axleload.MaxTractor, axleload.MaxImposed, axleload.MinImposed, axleload.MaxBogie,
	axleload.MaxTrailer, axleload.MaxGross, axleload.MinDriveShare, axleload.MinSteerShare, axleload.MaxBogieShare,
}

// broken returns the limits that a payload breaks by more than 1 mg.
func broken(t *rapid.T, p axleload.Pair, l axleload.Limits) []axleload.Limit {
	r, err := axleload.Loads(p)
	if err != nil {
		t.Fatal(err)
	}
	var list []axleload.Limit
	for _, key := range allLimits {
		if m, ok := margin(key, r, l); ok && !(m >= -1e-6) {
			list = append(list, key)
		}
	}
	return list
}

func TestPayloadLimitIsExactlyOnItsLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, l := drawPair(t), drawLimits(t)
		got, err := axleload.PayloadLimit(p, l)
		var none *unit.NoAnswerError
		if errors.As(err, &none) {
			// Then every payload breaks something.
			for _, m := range []unit.Mass{0, got.AtLeast, got.Payload, unit.Mass(rapid.Float64Range(0, 60e3).Draw(t, "try"))} {
				if q := p; !(m > 1e7) {
					q.Payload = m
					if len(broken(t, q, l)) == 0 {
						r, _ := axleload.Loads(q)
						t.Errorf("no payload is said to be permitted, but %v kg breaks nothing: %+v", m, r)
					}
				}
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if got.Payload > 1e7 { // unbounded, or by a limit next to which the load stands
			return
		}
		p.Payload = got.Payload
		if b := broken(t, p, l); b != nil {
			t.Errorf("%v kg, governed by %s, breaks %v", got.Payload, got.GovernedBy, b)
		}
		r, err := axleload.Loads(p)
		if err != nil {
			t.Fatal(err)
		}
		if m, ok := margin(got.GovernedBy, r, l); !ok || !(math.Abs(m) <= 1e-6) {
			t.Errorf("%v kg is %v kg off its limit %s", got.Payload, m, got.GovernedBy)
		}
		p.Payload += 1 / unit.Mass(math.Max(got.Demand, 1e-6))
		if b := broken(t, p, l); len(b) == 0 {
			t.Errorf("more than %v kg breaks nothing", got.Payload)
		}
		if got.AtLeast > 0 {
			p.Payload = got.AtLeast
			if b := broken(t, p, l); b != nil {
				t.Errorf("the least payload %v kg breaks %v", got.AtLeast, b)
			}
			r, err := axleload.Loads(p)
			if err != nil {
				t.Fatal(err)
			}
			if m, ok := margin(got.AtLeastBy, r, l); !ok || !(math.Abs(m) <= 1e-6) {
				t.Errorf("the least payload %v kg is %v kg off its limit %s", got.AtLeast, m, got.AtLeastBy)
			}
		}
	})
}

func TestPayloadLimitRefuses(t *testing.T) {
	p := vehicleA()
	for name, l := range map[string]axleload.Limits{
		"NaN mass":       {MaxRear: new(unit.Mass(math.NaN()))},
		"negative mass":  {MaxGross: new(unit.Mass(-1))},
		"NaN share":      {MinDriveShare: new(math.NaN())},
		"share above 1":  {MinSteerShare: new(25.0)},
		"bogie share −1": {MaxBogieShare: new(-1.0)},
	} {
		_, err := axleload.PayloadLimit(p, l)
		wantDomain(t, name, err)
		_, err = axleload.LeadRange(p, l)
		wantDomain(t, name, err)
	}
}

func TestDiagramCorners(t *testing.T) {
	const src = "handbook chapter 03, 3.3, corners"
	p := vehicleA()
	corner := func(lim axleload.Limits, ahead, behind axleload.Limit) axleload.Corner {
		t.Helper()
		list, err := axleload.DiagramCorners(p, lim, -1.6, 12, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range list {
			if c.Ahead == ahead && c.Behind == behind {
				return c
			}
		}
		t.Fatalf("no corner %s to %s in %+v", ahead, behind, list)
		panic("unreachable")
	}
	c := corner(limitsA(), axleload.MaxTractor, axleload.MaxGross)
	near(t, "K/gross", float64(c.At)+1.6, 6.8324, 5e-5, src)
	near(t, "K/gross payload", c.Payload.Tonnes(), 25.9, 1e-9, src)
	c = corner(limitsA(), axleload.MaxGross, axleload.MaxBogie)
	near(t, "gross/bogie", float64(c.At)+1.6, 7.4270, 5e-5, src)
	lim := limitsA()
	lim.MinDriveShare = new(0.25)
	c = corner(lim, axleload.MaxGross, axleload.MinDriveShare)
	near(t, "gross/drive share", float64(c.At)+1.6, 7.1326, 5e-5, src)
	x, err := axleload.DriveShareLine(p, 0.25)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "drive-share asymptote", float64(x)+1.6, 7.0024, 5e-5, src)
	list, err := axleload.DiagramCorners(p, lim, -1.6, 12, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(list) != 2 {
		t.Errorf("%d corners, want 2: %+v", len(list), list)
	}
	_, err = axleload.DiagramCorners(p, lim, 2, 1, nil)
	wantDomain(t, "from > to", err)
}

// Corners are where the permitted payload changes its governing limit: the
// sampled diagram and the corners agree.
func TestDiagramCornersAgreeWithTheCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, l := drawPair(t), drawLimits(t)
		corners, err := axleload.DiagramCorners(p, l, -1.5, 13, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, c := range corners {
			if i > 0 && c.At < corners[i-1].At {
				t.Errorf("corners out of order: %+v", corners)
			}
			p.Payload, p.PayloadAt = c.Payload, c.At
			if c.Payload > 1e6 {
				continue
			}
			if b := broken(t, p, l); b != nil {
				t.Errorf("corner %+v breaks %v", c, b)
			}
			r, err := axleload.Loads(p)
			if err != nil {
				t.Fatal(err)
			}
			for _, key := range []axleload.Limit{c.Ahead, c.Behind} {
				if m, ok := margin(key, r, l); !ok || !(math.Abs(m) <= 1e-5) {
					t.Errorf("corner %+v is %v kg off %s", c, m, key)
				}
			}
		}
		// Between neighbouring samples the governing limit changes only at a
		// corner, or where the load stands on the bogie line and nothing bounds
		// it: there all limits on the kingpin let go at once.
		p.PayloadAt = p.PinToBogie
		onLine, err := axleload.PayloadLimit(p, l)
		unbounded := err == nil && onLine.Payload > 1e6
		var last axleload.Permitted
		const step = 0.25
		for i := 0; i < 58; i++ {
			p.PayloadAt = -1.5 + unit.Length(i)*step
			got, err := axleload.PayloadLimit(p, l)
			if err != nil {
				last = axleload.Permitted{}
				continue
			}
			if last.GovernedBy != "" && got.GovernedBy != "" && got.GovernedBy != last.GovernedBy {
				found := unbounded && p.PayloadAt-step <= p.PinToBogie && p.PinToBogie <= p.PayloadAt
				for _, c := range corners {
					found = found || (p.PayloadAt-step-1e-9 <= c.At && c.At <= p.PayloadAt+1e-9)
				}
				if !found && got.Payload < 1e6 && last.Payload < 1e6 && got.Payload > 0 && last.Payload > 0 {
					t.Errorf("no corner where %s gives way to %s before x = %v: %+v", last.GovernedBy, got.GovernedBy, p.PayloadAt, corners)
				}
			}
			last = got
		}
	})
}

func ExamplePayloadLimit() {
	got, err := axleload.PayloadLimit(axleload.Pair{
		Wheelbase: 3.70, Lead: 0.60, TareFront: 5500, TareRear: 2300,
		PinToBogie: 7.70, TarePin: 1900, TareBogie: 4400, PayloadAt: 5.20,
	}, axleload.Limits{
		MaxFront: new(unit.Mass(7500)), MaxRear: new(unit.Mass(11500)), MaxTractor: new(unit.Mass(18000)),
		MaxBogie: new(unit.Mass(24000)), MaxGross: new(unit.Mass(40000)),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f kg, governed by %s\n", got.Payload, got.GovernedBy)
	// Output: 25564 kg, governed by max-tractor
}
