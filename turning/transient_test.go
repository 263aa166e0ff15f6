package turning_test

import (
	"fmt"
	"math"
	"testing"

	"underpin/turning"
	"underpin/unit"
)

// tight is the tolerance where the handbook prints more digits than the
// integrator claims: 1e-10 degrees or metres.
const tight = 1e-10

func TestTransientR2(t *testing.T) {
	for _, tt := range []struct{ ψ, θ1, γ, r float64 }{
		{30, 13.870247191, 11.016841831, 11.751014284},
		{90, 68.680421008, 35.606198015, 7.9596632135},
		{180, 158.29204308, 49.743723322, 6.0356871027},
		{360, 338.28438559, 55.277600262, 5.2921617683},
	} {
		end := endOf(t, plainTrain(3.7, 0, rod{0, 7.7}), arcOf(10, tt.ψ))
		name := fmt.Sprintf("handbook 04, R2 at %v°: ", tt.ψ)
		near(t, name+"θ1", end.Units[0].Heading.Degrees(), tt.θ1, 5e-9)
		near(t, name+"γ", end.Units[1].Articulation.Degrees(), tt.γ, 5e-10)
		near(t, name+"r(A2)", distance(end.Units[1].Axle, turning.Point{Y: 10}), tt.r, 5e-10)
	}
}

func TestTransientR3(t *testing.T) {
	for _, tt := range []struct{ ψ, θ1, γ, r1, rH, r2 float64 }{
		{30, 15.498094453, 10.854839838, 11.638444759, 11.618292035, 12.743526474},
		{90, 72.176582977, 30.223816743, 11.424084367, 11.43718906, 9.708109779},
		{180, 162.04224544, 37.874411982, 11.415409236, 11.429870924, 8.6612376716},
		{360, 342.04118197, 39.417670755, 11.41534056, 11.429812994, 8.4536780175},
	} {
		end := endOf(t, plainTrain(3.7, 0, rod{0.575, 7.7}), arcOf(12, tt.ψ))
		centre := turning.Point{Y: 12}
		name := fmt.Sprintf("handbook 04, R3 at %v°: ", tt.ψ)
		near(t, name+"θ1", end.Units[0].Heading.Degrees(), tt.θ1, 5e-9)
		near(t, name+"γ", end.Units[1].Articulation.Degrees(), tt.γ, 5e-10)
		near(t, name+"r(A1)", distance(end.Units[0].Axle, centre), tt.r1, 5e-9)
		near(t, name+"r(H)", distance(end.Units[1].Hitch, centre), tt.rH, 5e-9)
		near(t, name+"r(A2)", distance(end.Units[1].Axle, centre), tt.r2, 5e-10)
	}
}

func TestTransientR4(t *testing.T) {
	centre := turning.Point{Y: 12.5}
	for _, tt := range []struct {
		ψ, θ1, γ, x, y, inner float64
		tol                   float64 // of angle and place: half of the last digit, or tight
	}{
		{30, 13.059514944, 9.2783447843, -6.1049529179, 1.3920879851, 11.620881626, 5e-10},
		{90, 66.6951074121616, 30.3593888908712, 3.34591148154684, 4.30919457430320, 7.6176967217, tight},
		{180, 156.065054301837, 42.1102633127162, 6.72208446868131, 14.9722263658951, 5.8906269433, tight},
		{270, 246.04674207, 45.017628423, -2.3206800981, 18.857893118, 5.4934156345, 5e-9},
		{360, 336.046208535866, 45.7505169314309, -6.26564114607439, 10.2141328221505, 5.3946065689, tight},
	} {
		end := endOf(t, trainE(), arcOf(12.5, tt.ψ))
		name := fmt.Sprintf("handbook 04, R4 at %v°: ", tt.ψ)
		trailer := end.Units[1]
		near(t, name+"θ1", end.Units[0].Heading.Degrees(), tt.θ1, tt.tol)
		near(t, name+"γ", trailer.Articulation.Degrees(), tt.γ, tt.tol)
		near(t, name+"A2 x", float64(trailer.Axle.X), tt.x, tt.tol)
		near(t, name+"A2 y", float64(trailer.Axle.Y), tt.y, tt.tol)
		near(t, name+"inner edge at axle line", distance(trailer.Point(0, 1.275), centre), tt.inner, 5.1e-10)
	}
}

