package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/axleload"
	"underpin/unit"
)

// stopA is vehicle A with the heights of handbook chapter 03, 6.1: trailer
// tare 1.2 m, load 2.1 m.
func stopA(z float64, brakes axleload.Brakes) axleload.Stop {
	return axleload.Stop{
		Pair: vehicleA(), Road: axleload.Road{Deceleration: z}, Brakes: brakes,
		CouplingHeight: 1.15, TractorHeight: 1.0, TrailerHeight: (6.3*1.2 + 25.9*2.1) / 32.2,
	}
}

func TestBrakingTransfer(t *testing.T) {
	const src = "handbook chapter 03, 6.1, table"
	for _, tt := range []struct {
		z             float64
		brakes        axleload.Brakes
		k, x, f, r, b float64
	}{
		{0, axleload.Balanced, 10.309, 0, 7.172, 10.937, 21.891},
		{0, axleload.OwnMass, 10.309, 0, 7.172, 10.937, 21.891},
		{0, axleload.Unbraked, 10.309, 0, 7.172, 10.937, 21.891},
		{0.3, axleload.Balanced, 12.177, 35.84, 9.243, 10.735, 20.023},
		{0.5, axleload.Balanced, 13.336, 65.41, 10.789, 10.347, 18.864},
		{0.5, axleload.OwnMass, 14.332, 0, 8.878, 13.254, 17.868},
		{0.5, axleload.Unbraked, 11.927, 157.94, 13.492, 6.235, 20.273},
		{0.6, axleload.Balanced, 13.892, 81.77, 11.608, 10.083, 18.308},
		{0.6, axleload.Unbraked, 12.251, 189.53, 14.756, 5.295, 19.949},
	} {
		name := fmt.Sprintf("z %.1f %c ", tt.z, tt.brakes)
		got, err := axleload.BrakingTransfer(stopA(tt.z, tt.brakes))
		if err != nil {
			t.Fatal(err)
		}
		near(t, name+"K", got.Imposed.Tonnes(), tt.k, 5e-4, src)
		near(t, name+"X", got.Thrust.Kilonewtons(), tt.x, 5e-3, src)
		near(t, name+"F", got.Front.Tonnes(), tt.f, 5e-4, src)
		near(t, name+"R", got.Rear.Tonnes(), tt.r, 5e-4, src)
		near(t, name+"B", got.Bogie.Tonnes(), tt.b, 5e-4, src)
	}
}

// The whole pair about the front axle's foot, for z = 0.5 balanced.
func TestBrakingMoment(t *testing.T) {
	in := stopA(0.5, axleload.Balanced)
	got, err := axleload.BrakingTransfer(in)
	if err != nil {
		t.Fatal(err)
	}
	const src = "handbook chapter 03, 6.1: global moment 242.015 = 242.015"
	pin := 3.70 - 0.60
	loads := got.Rear.Tonnes()*3.70 + got.Bogie.Tonnes()*(pin+7.70)
	masses := 2.3*3.70 + 32.2*(pin+5.234783) - 0.5*(7.8*1.0+32.2*1.923913)
	near(t, "moment of the axle loads", loads, 242.015, 5e-4, src)
	near(t, "moment of masses and inertia", masses, 242.015, 5e-4, src)
}

func TestUphillPull(t *testing.T) {
	const src = "handbook chapter 03, 6.2, 10 %"
	s := stopA(0, axleload.Unbraked)
	got, err := axleload.UphillPull(axleload.Climb{
		Pair: s.Pair, Grade: 0.10, CouplingHeight: s.CouplingHeight, TrailerHeight: s.TrailerHeight, TractorHeight: s.TractorHeight,
	})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "K", got.Imposed.Tonnes(), 9.936, 5e-4, src)
	near(t, "F", got.Front.Tonnes(), 5.878, 5e-4, src)
	near(t, "R", got.Rear.Tonnes(), 11.819, 5e-4, src)
	near(t, "X", got.Pull.Kilonewtons(), 31.43, 5e-3, src)
	near(t, "μ", got.Friction, 0.337, 5e-4, src)
	_, err = axleload.UphillPull(axleload.Climb{Pair: s.Pair, Grade: -0.1})
	wantDomain(t, "downhill", err)
}

// On the mid-lift tractor only the drive axle pulls.
func TestUphillPullUsesTheDrivenAxleOnly(t *testing.T) {
	p, _ := vehicleB(t)
	climb := axleload.Climb{Pair: p, Grade: 0.08, CouplingHeight: 1.15, TrailerHeight: 1.9, TractorHeight: 1.0}
	part, err := axleload.UphillPull(climb)
	if err != nil {
		t.Fatal(err)
	}
	if !(part.Driven < part.Rear) {
		t.Errorf("driven %v, rear %v", part.Driven, part.Rear)
	}
	climb.Drive = nil
	whole, err := axleload.UphillPull(climb)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "μ·driven", part.Friction*float64(part.Driven), whole.Friction*float64(whole.Rear), 1e-6, "algebra: the same force at the wheels")
}

