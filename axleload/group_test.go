package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"underpin/axleload"
	"underpin/unit"
)

func group(pairs ...float64) axleload.Group { // at, share, at, share …
	var g axleload.Group
	for i := 0; i < len(pairs); i += 2 {
		g = append(g, axleload.Axle{At: unit.Length(pairs[i]), Share: pairs[i+1]})
	}
	return g
}

func TestReactionLine(t *testing.T) {
	const src = "handbook chapter 03, 1.3"
	for _, tt := range []struct {
		name      string
		g         axleload.Group
		want, tol float64
		source    string
	}{
		{"drive and tag, 11.5 and 7.5 t", group(3.6, 11.5/19, 3.6+1.35, 7.5/19), 4.13289, 5e-6, src},
		{"equal tandem", group(3.6, 0.5, 4.95, 0.5), 4.275, 5e-7, src},
		{"tridem", group(6.39, 1.0/3, 7.70, 1.0/3, 9.01, 1.0/3), 7.70, 1e-12, src + ": middle axle"},
		{"beam arms 0.5 to front, 0.8 to rear", group(0, 0.8/1.3, 1.3, 0.5/1.3), 0.5, 1e-12, src + ": the beam trunnion"},
		{"pusher, vehicle B", group(2.75, 7.5/19, 4.10, 11.5/19), 3.567105, 5e-7, "handbook chapter 03, 8 B"},
		{"single axle", group(5, 1), 5, 0, src},
	} {
		got, err := axleload.ReactionLine(tt.g)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.name, float64(got), tt.want, tt.tol, tt.source)
	}
	for _, g := range []axleload.Group{nil, group(1, 0.5, 2, 0.4), group(1, 1.5, 2, -0.5), group(math.NaN(), 1), group(1, math.NaN())} {
		_, err := axleload.ReactionLine(g)
		wantDomain(t, fmt.Sprint(g), err)
	}
}

func TestGroupLoads(t *testing.T) {
	p, g := vehicleB(t)
	r, err := axleload.Loads(p)
	if err != nil {
		t.Fatal(err)
	}
	const src = "handbook chapter 03, 8 B"
	near(t, "lead to line", float64(p.Lead), 0.067105, 5e-7, src)
	var out [2]unit.Mass
	if err := axleload.GroupLoads(g, r.Rear-p.TareRear, out[:]); err != nil {
		t.Fatal(err)
	}
	near(t, "pusher", out[0].Tonnes(), 5.520781, 5e-7, src)
	near(t, "drive", out[1].Tonnes(), 8.825197, 5e-7, src)
	near(t, "sum", (out[0] + out[1] + r.Front + r.Bogie).Tonnes(), 44.000, 1e-9, src)
	wantDomain(t, "NaN added", axleload.GroupLoads(g, unit.Mass(math.NaN()), out[:]))
	wantDomain(t, "no place", axleload.GroupLoads(g, 1, out[:1]))
}

// The line's limit by its first axle: where Loads puts the drive axle of
// vehicle B exactly on 11.5 t, whatever the pusher could take.
func TestAddableLoad(t *testing.T) {
	p, g := vehicleB(t)
	pusher, drive := 7.1*t_, 11.5*t_
	g[0].Max, g[1].Max = &pusher, &drive
	a, err := axleload.AddableLoad(g)
	if err != nil {
		t.Fatal(err)
	}
	const src = "hand: pusher (7.1 − 1.2)·19/7.5 = 14.94667 t, drive (11.5 − 2.2)·19/11.5 = 15.36522 t"
	near(t, "addable", a.Added.Tonnes(), 14.94667, 5e-6, src)
	if a.Axle != 0 {
		t.Errorf("axle %d reaches its limit first, want the pusher, 0 (%s)", a.Axle, src)
	}
	limit := p.TareRear + a.Added
	p.PayloadAt = 0
	q, err := axleload.PayloadLimit(p, axleload.Limits{MaxRear: &limit})
	if err != nil {
		t.Fatal(err)
	}
	p.Payload = q.Payload
	r, err := axleload.Loads(p)
	if err != nil {
		t.Fatal(err)
	}
	var out [2]unit.Mass
	if err := axleload.GroupLoads(g, r.Rear-p.TareRear, out[:]); err != nil {
		t.Fatal(err)
	}
	near(t, "pusher at its limit", out[0].Tonnes(), 7.1, 1e-9, "algebra")

	over := 1.0 * t_
	g[0].Max = &over
	_, err = axleload.AddableLoad(g)
	wantNoAnswer(t, "over at tare", err)
	g[0].Max, g[1].Max = nil, nil
	if a, err = axleload.AddableLoad(g); err != nil || !math.IsInf(float64(a.Added), 1) || a.Axle != -1 {
		t.Errorf("no limits: %+v, %v; want +Inf and no axle", a, err)
	}
}