func TestTransientR5(t *testing.T) {
	train := plainTrain(3.7, 0, rod{0.4, 6.5}, rod{-0.3, 7.0})
	for _, tt := range []struct{ ψ, γ1, γ2, r2, r3 float64 }{
		{30, 10.495769412, 4.0906917786, 12.392209438, 16.231296416},
		{90, 27.140656481, 24.163292619, 10.04165811, 10.453061199},
		{180, 32.097448605, 42.096947956, 9.458565107, 7.3453061985},
		{360, 32.671646187, 49.431776092, 9.3932533798, 6.3378795465},
	} {
		end := endOf(t, train, arcOf(12, tt.ψ))
		centre := turning.Point{Y: 12}
		name := fmt.Sprintf("handbook 04, R5 at %v°: ", tt.ψ)
		near(t, name+"γ1", end.Units[1].Articulation.Degrees(), tt.γ1, 5e-10)
		near(t, name+"γ2", end.Units[2].Articulation.Degrees(), tt.γ2, 5e-10)
		near(t, name+"r(A2)", distance(end.Units[1].Axle, centre), tt.r2, 5e-9)
		near(t, name+"r(A3)", distance(end.Units[2].Axle, centre), tt.r3, 5e-9)
	}
	// A long transient ends on the closed form.
	end := endOf(t, train, arcOf(12, 5*360))
	steady, err := turning.SteadyChain(12, train)
	if err != nil {
		t.Fatal(err)
	}
	for i, u := range end.Units {
		near(t, fmt.Sprintf("unit %d after five laps against the steady circle", i), distance(u.Axle, turning.Point{Y: 12}), float64(steady.Units[i].Axle), 1e-8)
	}
	near(t, "γ2 after five laps", float64(end.Units[2].Articulation), float64(steady.Units[2].Articulation), 1e-8)
}

func TestLegalCircleR4(t *testing.T) {
	r, err := turning.LegalCircle(legalE)
	if err != nil {
		t.Fatal(err)
	}
	// The stated accuracy is 0.01 mm; the references are printed finer.
	const claim = 1e-5
	for _, tt := range []struct {
		what      string
		got, want float64
		tol       float64
		source    string
	}{
		{"inner edge at axle line", float64(r.InnerAxle), 5.3946065689, claim, "R4 at 360°: least at the end of the lap"},
		{"body side", float64(r.InnerBody), 5.394526546, claim, "R4 at 360°"},
		{"inner", float64(r.Inner), 5.394526546, claim, "R4 at 360°"},
		{"swing-out, trailer rear", float64(r.SwingOutRear), 0.258995684, claim, "R4: swing-out"},
		{"swing-out", float64(r.SwingOut), 0.258995684, claim, "R4: swing-out"},
		{"where", r.SwingOutRearAt.Degrees(), 48.331349, 0.01, "R4: swing-out; the top is level: 0.01° is 0.1 µm of height"},
		{"swing-out, tractor rear", float64(r.SwingOutTractor), 0.006533954, claim, "R4: swing-out"},
		{"swing-out, trailer front", float64(r.SwingOutFront), 0, 0, "R4: none"},
		{"articulation at the end", r.ArticulationEnd.Degrees(), 45.7505169314309, 1e-5, "R4 at 360°"},
		{"largest articulation", r.ArticulationMax.Degrees(), 45.7505169314309, 1e-5, "R4 at 360°"},
		{"outer", float64(r.OuterMax), 12.5, 0, "R4: both trailer corners run inside the guided corner"},
		{"ring", float64(r.Ring), 12.5 - 5.394526546, claim, "R4 at 360°"},
		{"steady inner", float64(r.Steady.Inner), 5.36057990576, 5e-12, "R4 steady"},
		{"steady ring", float64(r.Steady.Ring), 7.13942009424, 5e-12, "R4 steady"},
		{"lap kinder than steady by", float64(r.InnerAxle - r.Steady.Inner), 0.034, 0.0005, "4.1: still 34 mm outside"},
	} {
		near(t, "handbook 04, "+tt.source+": "+tt.what, tt.got, tt.want, tt.tol)
	}
	if !r.HasSteady {
		t.Error("no steady state found")
	}
}

