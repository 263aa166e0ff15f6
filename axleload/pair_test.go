package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/axleload"
	"underpin/unit"
)

func TestLoads(t *testing.T) {
	b, _ := vehicleB(t)
	const srcA, srcB, srcC = "handbook chapter 03, 8 A", "handbook chapter 03, 8 B", "handbook chapter 03, 8 C"
	for _, tt := range []struct {
		name                                string
		pair                                axleload.Pair
		scale                               unit.Mass
		imposed, front, rear, bogie, gross  float64
		tolImposed, tolFront, tolRear, tolB float64
		source                              string
	}{
		{"A", vehicleA(), t_, 10.309091, 7.171744, 10.937346, 21.890909, 40, 5e-7, 5e-7, 5e-7, 5e-7, srcA},
		{"B", b, t_, 11.155844, 5.809866, 5.520781 + 8.825197, 23.844156, 44, 5e-7, 5e-7, 1e-6, 5e-7, srcB},
		{"C, lead 0", vehicleC(0), lb, 25955.56, 11000.0, 33455.6, 33544.44, 78000, 0.005, 0.05, 0.05, 0.005, srcC},
		{"C, lead 4 in", vehicleC(4 * in), lb, 25955.56, 11441.8, 33013.8, 33544.44, 78000, 0.005, 0.05, 0.05, 0.005, srcC},
		{"C, lead 8 in", vehicleC(8 * in), lb, 25955.56, 11883.6, 32572.0, 33544.44, 78000, 0.005, 0.05, 0.05, 0.005, srcC},
		{"C, lead 10 in", vehicleC(10 * in), lb, 25955.56, 12104.5, 32351.1, 33544.44, 78000, 0.005, 0.05, 0.05, 0.005, srcC},
		{"C, lead 12 in", vehicleC(12 * in), lb, 25955.56, 12325.4, 32130.2, 33544.44, 78000, 0.005, 0.05, 0.05, 0.005, srcC},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r, err := axleload.Loads(tt.pair)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "K", float64(r.Imposed/tt.scale), tt.imposed, tt.tolImposed, tt.source)
			near(t, "F", float64(r.Front/tt.scale), tt.front, tt.tolFront, tt.source)
			near(t, "R", float64(r.Rear/tt.scale), tt.rear, tt.tolRear, tt.source)
			near(t, "B", float64(r.Bogie/tt.scale), tt.bogie, tt.tolB, tt.source)
			near(t, "gross", float64(r.Gross/tt.scale), tt.gross, 1e-9*tt.gross, tt.source)
			if r.Negative {
				t.Error("marked as unable to stand")
			}
		})
	}
	r, _ := axleload.Loads(vehicleA())
	near(t, "A: tractor", r.Tractor.Tonnes(), 18.109091, 5e-7, srcA)
	near(t, "A: per trailer axle", r.Bogie.Tonnes()/3, 7.296970, 5e-7, srcA)
	near(t, "A: drive share", r.DriveShare(), 0.27343, 5e-6, srcA)
	near(t, "A: steer share", r.SteerShare(), 0.39603, 5e-6, srcA)
	near(t, "A: ρ", r.ToRear, 0.838, 5e-4, "handbook chapter 03, 1.2")
	r, _ = axleload.Loads(b)
	near(t, "B: drive axle", r.Driven.Tonnes(), 8.825197, 5e-7, srcB)
	near(t, "B: drive share", r.DriveShare(), 0.20057, 5e-6, srcB)
}

func TestSensitivities(t *testing.T) {
	const src = "handbook chapter 03, 1.2: P = 25.9 t, L = 7.7 m, Δs = 0.10 m"
	p := vehicleA()
	r1, err := axleload.Loads(p)
	if err != nil {
		t.Fatal(err)
	}
	p.PayloadAt -= 0.10
	r2, err := axleload.Loads(p)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ΔK", (r2.Imposed - r1.Imposed).Tonnes(), 0.336, 5e-4, src)
	near(t, "ΔR", (r2.Rear - r1.Rear).Tonnes(), 0.282, 5e-4, src)
}