func TestLiftState(t *testing.T) {
	const src = "handbook chapter 03, 1.4"
	const b = 1.31
	trailer := axleload.Group{{At: 7.70, Tare: 4.4 * t_}}
	for _, tt := range []struct {
		state                            string
		down                             axleload.Group
		line, emptyK, emptyB, eightK, e8 float64
	}{
		{"all down", group(7.7-b, 1.0/3, 7.7, 1.0/3, 7.7+b, 1.0/3), 7.700, 1.900, 4.400, 4.4974, 9.8026},
		{"front lifted", group(7.7, 0.5, 7.7+b, 0.5), 8.355, 2.2449, 4.0551, 5.2659, 9.0341},
		{"rear lifted", group(7.7-b, 0.5, 7.7, 0.5), 7.045, 1.4909, 4.8091, 3.5860, 10.7140},
	} {
		line, err := axleload.ReactionLine(tt.down)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.state+" L′", float64(line), tt.line, 5e-4, src)
		s, err := axleload.LiftState(1.9*t_, trailer, line)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.state+" x_e", float64(s.Centre), 5.377778, 5e-7, "handbook chapter 03, 8 A")
		near(t, tt.state+" K empty", s.Front.Tonnes(), tt.emptyK, 5e-5, src)
		near(t, tt.state+" B empty", s.Rear.Tonnes(), tt.emptyB, 5e-5, src)
		p := vehicleA()
		p.PinToBogie, p.TarePin, p.TareBogie, p.Payload = line, s.Front, s.Rear, 8*t_
		r, err := axleload.Loads(p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.state+" K, 8 t", r.Imposed.Tonnes(), tt.eightK, 5e-5, src)
		near(t, tt.state+" B, 8 t", r.Bogie.Tonnes(), tt.e8, 5e-5, src)
	}
}

// The mid-lift tractor with its lift axle raised.
func TestLiftStateTractor(t *testing.T) {
	const src = "handbook chapter 03, 8 B, lift raised"
	p, g := vehicleB(t)
	s, err := axleload.LiftState(5.6*t_, g, 4.10)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "centre", float64(s.Centre), 1.368889, 5e-7, src)
	near(t, "tare front", s.Front.Tonnes(), 5.995122, 5e-7, src)
	near(t, "tare drive", s.Rear.Tonnes(), 3.004878, 5e-7, src)
	p.Wheelbase, p.Lead, p.TareFront, p.TareRear, p.Drive = 4.10, 0.60, s.Front, s.Rear, nil
	for _, row := range [][3]float64{{0, 6.287805, 4.712195}, {5, 6.525372, 6.098004}, {10, 6.762939, 7.483814}, {15, 7.000507, 8.869623}} {
		p.Payload = unit.Mass(row[0]) * t_
		r, err := axleload.Loads(p)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint(row[0], " t: F"), r.Front.Tonnes(), row[1], 5e-7, src)
		near(t, fmt.Sprint(row[0], " t: R"), r.Rear.Tonnes(), row[2], 5e-7, src)
	}
	// The first limit is the steer plate, long before the drive axle.
	front, rear := 7.1*t_, 11.5*t_
	k, err := axleload.ImposedLimit(p, axleload.Limits{MaxRear: &rear})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "K at drive 11.5", k.Imposed.Tonnes(), 9.951429, 5e-7, src)
	near(t, "F then", s.Front.Tonnes()+k.Imposed.Tonnes()*0.60/4.10, 7.451429, 5e-7, src)
	k, err = axleload.ImposedLimit(p, axleload.Limits{MaxFront: &front, MaxRear: &rear})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "K at steer 7.1", k.Imposed.Tonnes(), 7.55000, 5e-6, src)
	if k.GovernedBy != axleload.MaxFront {
		t.Errorf("governed by %s, want %s (%s)", k.GovernedBy, axleload.MaxFront, src)
	}
}

