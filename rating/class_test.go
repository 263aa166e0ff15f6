package rating_test

import (
	"fmt"
	"math"
	"testing"

	"underpin/rating"
	"underpin/unit"
)

// byID returns the finding of a rule.
func byID(fs rating.Findings, id string) (rating.Finding, bool) {
	for _, f := range fs {
		if f.Rule.ID == id {
			return f, true
		}
	}
	return rating.Finding{}, false
}

func expect(t *testing.T, fs rating.Findings, id string, answer rating.Answer, binding bool, source string) {
	t.Helper()
	f, ok := byID(fs, id)
	if !ok {
		t.Errorf("no finding %s (%s)", id, source)
		return
	}
	if f.Answer != answer || f.Binding() != binding {
		t.Errorf("%s: %s, binding %v; want %s, %v (%s)", id, f.Answer, f.Binding(), answer, binding, source)
	}
	if f.Rule.Says == "" || f.Rule.Source == "" {
		t.Errorf("%s says nothing or names no source", id)
	}
}

func TestCheckSizes(t *testing.T) {
	const src = "handbook chapter 01, 7, 5: 50 to 50, 90 to 90; no adaptors; 50 mm up to 80 t is practice"
	for _, tt := range []struct {
		name            string
		in              rating.Fit
		size, ceiling   rating.Answer
		hasCeiling      bool
		all             rating.Answer
		adaptorFindings bool
	}{
		{"50 in 50", rating.Fit{Pin: 50, Jaw: 50, Combination: new(44 * t_)}, rating.Fits, rating.Fits, true, rating.Fits, false},
		{"90 in 90", rating.Fit{Pin: 90, Jaw: 90}, rating.Fits, "", false, rating.Fits, false},
		{"50 in 90", rating.Fit{Pin: 50, Jaw: 90, Combination: new(44 * t_)}, rating.DoesNotFit, rating.Fits, true, rating.DoesNotFit, false},
		{"90 in 50", rating.Fit{Pin: 90, Jaw: 50, Combination: new(44 * t_)}, rating.DoesNotFit, rating.Fits, true, rating.DoesNotFit, false},
		{"adaptor", rating.Fit{Pin: 50, Jaw: 90, Adaptor: true, Combination: new(44 * t_)}, rating.DoesNotFit, rating.Fits, true, rating.DoesNotFit, true},
		{"pin unknown", rating.Fit{Jaw: 50, Combination: new(44 * t_)}, rating.CannotTell, rating.Fits, true, rating.CannotTell, false},
		{"50 at 80 t", rating.Fit{Pin: 50, Jaw: 50, Combination: new(80 * t_)}, rating.Fits, rating.Fits, true, rating.Fits, false},
		{"50 above 80 t warns only", rating.Fit{Pin: 50, Jaw: 50, Combination: new(81 * t_)}, rating.Fits, rating.DoesNotFit, true, rating.Fits, false},
		{"50, mass unknown", rating.Fit{Pin: 50, Jaw: 50}, rating.Fits, rating.CannotTell, true, rating.Fits, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			fs, err := rating.CheckSizes(tt.in, nil)
			if err != nil {
				t.Fatal(err)
			}
			expect(t, fs, "pin-jaw-size", tt.size, true, src)
			if tt.hasCeiling {
				expect(t, fs, "pin-50-ceiling", tt.ceiling, false, src)
			} else if _, ok := byID(fs, "pin-50-ceiling"); ok {
				t.Error("the ceiling of the 50 pin is applied to another")
			}
			if tt.adaptorFindings {
				expect(t, fs, "no-adaptor", rating.DoesNotFit, true, src)
			}
			if fs.Answer() != tt.all {
				t.Errorf("answer %s, want %s", fs.Answer(), tt.all)
			}
		})
	}
	_, err := rating.CheckSizes(rating.Fit{Pin: 51, Jaw: 50}, nil)
	wantDomain(t, "size 51", err)
	_, err = rating.CheckSizes(rating.Fit{Pin: 50, Jaw: 50, Combination: new(unit.Mass(math.NaN()))}, nil)
	wantDomain(t, "NaN", err)
}