// The slider exercises and the fuel question that are published with figures.
func TestPublishedExercises(t *testing.T) {
	for _, tt := range []struct {
		name            string
		excess, perStep float64 // lb
		steps           int
		lightened       float64 // the overloaded axle before, lb
		after           float64
		other, otherTo  float64
		source          string
	}{
		{"P4", 34700 - 34000, 400, 2, 34700, 33900, 32100, 32900, "US axle-weight exercise 1: 2 holes, 33,900 / 32,900"},
		{"P5", 35050 - 34000, 250, 5, 35050, 33800, 31300, 32550, "US axle-weight exercise 2: over by 1,050; the rest is our arithmetic, handbook chapter 03, P5"},
		{"P6", 2200, 300, 8, 36200, 33800, 0, 2400, "trade article \"Tractor axle loading\", 10 Sep 2020: 16 in at 2 in a hole; steer + 2,400 lb"},
	} {
		s, err := axleload.StepsNeeded(unit.Mass(tt.excess)*lb, unit.Mass(tt.perStep)*lb)
		if err != nil {
			t.Fatal(err)
		}
		if s.Count != tt.steps {
			t.Errorf("%s: %d steps, want %d (%s)", tt.name, s.Count, tt.steps, tt.source)
		}
		near(t, tt.name+" relieved axle", tt.lightened-s.Moved.Pounds(), tt.after, 1e-9, tt.source)
		near(t, tt.name+" other axle", tt.other+s.Moved.Pounds(), tt.otherTo, 1e-9, tt.source)
	}
	// P6: one hole less, 14 in, leaves the drives 100 lb over.
	p6, err := axleload.StepsNeeded(2200*lb, 300*lb)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "P6 at 14 in", 2200-float64(p6.Count-1)*300, 100, 1e-9, "trade article \"Tractor axle loading\", 10 Sep 2020")

	limit := unit.Mass(34000) * lb
	a, err := axleload.AddableLoad(axleload.Group{
		{At: 0, Share: 0.70, Tare: 11000 * lb},
		{At: 1, Share: 0.30, Tare: 33750 * lb, Max: &limit},
	})
	if err != nil {
		t.Fatal(err)
	}
	const src = "US driver's test, fuel question: 33,750 lb on drives, limit 34,000, 30 % of the fuel: 833.3 lb, 104.2 gal at 8.0 lb/gal"
	near(t, "P9 fuel, lb", a.Added.Pounds(), 833.3, 0.05, src)
	near(t, "P9 fuel, gal", a.Added.Pounds()/8, 104.2, 0.05, src)
}

func TestLeadTransfer(t *testing.T) {
	for _, tt := range []struct {
		name      string
		imposed   unit.Mass
		wheelbase unit.Length
		move      unit.Length
		scale     unit.Mass
		want, tol float64
		source    string
	}{
		{"A per mm", 10.309 * t_, 3.7, unit.Millimetre, 1, 2.786, 5e-4, "handbook chapter 03, 4.1"},
		{"A per 50 mm", 10.309 * t_, 3.7, 50 * unit.Millimetre, 1, 139, 0.5, "handbook chapter 03, 4.1"},
		{"C per inch", 25955.56 * lb, 235 * in, in, lb, 110.4, 0.05, "handbook chapter 03, 4.1, with K of 8 C"},
		{"C per 2 in", 25956 * lb, 235 * in, 2 * in, lb, 221, 0.5, "handbook chapter 03, 4.1"},
		{"C per 4 in", 25956 * lb, 235 * in, 4 * in, lb, 442, 0.5, "handbook chapter 03, 4.1"},
	} {
		got, err := axleload.LeadTransfer(tt.imposed, tt.wheelbase, tt.move)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.name, float64(got/tt.scale), tt.want, tt.tol, tt.source)
	}
}