func drawBraked(t *rapid.T) []axleload.BrakedUnit {
	units := drawUnits(t)
	out := make([]axleload.BrakedUnit, len(units))
	for i, u := range units {
		out[i] = axleload.BrakedUnit{
			Unit:           u,
			CentreHeight:   unit.Length(rapid.Float64Range(0, 2.5).Draw(t, "h")),
			CouplingHeight: unit.Length(rapid.Float64Range(0.3, 1.4).Draw(t, "h_c")),
			Brakes:         rapid.SampledFrom([]axleload.Brakes{axleload.Balanced, axleload.OwnMass, axleload.Unbraked}).Draw(t, "brakes"),
		}
		if i > 0 {
			out[i].FrontHeight = out[i-1].CouplingHeight
		}
	}
	return out
}

// Forces square to the road, and the moment of the whole about the front axle's
// foot, vanish on every slope and in every case; the brake forces act at the
// road and have no moment about it.
func TestBrakingChainBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		units := drawBraked(t)
		road := axleload.Road{
			Deceleration: rapid.Float64Range(0, 1).Draw(t, "z"),
			Slope:        rapid.Float64Range(-0.2, 0.2).Draw(t, "slope"),
		}
		out := make([]axleload.BrakedSupport, len(units))
		if _, err := axleload.BrakingChain(units, road, out); err != nil {
			t.Fatal(err)
		}
		theta := math.Atan(road.Slope)
		zeta := road.Deceleration + math.Sin(theta)
		up, moment, size := float64(out[0].Front), 0.0, 1.0
		origin := 0.0
		for i, u := range units {
			W, B := float64(u.Mass), float64(out[i].Rear)
			up += B - W*math.Cos(theta)
			moment += B*(origin+float64(u.Rear)) - W*math.Cos(theta)*(origin+float64(u.Centre)) + zeta*W*float64(u.CentreHeight)
			size += math.Abs(B) + W
			origin += float64(u.Coupling)
		}
		if !(math.Abs(up) <= 1e-9*size) {
			t.Errorf("forces square to the road: %v kg", up)
		}
		if !(math.Abs(moment) <= 1e-7*size) {
			t.Errorf("moment about the front axle's foot: %v kg·m", moment)
		}
		// Each unit in the direction of the road: its brakes do what its case says.
		for i := 1; i < len(units); i++ {
			next := 0.0
			if i+1 < len(units) {
				next = float64(out[i+1].Thrust)
			}
			brake := zeta*float64(units[i].Mass)*9.81 + next - float64(out[i].Thrust)
			want := 0.0
			switch units[i].Brakes {
			case axleload.Balanced:
				want = zeta / math.Cos(theta) * float64(out[i].Rear) * 9.81
			case axleload.OwnMass:
				want = zeta * float64(units[i].Mass) * 9.81
			}
			if !(math.Abs(brake-want) <= 1e-8*size*10) {
				t.Errorf("unit %d brakes with %v N, want %v", i, brake, want)
			}
		}
	})
}

func TestBrakingChainAtRestIsChain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		braked := drawBraked(t)
		units := make([]axleload.Unit, len(braked))
		for i := range braked {
			units[i] = braked[i].Unit
		}
		rest, stop := make([]axleload.Support, len(units)), make([]axleload.BrakedSupport, len(units))
		if _, err := axleload.Chain(units, rest); err != nil {
			t.Fatal(err)
		}
		if _, err := axleload.BrakingChain(braked, axleload.Road{}, stop); err != nil {
			t.Fatal(err)
		}
		for i := range rest {
			if d := float64(rest[i].Front - stop[i].Front); !(math.Abs(d) <= 1e-6*(1+math.Abs(float64(rest[i].Front)))) || stop[i].Thrust != 0 {
				t.Errorf("unit %d: %+v at rest, %+v with z = 0", i, rest[i], stop[i])
			}
		}
	})
}

func TestBrakingRefuses(t *testing.T) {
	for name, s := range map[string]axleload.Stop{
		"z NaN":       stopA(math.NaN(), axleload.Balanced),
		"z 5 m/s²":    stopA(5, axleload.Balanced),
		"no case":     stopA(0.5, 0),
		"case d":      stopA(0.5, 'd'),
		"slope":       {Pair: vehicleA(), Road: axleload.Road{Slope: math.NaN()}, Brakes: axleload.Balanced},
		"height NaN":  {Pair: vehicleA(), Brakes: axleload.Balanced, CouplingHeight: unit.Length(math.NaN())},
		"height < 0":  {Pair: vehicleA(), Brakes: axleload.Balanced, TrailerHeight: -1},
		"no vehicles": {Brakes: axleload.Balanced},
	} {
		_, err := axleload.BrakingTransfer(s)
		wantDomain(t, name, err)
	}
}

func ExampleBrakingTransfer() {
	got, err := axleload.BrakingTransfer(axleload.Stop{
		Pair: axleload.Pair{
			Wheelbase: 3.70, Lead: 0.60, TareFront: 5500, TareRear: 2300,
			PinToBogie: 7.70, TarePin: 1900, TareBogie: 4400, Payload: 25900, PayloadAt: 5.20,
		},
		Road: axleload.Road{Deceleration: 0.5}, Brakes: axleload.Balanced,
		CouplingHeight: 1.15, TrailerHeight: 1.924, TractorHeight: 1.0,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("kingpin %.1f t, thrust %.0f kN\n", got.Imposed.Tonnes(), got.Thrust.Kilonewtons())
	// Output: kingpin 13.3 t, thrust 65 kN
}