func TestLiftStateFlagsTipping(t *testing.T) {
	s, err := axleload.LiftState(0.1*t_, axleload.Group{{At: 7.7, Tare: 6 * t_}}, 6.4)
	if err != nil {
		t.Fatal(err)
	}
	if !s.Negative {
		t.Errorf("centre %.2f m behind the line at 6.4 m is not flagged", float64(s.Centre))
	}
	_, err = axleload.LiftState(1, nil, 0)
	wantDomain(t, "no line", err)
	_, err = axleload.LiftState(unit.Mass(math.NaN()), nil, 1)
	wantDomain(t, "NaN", err)
	_, err = axleload.LiftState(0, nil, 1)
	wantDomain(t, "no mass", err)
}

func TestElasticSupports(t *testing.T) {
	const src = "handbook chapter 03, 1.3 note 3"
	for _, tt := range []struct {
		k3   float64
		want [3]float64
		tol  float64
	}{
		{1000, [3]float64{28.1124, 41.3655, 30.5221}, 5e-5},
		{600, [3]float64{26.1603, 48.5232, 25.3165}, 5e-5},
	} {
		var out [3]unit.Mass
		st, err := axleload.ElasticSupports([]axleload.Spring{{0, 400}, {3.60, 1000}, {4.95, tt.k3}}, 100, 3.0, out[:])
		if err != nil {
			t.Fatal(err)
		}
		for i := range out {
			near(t, fmt.Sprintf("k_3 = %v, load %d", tt.k3, i+1), float64(out[i]), tt.want[i], tt.tol, src)
		}
		if st.Lifts {
			t.Error("a lifted axle is reported")
		}
	}
	var out [2]unit.Mass
	if st, err := axleload.ElasticSupports([]axleload.Spring{{0, 1}, {2, 1}}, 10, 3, out[:]); err != nil || !st.Lifts {
		t.Errorf("centre behind both springs: lifts %v, %v; want a lift", st.Lifts, err)
	}
	_, err := axleload.ElasticSupports([]axleload.Spring{{1, 5}, {1, 9}}, 10, 1, out[:])
	wantDomain(t, "one place", err)
	_, err = axleload.ElasticSupports([]axleload.Spring{{1, 5}, {2, math.NaN()}}, 10, 1, out[:])
	wantDomain(t, "stiffness NaN", err)
}

func TestHeightTransfer(t *testing.T) {
	f, err := axleload.HeightTransfer(axleload.Pitched{Stiffness: 2e6, FromCentre: 1.31, Height: 0.050, PinToBogie: 7.7})
	if err != nil {
		t.Fatal(err)
	}
	const src = "handbook chapter 03, 1.3 note 4: 17.0 kN = 1.73 t"
	near(t, "Δw, kN", f.Kilonewtons(), 17.0, 0.05, src)
	near(t, "Δw, t", f.Kilonewtons()/9.81, 1.73, 0.005, src)
	_, err = axleload.HeightTransfer(axleload.Pitched{Stiffness: 2e6, FromCentre: 1.31, Height: 2, PinToBogie: 7.7})
	wantDomain(t, "large tilt", err)
}

func TestSideShare(t *testing.T) {
	for _, tt := range []struct{ y, t, want float64 }{{0, 2.04, 0.5}, {1.02, 2.04, 1}, {0.0306, 2.04, 0.515}} {
		got, err := axleload.SideShare(unit.Length(tt.y), unit.Length(tt.t))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "side share", got, tt.want, 1e-12, "algebra: ½ + y/t, handbook chapter 03, 1.3 note 5")
	}
	_, err := axleload.SideShare(1.1, 2.04)
	wantDomain(t, "beyond the wheel", err)
}

func ExampleLiftState() {
	// A three-axle trailer, weighed all down, with its first axle lifted: the
	// line moves back half an axle spacing.
	s, err := axleload.LiftState(1900, axleload.Group{{At: 7.70, Tare: 4400}}, 7.70+1.31/2)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("kingpin %.0f kg, axles %.0f kg\n", s.Front, s.Rear)
	// Output: kingpin 2245 kg, axles 4055 kg
}