func drawPair(t *rapid.T) axleload.Pair {
	mass := func(lo, hi float64, name string) unit.Mass {
		return unit.Mass(rapid.Float64Range(lo, hi).Draw(t, name))
	}
	length := func(lo, hi float64, name string) unit.Length {
		return unit.Length(rapid.Float64Range(lo, hi).Draw(t, name))
	}
	p := axleload.Pair{
		Wheelbase: length(2.5, 7, "wheelbase"), Lead: length(-0.6, 1.5, "lead"),
		TareFront: mass(3e3, 7e3, "tare-front"), TareRear: mass(1.5e3, 6e3, "tare-rear"),
		PinToBogie: length(4, 13, "pin-to-bogie"), TarePin: mass(500, 5e3, "tare-pin"), TareBogie: mass(2e3, 9e3, "tare-bogie"),
		Payload: mass(0, 40e3, "payload"), PayloadAt: length(-1.5, 13, "payload-at"),
	}
	if rapid.Bool().Draw(t, "undriven axle") {
		p.Drive = &axleload.DrivePart{
			Tare:  p.TareRear * unit.Mass(rapid.Float64Range(0.4, 1).Draw(t, "drive tare")),
			Share: rapid.Float64Range(0.4, 1).Draw(t, "drive share"),
		}
	}
	return p
}

func TestLoadsBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPair(t)
		r, err := axleload.Loads(p)
		if err != nil {
			t.Fatal(err)
		}
		const tol = 1e-6 // kg
		gross := p.TareFront + p.TareRear + p.TarePin + p.TareBogie + p.Payload
		for what, d := range map[string]unit.Mass{
			"F + R + B − G":     r.Front + r.Rear + r.Bogie - gross,
			"F + R − (W_T + K)": r.Front + r.Rear - r.Tractor,
			"K + B − W_s":       r.Imposed + r.Bogie - r.Trailer,
			"gross":             r.Gross - gross,
			// The formulas as printed, against the chain.
			"K as printed": r.Imposed - (p.TarePin + p.Payload*unit.Mass(1-p.PayloadAt/p.PinToBogie)),
			"F as printed": r.Front - (p.TareFront + r.Imposed*unit.Mass(p.Lead/p.Wheelbase)),
		} {
			if !(math.Abs(float64(d)) <= tol) {
				t.Errorf("%s = %v kg", what, d)
			}
		}
		// The moment of the whole about the front axle.
		pin := p.Wheelbase - p.Lead
		moment := float64(r.Rear)*float64(p.Wheelbase) + float64(r.Bogie)*float64(pin+p.PinToBogie) -
			float64(p.TareRear)*float64(p.Wheelbase) -
			float64(p.TarePin)*float64(pin) - float64(p.TareBogie)*float64(pin+p.PinToBogie) -
			float64(p.Payload)*float64(pin+p.PayloadAt)
		if !(math.Abs(moment) <= 20*tol) {
			t.Errorf("moment about the front axle %v kg·m", moment)
		}
	})
}

func TestLoadsLinearInLead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPair(t)
		x := unit.Length(rapid.Float64Range(-0.5, 0.5).Draw(t, "move"))
		base, err := axleload.Loads(p)
		if err != nil {
			t.Fatal(err)
		}
		forth, back := p, p
		forth.Lead += x
		back.Lead -= x
		f, err1 := axleload.Loads(forth)
		b, err2 := axleload.Loads(back)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if d := f.Front + b.Front - 2*base.Front; !(math.Abs(float64(d)) <= 1e-6) {
			t.Errorf("front is not linear in the lead: %v kg", d)
		}
		if d := f.Bogie - base.Bogie; !(math.Abs(float64(d)) <= 1e-6) {
			t.Errorf("the lead changes the bogie by %v kg", d)
		}
		step, err := axleload.LeadTransfer(base.Imposed, p.Wheelbase, x)
		if err != nil {
			t.Fatal(err)
		}
		if d := f.Front - base.Front - step; !(math.Abs(float64(d)) <= 1e-6) {
			t.Errorf("the move brings the front %v kg, LeadTransfer says %v", f.Front-base.Front, step)
		}
		// Forth and back again changes nothing.
		forth.Lead -= x
		again, err := axleload.Loads(forth)
		if err != nil {
			t.Fatal(err)
		}
		if d := again.Front - base.Front; !(math.Abs(float64(d)) <= 1e-6) {
			t.Errorf("moving forth and back leaves %v kg", d)
		}
	})
}