func TestTurnR4(t *testing.T) {
	for _, tt := range []struct {
		angle            float64
		exit             bool
		axle, body, γ    float64 // NaN: not printed
		tolAxle, tolBody float64
		swing            float64
	}{
		{90, false, 7.6176967217, 7.305681891, 30.3593888908712, 5.1e-9, 5e-9, 0.258995684},
		{180, false, 5.8906269433, 5.871847852, 42.1102633127162, 5.1e-9, 5e-9, 0.258995684},
		{270, false, 5.4934156345, math.NaN(), 45.017628423, 5.1e-9, 0, 0.258995684},
		{360, false, 5.3946065689, 5.394526546, 45.7505169314309, 5.1e-9, 5e-9, 0.258995684},
		{90, true, 6.7584778, math.NaN(), 30.3593888908712, 1e-7, 0, 0.258995684},
		{180, true, 5.7708726, math.NaN(), 42.1102633127162, 1e-7, 0, 0.258995684},
	} {
		t.Run(fmt.Sprintf("%v %v", tt.angle, tt.exit), func(t *testing.T) {
			r, err := turning.Turn(turning.TurnInput{SteadyInput: circleE, Angle: unit.Angle(tt.angle * deg), Exit: tt.exit, FrontOverhang: 1.5925, RearEnd: 12})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "handbook 04, R4 and partial turns: inner edge at axle line", float64(r.InnerAxle), tt.axle, tt.tolAxle)
			if !math.IsNaN(tt.body) {
				near(t, "handbook 04, R4: body side", float64(r.InnerBody), tt.body, tt.tolBody)
			}
			near(t, "handbook 04, R4: articulation", r.ArticulationEnd.Degrees(), tt.γ, 1e-8)
			near(t, "handbook 04, R4: swing-out", float64(r.SwingOut), tt.swing, 2e-9)
			near(t, "handbook 04, R4: where", float64(r.SwingOutAt)/12.5/deg, 48.331349, 1e-4)
			if r.ArticulationMax < r.ArticulationEnd {
				t.Errorf("largest articulation %v below that at the end %v", r.ArticulationMax, r.ArticulationEnd)
			}
		})
	}
}

// The minimum of the exit lies below the last value on the arc.
func TestTurnExitCutsInFurther(t *testing.T) {
	in := turning.TurnInput{SteadyInput: circleE, Angle: 2 * math.Pi, FrontOverhang: 1.5925, RearEnd: 12}
	arc, err := turning.Turn(in)
	if err != nil {
		t.Fatal(err)
	}
	in.Exit = true
	exit, err := turning.Turn(in)
	if err != nil {
		t.Fatal(err)
	}
	if !(exit.InnerAxle < arc.InnerAxle) {
		t.Errorf("handbook 04, R4: with exit %v, want below %v", exit.InnerAxle, arc.InnerAxle)
	}
}