func TestCheckClasses(t *testing.T) {
	const src = "handbook chapter 01, 2, 4.2, 4.3 and 7"
	full := rating.Connected{
		FifthWheel: "G50-3", Kingpin: "H50-X",
		FifthWheelD: new(150 * kN), FifthWheelU: new(20 * t_), PlateD: new(150 * kN), PlateU: new(20 * t_),
		DirectMount: new(false), TwoAxis: new(false),
	}
	fs, err := rating.CheckClasses(full, nil)
	if err != nil {
		t.Fatal(err)
	}
	expect(t, fs, "class-pair", rating.Fits, false, src)
	expect(t, fs, "g50-standard", rating.Fits, false, "handbook chapter 01, 2.2: 150 kN, 20 t")
	expect(t, fs, "plate-rating", rating.Fits, false, src)
	if fs.Answer() != rating.CannotTell {
		t.Errorf("rules from memory certify: %s", fs.Answer())
	}

	odd := full
	odd.FifthWheel, odd.Kingpin, odd.PlateD = "G50-X", "D50", new(130*kN)
	odd.TwoAxis, odd.LockableTop, odd.StableTrailer = new(true), new(false), new(false)
	fs, err = rating.CheckClasses(odd, nil)
	if err != nil {
		t.Fatal(err)
	}
	expect(t, fs, "class-pair", rating.DoesNotFit, false, src)
	expect(t, fs, "plate-rating", rating.DoesNotFit, false, src)
	expect(t, fs, "two-axis-lock", rating.DoesNotFit, false, src)
	expect(t, fs, "two-axis-stable", rating.DoesNotFit, true, "NSW Road Transport (Vehicle Registration) Regulation 2017, clause 145(3)")
	if _, ok := byID(fs, "g50-standard"); ok {
		t.Error("a G50-X is held to the standard rating")
	}
	if fs.Answer() != rating.DoesNotFit {
		t.Errorf("answer %s", fs.Answer())
	}

	weak := full
	weak.FifthWheelD = new(130 * kN)
	fs, _ = rating.CheckClasses(weak, nil)
	expect(t, fs, "g50-standard", rating.DoesNotFit, false, src)

	direct := full
	direct.DirectMount = new(true)
	fs, _ = rating.CheckClasses(direct, nil)
	expect(t, fs, "direct-mount", rating.CannotTell, false, src)

	fs, err = rating.CheckClasses(rating.Connected{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range fs {
		if f.Answer != rating.CannotTell {
			t.Errorf("nothing known, and yet %s: %s", f.Rule.ID, f.Answer)
		}
	}
	fs, _ = rating.CheckClasses(rating.Connected{FifthWheel: "S", Kingpin: "S"}, nil)
	expect(t, fs, "class-pair", rating.CannotTell, false, src+": class S says nothing of the size")
	_, err = rating.CheckClasses(rating.Connected{PlateU: new(unit.Mass(-1))}, nil)
	wantDomain(t, "negative U", err)
}

func TestCheckWedge(t *testing.T) {
	const src = "handbook chapter 01, 3.4"
	for _, tt := range []struct {
		name                        string
		in                          rating.Steered
		approved, angle, down, sums rating.Answer
	}{
		{"all well", rating.Steered{new(true), new(40 * unit.Degree), new(true)}, rating.Fits, rating.Fits, rating.Fits, rating.Fits},
		{"not approved", rating.Steered{new(false), new(40 * unit.Degree), new(true)}, rating.DoesNotFit, rating.Fits, rating.Fits, rating.DoesNotFit},
		{"approval unknown", rating.Steered{nil, new(40 * unit.Degree), new(true)}, rating.CannotTell, rating.Fits, rating.Fits, rating.CannotTell},
		{"wrong angle warns", rating.Steered{new(true), new(36 * unit.Degree), new(true)}, rating.Fits, rating.DoesNotFit, rating.Fits, rating.Fits},
		{"gap warns", rating.Steered{new(true), nil, new(false)}, rating.Fits, rating.CannotTell, rating.DoesNotFit, rating.Fits},
	} {
		fs, err := rating.CheckWedge(tt.in, nil)
		if err != nil {
			t.Fatal(err)
		}
		expect(t, fs, "wedge-approved", tt.approved, true, src)
		expect(t, fs, "wedge-angle", tt.angle, false, src)
		expect(t, fs, "wedge-down", tt.down, false, src)
		if fs.Answer() != tt.sums {
			t.Errorf("%s: answer %s, want %s", tt.name, fs.Answer(), tt.sums)
		}
	}
	_, err := rating.CheckWedge(rating.Steered{Angle: new(unit.Angle(math.NaN()))}, nil)
	wantDomain(t, "NaN", err)
}

func TestEvidence(t *testing.T) {
	for e, want := range map[rating.Evidence]bool{
		rating.Read: true, rating.Derived: true, rating.Practice: false, rating.Memory: false, "": false, "sworn": false,
	} {
		if e.Certifies() != want {
			t.Errorf("%q certifies: %v", e, !want)
		}
	}
	if a := (rating.Findings)(nil).Answer(); a != rating.CannotTell {
		t.Errorf("no findings: %s, want cannot-tell", a)
	}
}

func TestApprovalForces(t *testing.T) {
	const src = "handbook chapter 01, 4.1, check values for D = 150, U = 20"
	plain := rating.Approval{D: 150 * kN, U: 20 * t_, Size: rating.Size50}
	f, err := rating.ApprovalForces(plain)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "F_hw", f.Horizontal.Kilonewtons(), 90.00, 5e-3, src)
	near(t, "F_sO", f.VerticalUpper.Kilonewtons(), 235.44, 5e-3, src)
	near(t, "F_sU", f.VerticalLower.Kilonewtons(), 78.48, 5e-3, src)
	near(t, "lift, no set", f.LiftNoSet.Kilonewtons(), 196.20, 5e-3, src)
	near(t, "lift, holds", f.LiftHold.Kilonewtons(), 490.50, 5e-3, src+"; a published test prints 490 kN")
	if f.SteeringMoment != 0 || f.SteeringForce != 0 {
		t.Errorf("steering forces without steering: %+v", f)
	}
	for _, row := range [][2]float64{{0.5, 225.0}, {0.4, 281.25}, {0.6, 187.5}} {
		steered := plain
		steered.Steered, steered.Lever = true, unit.Length(row[0])
		f, err := rating.ApprovalForces(steered)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "F_hw steered", f.Horizontal.Kilonewtons(), 101.25, 5e-3, src)
		near(t, "moment, kN·m", f.SteeringMoment.NewtonMetres()/1e3, 112.5, 5e-2, src)
		near(t, fmt.Sprint("force at ", row[0]), f.SteeringForce.Kilonewtons(), row[1], 5e-3, src)
	}
	for _, row := range [][2]float64{{36, 565.06}, {31.855, 500.00}, {20, 500}} {
		f, err := rating.ApprovalForces(rating.Approval{D: 260 * kN, U: tonnes(row[0]), Size: rating.Size90})
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("size 90, U ", row[0]), f.LiftHold.Kilonewtons(), row[1], 5e-3, "handbook chapter 01, 4.1: above 31.855 t, 565.06 at 36 t")
	}
	for name, a := range map[string]rating.Approval{
		"no D": {U: 20 * t_, Size: 50}, "no U": {D: 150 * kN, Size: 50}, "size 60": {D: 150 * kN, U: 20 * t_, Size: 60},
		"lever": {D: 150 * kN, U: 20 * t_, Size: 50, Steered: true, Lever: 0.7},
		"NaN":   {D: unit.Force(math.NaN()), U: 20 * t_, Size: 50},
	} {
		_, err := rating.ApprovalForces(a)
		wantDomain(t, name, err)
	}
}