func TestLoadsRefuses(t *testing.T) {
	nan := math.NaN()
	for name, spoil := range map[string]func(*axleload.Pair){
		"no wheelbase":          func(p *axleload.Pair) { p.Wheelbase = 0 },
		"wheelbase NaN":         func(p *axleload.Pair) { p.Wheelbase = unit.Length(nan) },
		"lead NaN":              func(p *axleload.Pair) { p.Lead = unit.Length(nan) },
		"lead at front axle":    func(p *axleload.Pair) { p.Lead = p.Wheelbase },
		"negative tare":         func(p *axleload.Pair) { p.TareFront = -1 },
		"tare NaN":              func(p *axleload.Pair) { p.TareRear = unit.Mass(nan) },
		"no pin-to-bogie":       func(p *axleload.Pair) { p.PinToBogie = 0 },
		"pin tare NaN":          func(p *axleload.Pair) { p.TarePin = unit.Mass(nan) },
		"bogie tare NaN":        func(p *axleload.Pair) { p.TareBogie = unit.Mass(nan) },
		"payload negative":      func(p *axleload.Pair) { p.Payload = -1 },
		"payload infinite":      func(p *axleload.Pair) { p.Payload = unit.Mass(math.Inf(1)) },
		"payload at NaN":        func(p *axleload.Pair) { p.PayloadAt = unit.Length(nan) },
		"no tractor":            func(p *axleload.Pair) { p.TareFront, p.TareRear = 0, 0 },
		"no trailer":            func(p *axleload.Pair) { p.TarePin, p.TareBogie = 0, 0 },
		"drive tare above rear": func(p *axleload.Pair) { p.Drive = &axleload.DrivePart{Tare: p.TareRear + 1, Share: 1} },
		"drive share NaN":       func(p *axleload.Pair) { p.Drive = &axleload.DrivePart{Share: nan} },
	} {
		p := vehicleA()
		spoil(&p)
		_, err := axleload.Loads(p)
		wantDomain(t, name, err)
	}
}

func TestLoadsMarksTipping(t *testing.T) {
	p := vehicleA()
	p.PayloadAt = 9.5
	r, err := axleload.Loads(p)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Negative || !(r.Imposed < 0) {
		t.Errorf("25.9 t at 9.5 m on 7.7 m: K = %v, negative %v; want a marked negative load", r.Imposed, r.Negative)
	}
}

func ExampleLoads() {
	r, err := axleload.Loads(axleload.Pair{
		Wheelbase: 3.70, Lead: 0.60, TareFront: 5500, TareRear: 2300,
		PinToBogie: 7.70, TarePin: 1900, TareBogie: 4400,
		Payload: 25900, PayloadAt: 5.20,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("kingpin %.0f kg, steer %.0f kg, drive %.0f kg, trailer axles %.0f kg\n", r.Imposed, r.Front, r.Rear, r.Bogie)
	// Output: kingpin 10309 kg, steer 7172 kg, drive 10937 kg, trailer axles 21891 kg
}

func BenchmarkLoads(b *testing.B) {
	p := vehicleA()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := axleload.Loads(p); err != nil {
			b.Fatal(err)
		}
	}
}
