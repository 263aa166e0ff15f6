package assess

import (
	"math"
	"strings"
	"testing"

	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

func of[T any](v T) *T { return &v }

// ownVehicles are a two-axle tractor and a tri-axle semi-trailer of which all is
// known that a law asks for; the figures are invented.
func ownVehicles() Combination {
	m := func(v float64) *unit.Length { return of(unit.Length(v)) }
	kg := func(v float64) *unit.Mass { return of(unit.Mass(v)) }
	axle := func(at float64, kind string, tare *unit.Mass) vehicle.Axle {
		return vehicle.Axle{At: m(at), Kind: kind, Tare: tare, Plate: kg(11500), Suspension: "air", TwinTyres: of(kind == "drive")}
	}
	return Combination{
		Tractor: &vehicle.Tractor{ID: "t", Axles: []vehicle.Axle{axle(0, "steer", kg(5500)), axle(3.7, "drive", kg(2300))}, Fuel: "diesel",
			GrossPlate: kg(18000), FifthWheel: vehicle.FifthWheel{At: m(3.1), Imposed: kg(20000), Mounting: &vehicle.Rated{Imposed: kg(20000)}}},
		Trailer: &vehicle.SemiTrailer{ID: "s", Kind: "box", Axles: []vehicle.Axle{axle(6.39, "", nil), axle(7.7, "", nil), axle(9.01, "", nil)},
			TarePin: kg(1900), TareBogie: kg(4400), GrossPlate: kg(39000), PinPlate: kg(12000), BogiePlate: kg(27000),
			Width: m(2.55), FrontOverhang: m(1.5), RearEnd: m(12), ConditionedBody: of(false)},
		Cases: []Case{{ID: "empty", Name: "empty"}}, Law: must(rule.Open("eu")),
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func builderOf(c Combination) *builder {
	p := Compile(c)
	return &builder{p: p, st: p.base}
}

// Each fact that a file declares is read or refused by itself, and what the
// vehicles tell is not declared a second time.
func TestDeclaredFacts(t *testing.T) {
	for _, tt := range []struct {
		name            string
		value           any
		want            any // nil where it is refused
		found, expected string
	}{
		{"traffic", "national", "national", "", ""},
		{"intermodal", true, true, "", ""},
		{"container-ft", int64(45), 45.0, "", ""},
		{"tyre-width", "385 mm", 0.385, "", ""},
		{"date", "2026-11-25", "2026-11-25", "", ""},
		{"adr-tank", true, true, "", ""}, // a tank alone does not tell what it carries
		{"trafic", "national", nil, `unknown fact "trafic"`, "one of traffic, network"},
		{"traffic", "domestic", nil, `traffic = "domestic"`, "one of national, international"},
		{"intermodal", "yes", nil, `intermodal = "yes"`, "true or false"},
		{"container-ft", math.NaN(), nil, "container-ft = NaN", "a number from 0 up"},
		{"container-ft", math.Inf(1), nil, "container-ft = +Inf", "a number from 0 up"},
		{"container-ft", -45.0, nil, "container-ft = -45", "a number from 0 up"},
		{"container-ft", "45", nil, `container-ft = "45"`, "a number"},
		{"tyre-width", 385.0, nil, "tyre-width = 385", "in quotes with its unit"},
		{"tyre-width", "385 kg", nil, `"385 kg"`, "a length with its unit"},
		{"tyre-width", "-385 mm", nil, `"-385 mm"`, "0 or more"},
		{"date", "25.11.2026", nil, "25.11.2026", "a date such as"},
		{"axles-trailer", 5.0, nil, "axles-trailer", "the semi-trailer's axles"},
		{"conditioned-body", true, nil, "conditioned-body", "the semi-trailer's conditioned-body"},
		{"drive-suspension", "air", nil, "drive-suspension", "the tractor's suspension of the drive axles"},
		{"suspension", "air", nil, "suspension", "the vehicle's axle suspension"},
		{"combination-mass", "40 t", nil, "combination-mass", "tares"},
	} {
		got, bad := DeclaredFacts(map[string]any{tt.name: tt.value})
		if tt.want != nil {
			if len(bad) != 0 || got[tt.name] != tt.want {
				t.Errorf("%s = %v: %v, %v; want %v", tt.name, tt.value, got, bad, tt.want)
			}
			continue
		}
		if len(bad) != 1 || len(got) != 0 || !strings.Contains(bad[0].Found, tt.found) || !strings.Contains(bad[0].Expected, tt.expected) {
			t.Errorf("%s = %v: %v, %v; want one error: found … %s …; expected … %s …", tt.name, tt.value, got, bad, tt.found, tt.expected)
		}
	}
}

// Every fact that follows from the vehicles is in the list of those that are
// not declared, and every name of that list is a fact.
func TestDecidersAreComplete(t *testing.T) {
	table := map[string]bool{}
	for _, i := range rule.FactTable() {
		table[i.Name] = true
	}
	for name := range deciders {
		if !table[name] {
			t.Errorf("%s is no fact", name)
		}
	}
	b := builderOf(ownVehicles())
	facts := b.vehicleFacts()
	if len(facts) < 20 {
		t.Fatalf("the vehicles tell %d facts, they tell more", len(facts))
	}
	for name := range facts {
		if _, decided := deciders[name]; !decided && name != "adr-tank" { // a tank may carry dangerous goods or not
			t.Errorf("the vehicles tell %s, and it may be declared too", name)
		}
	}
	if len(DeclarableFacts())+len(deciders) != len(table) {
		t.Errorf("%d declared and %d told of %d facts", len(DeclarableFacts()), len(deciders), len(table))
	}
}

// What the tape tells stands, whatever is declared about the journey.
func TestVehiclesDecideOverDeclarations(t *testing.T) {
	c := ownVehicles()
	c.Cases[0].Facts = rule.Facts{"axles-trailer": 5.0, "conditioned-body": true, "trailer-width": 2.0, "combination-mass": 1.0, "traffic": "national"}
	f := builderOf(c).facts(0, nil)
	if f["axles-trailer"] != 3.0 || f["conditioned-body"] != false || f["trailer-width"] != 2.55 || f["traffic"] != "national" || f["combination-mass"] != 14100.0 {
		t.Errorf("facts %v", f)
	}
}

// What is not known of a vehicle is asked for by the name of its field, and what
// is declared by the name of the fact.
func TestLackingNamesTheField(t *testing.T) {
	b := builderOf(ownVehicles())
	for _, tt := range []struct{ fact, group, want string }{
		{"conditioned-body", "", "semi-trailer s: conditioned-body"},
		{"drive-suspension", "", "tractor t: suspension of the drive axles"},
		{"suspension", "rear", "tractor t: axle suspension"},
		{"suspension", "bogie", "semi-trailer s: axle suspension"},
		{"suspension", "", "fact suspension"},
		{"traffic", "", "fact traffic"},
	} {
		if got := b.lacking(tt.fact, tt.group); got != tt.want {
			t.Errorf("%s of %q: %q, want %q", tt.fact, tt.group, got, tt.want)
		}
	}
}

// A limit of US law comes out as the law writes it, by way of kilograms and back.
func TestLimitsKeepTheirLawsNumber(t *testing.T) {
	c := ownVehicles()
	c.Law = must(rule.Open("us"))
	c.Cases[0].Facts = rule.Facts{"network": "interstate"}
	seen := 0
	for _, f := range Compile(c).Assess(AimMargin).Findings {
		if f.Unit == unit.Lb && !math.IsNaN(f.Limit) {
			if seen++; f.Limit != math.Trunc(f.Limit) {
				t.Errorf("%s: %v lb, the law has whole pounds", f.ID, f.Limit)
			}
		}
		if strings.Contains(f.Working, "99999") || strings.Contains(f.Working, "00000") {
			t.Errorf("%s: %s", f.ID, f.Working)
		}
	}
	if seen < 5 {
		t.Errorf("%d limits in pounds, there are more", seen)
	}
}