// Published inside radii of design vehicles: 180° on the centre-line turning
// radius with exit, front-axle centre led, hitch over the axle. The larger two
// have no steady state, so only the transient can reproduce them.
func TestDesignVehicles(t *testing.T) {
	for _, tt := range []struct {
		name             string
		r, l1, l2, w     float64
		published, tol   float64
		computed, digits float64 // NaN: none given
		articulation     float64
		steady           bool
		source           string
		inMetres         bool
	}{
		{"WB-40", 36, 12.5, 25.5, 8, 19.3, 0.1, 19.320433, 5e-7, 45.5481, true, "TxDOT Roadway Design Manual, Table 4-1; AASHTO 2018 as quoted; tolerance of the handbook", false},
		{"WB-62", 41, 19.5, 41, 8.5, 7.4, 0.1, math.NaN(), 0, math.NaN(), false, "dimensions and 7.4 ft from memory, not read", false},
		{"WB-67", 41, 19.5, 45.5, 8.5, 1.9, 0.1, math.NaN(), 0, math.NaN(), false, "dimensions and 1.9 ft from memory, not read", false},
		{"WB-12 of 2001", 11.0, 3.8, 8.4, 2.4, math.NaN(), 0, 5.4029, 5e-5, math.NaN(), true, "handbook 04, 1.11, recomputed; width 2.4 inferred", true},
		{"WB-15 of 2001", 12.5, 4.5, 10.8, 2.6, math.NaN(), 0, 4.9133, 5e-5, math.NaN(), true, "handbook 04, 1.11, recomputed; width 2.6 inferred", true},
		{"WB-19 of 2001", 12.5, 6.6, 12.3, 2.6, math.NaN(), 0, 2.0459, 5e-5, math.NaN(), false, "handbook 04, 1.11, recomputed; width 2.6 inferred", true},
		{"WB-20 of 2001", 12.5, 6.6, 13.2, 2.6, math.NaN(), 0, 0.9823, 5e-5, math.NaN(), false, "handbook 04, 1.11, recomputed; width 2.6 inferred", true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			scale := unit.Foot
			if tt.inMetres {
				scale = unit.Metre
			}
			of := func(v float64) unit.Length { return unit.Length(v) * scale }
			in := turning.SteadyInput{GuideRadius: of(tt.r), GuideAhead: of(tt.l1), PinToBogie: of(tt.l2), Width: of(tt.w)}
			_, err := turning.Steady(in)
			if tt.steady != (err == nil) {
				t.Errorf("steady state: error %v", err)
			}
			if !tt.steady {
				checkError(t, err, false)
			}
			r, err := turning.Turn(turning.TurnInput{SteadyInput: in, Angle: math.Pi, Exit: true, FrontOverhang: of(3), RearEnd: of(tt.l2 + 4.5)})
			if err != nil {
				t.Fatal(err)
			}
			got := float64(r.InnerAxle / scale)
			if !math.IsNaN(tt.published) {
				near(t, tt.source+", published", got, tt.published, tt.tol)
			}
			if !math.IsNaN(tt.computed) {
				near(t, "recomputed: handbook 04, 1.11", got, tt.computed, tt.digits)
			}
			if !math.IsNaN(tt.articulation) {
				near(t, "handbook 04, 1.11: max γ", r.ArticulationMax.Degrees(), tt.articulation, 5e-5)
			}
		})
	}
}

func TestSweptWidthR7(t *testing.T) {
	for _, tt := range []struct{ e, l2, want float64 }{
		{0.575, 7.70, 5.8134}, {0.30, 7.70, 5.8211}, {0, 7.70, 5.8240}, {-0.50, 7.70, 5.8165}, {0.575, 7.8486, 5.8862},
	} {
		train := trainE()
		train.GuideAhead = 3.70
		train.Towed[0].Lead, train.Towed[0].PinToBogie = unit.Length(tt.e), unit.Length(tt.l2)
		r, err := turning.SweptWidth(turning.SweptInput{Train: train, Radius: 12.5, Angle: math.Pi / 2})
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("handbook 04, R7, e = %v, L2 = %v: ", tt.e, tt.l2)
		near(t, name+"width", float64(r.Width), tt.want, 2e-4)
		if tt.e == 0.575 && tt.l2 == 7.70 {
			near(t, name+"outer", float64(r.Outer), 12.9588, 3e-4)
			near(t, name+"inner", float64(r.Inner), 7.1454, 3e-4)
			near(t, name+"azimuth", r.Azimuth.Degrees(), 62.8, 0.3) // printed as approximate: the top is level
		}
		near(t, name+"width is outer less inner", float64(r.Outer-r.Inner), float64(r.Width), 1e-12)
	}
	_, err := turning.SweptWidth(turning.SweptInput{Train: trainE(), Radius: 12.5, Angle: 4})
	checkError(t, err, true)
	_, err = turning.SweptWidth(turning.SweptInput{Train: trainE(), Radius: unit.Length(math.NaN()), Angle: 1})
	checkError(t, err, true)
}

// The swept width once more, from poses alone: on rays from the centre, every
// tenth of a degree about the widest place and every two millimetres.
func TestSweptWidthFromPoses(t *testing.T) {
	for _, turn := range []float64{90, 180} {
		train := trainE()
		train.GuideAhead = 3.70
		poses, err := turning.Trace(turning.TraceInput{FollowInput: turning.FollowInput{Train: train, Course: []turning.Segment{arcOf(12.5, turn), {Length: 40}}}, Spacing: 0.002})
		if err != nil {
			t.Fatal(err)
		}
		r, err := turning.SweptWidth(turning.SweptInput{Train: train, Radius: 12.5, Angle: unit.Angle(turn * deg)})
		if err != nil {
			t.Fatal(err)
		}
		widest := 0.
		for azimuth := r.Azimuth.Degrees() - 1; azimuth <= r.Azimuth.Degrees()+1; azimuth += 0.1 {
			// The ray from the centre (0, 12.5) through the path at this azimuth.
			dx, dy := math.Sin(azimuth*deg), -math.Cos(azimuth*deg)
			outer, inner := 0., math.Inf(1)
			for _, p := range poses {
				for i, u := range p.Units {
					front, rear := unit.Length(5.075), unit.Length(-0.9)
					if i == 1 {
						front, rear = 7.70+1.5925, 7.70-12
					}
					c := [4]turning.Point{u.Point(front, 1.275), u.Point(front, -1.275), u.Point(rear, -1.275), u.Point(rear, 1.275)}
					for k, a := range c {
						b := c[(k+1)%4]
						ax, ay := float64(a.X), float64(a.Y)-12.5
						bx, by := float64(b.X-a.X), float64(b.Y-a.Y)
						det := bx*dy - by*dx
						along := (ay*dx - ax*dy) / det
						if r := (bx*ay - by*ax) / det; 0 <= along && along <= 1 && r > 0 {
							outer, inner = math.Max(outer, r), math.Min(inner, r)
						}
					}
				}
			}
			widest = math.Max(widest, outer-inner)
		}
		near(t, fmt.Sprintf("widest from poses, %v°", turn), widest, float64(r.Width), 2e-4)
	}
}

// After a short turn the tail swings out furthest on the exit straight.
func TestSwingOutOnExit(t *testing.T) {
	in := turning.TurnInput{SteadyInput: circleE, Angle: 30 * deg, FrontOverhang: 1.5925, RearEnd: 12}
	arc, err := turning.Turn(in)
	if err != nil {
		t.Fatal(err)
	}
	in.Exit = true
	exit, err := turning.Turn(in)
	if err != nil {
		t.Fatal(err)
	}
	poses, err := turning.Trace(turning.TraceInput{FollowInput: turning.FollowInput{Train: trainE(), Course: []turning.Segment{arcOf(12.5, 30), {Length: 30}}}, Spacing: 0.01})
	if err != nil {
		t.Fatal(err)
	}
	onArc, all := 0., 0.
	for _, p := range poses {
		out := -float64(p.Units[1].Point(7.70-12, -1.275).Y)
		all = math.Max(all, out)
		if p.Along <= arcLength(30) {
			onArc = math.Max(onArc, out)
		}
	}
	near(t, "swing-out on the arc from poses", float64(arc.SwingOut), onArc, 1e-6)
	near(t, "swing-out with exit from poses", float64(exit.SwingOut), all, 1e-6)
	if !(exit.SwingOut > arc.SwingOut+0.01 && float64(exit.SwingOutAt) > 12.5*30*deg) {
		t.Errorf("swing-out %v at %v on the exit, %v on the arc", exit.SwingOut, exit.SwingOutAt, arc.SwingOut)
	}
}
