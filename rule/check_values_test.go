package rule_test

import (
	"math"
	"os"
	"testing"

	"underpin/rule"
	"underpin/unit"
)

func open(t testing.TB, name string) *rule.Book {
	t.Helper()
	b, err := rule.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func own(t testing.TB, file string) *rule.Book {
	t.Helper()
	src, err := os.ReadFile("testdata/" + file)
	if err != nil {
		t.Fatal(err)
	}
	b, err := rule.Parse(file, src, nil)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// together is what several findings on one quantity say.
func together(findings []rule.Finding) rule.Answer {
	answer := rule.Fits
	for _, f := range findings {
		switch {
		case f.Answer == rule.DoesNotFit:
			return rule.DoesNotFit
		case f.Answer == rule.CannotTell:
			answer = rule.CannotTell
		}
	}
	return answer
}

func hold(t testing.TB, b *rule.Book, quantity string, facts rule.Facts, si float64) []rule.Finding {
	t.Helper()
	if err := facts.Check(); err != nil {
		t.Fatal(err)
	}
	var findings []rule.Finding
	for _, l := range b.Limits(quantity, facts) {
		findings = append(findings, l.Check("test", si))
	}
	return findings
}

const (
	m     = float64(unit.Metre)
	tonne = float64(unit.Tonne)
	kg    = float64(unit.Kilogram)
	lb    = float64(unit.Pound)
	ft    = float64(unit.Foot)
	in    = float64(unit.Inch)
)

type facts = rule.Facts

// merge is for rows that differ in one fact.
func with(base facts, more facts) facts {
	all := facts{}
	for k, v := range base {
		all[k] = v
	}
	for k, v := range more {
		all[k] = v
	}
	return all
}

var (
	artic23  = facts{"axles-tractor": 2, "axles-trailer": 3, "fuel": "diesel", "intermodal": false, "traffic": "international"}
	inter23  = with(artic23, facts{"intermodal": true, "container-ft": 45})
	inter33  = with(inter23, facts{"axles-tractor": 3})
	trailer2 = facts{"group": "trailer", "axles": 2, "drive": false, "twin-tyres": false, "suspension": "air", "traffic": "national"}
	trailer3 = with(trailer2, facts{"axles": 3})
	motor2   = facts{"group": "drive", "axles": 2, "drive": true, "twin-tyres": false, "suspension": "other", "max-axle-plate": unit.Mass(11500), "traffic": "national"}
	fr44     = facts{"traffic": "national", "axles-tractor": 2, "axles-trailer": 3, "combination-mass": unit.Mass(44000), "fuel": "diesel"}
	long     = facts{"longer-semi-trailer": true, "axles-trailer": 3, "steerable-trailer-axle": true}
	plates   = facts{"tractor-gross-plate": unit.Mass(18000), "tractor-imposed-plate": unit.Mass(10500), "trailer-gross-plate": unit.Mass(36000), "trailer-imposed-plate": unit.Mass(12000)}
	notMet   = facts{"trailer-meets-kingpin-dimensions": false, "intermodal": false}
	met      = facts{"trailer-meets-kingpin-dimensions": true, "intermodal": false}
	cu2      = facts{"weight-code": "construction-and-use", "axles-tractor": 2}
	two36    = facts{"axles": 4, "two-tandems": true}
)

// TestCheckValues holds values against the laws. Each row names where its
// expected answer is printed; "derived" rows follow from the printed limit.
func TestCheckValues(t *testing.T) {
	for _, tt := range []struct {
		row      string
		law      string
		quantity string
		facts    facts
		value    float64 // SI
		want     rule.Answer
		source   string
	}{
		{"1", "eu", "length-kingpin-rear", artic23, 12.00 * m, rule.Fits, "96/53/EC Annex I 1.6"},
		{"1", "eu", "length-kingpin-rear", artic23, 12.01 * m, rule.DoesNotFit, "96/53/EC Annex I 1.6; no tolerance: StVZO § 32(8)"},
		{"6", "eu", "reference-wheelbase", facts{"trailer-width": unit.Length(2.55), "steerable-trailer-axle": false}, 7.70 * m, rule.Fits, "press note on the order of 27 Dec 1999: 7.70 m usual"},
		{"7", "de", "ring-width", nil, 7.20 * m, rule.Fits, "StVZO § 32d(1)"},
		{"7", "de", "ring-width", nil, 7.21 * m, rule.DoesNotFit, "StVZO § 32d(1)"},
		{"9", "de", "swing-out", nil, 0.80 * m, rule.Fits, "StVZO § 32d(2)"},
		{"9", "de", "swing-out", nil, 0.81 * m, rule.DoesNotFit, "StVZO § 32d(2)"},
		{"10", "de", "length-combination", with(met, inter23), 16.65 * m, rule.Fits, "StVZO § 32(4c)"},
		{"10", "de", "length-combination", with(met, artic23), 16.65 * m, rule.DoesNotFit, "StVZO § 32(4c)"},
		{"10", "eu", "length-combination", inter23, 16.65 * m, rule.Fits, "StVZO § 32(4c)"},
		{"10", "eu", "length-kingpin-rear", inter23, 12.15 * m, rule.Fits, "StVZO § 32(4c)"},
		{"10", "eu", "length-kingpin-rear", inter23, 12.16 * m, rule.DoesNotFit, "StVZO § 32(4c)"},
		{"11", "de", "length-combination", notMet, 16.2 * m, rule.DoesNotFit, "StVZO § 32(4) no. 1: 15.50 m"},
		{"11", "de", "length-combination", notMet, 15.5 * m, rule.Fits, "StVZO § 32(4) no. 1: 15.50 m"},
		{"11", "de", "length-combination", met, 16.2 * m, rule.Fits, "StVZO § 32(4) no. 2: 16.50 m"},
		{"11", "de", "length-kingpin-rear", met, 12.2 * m, rule.DoesNotFit, "StVZO § 32(4) no. 2: 12.00 m"},
		{"17", "eu", "share-drive", artic23, 9.8 / 40.0, rule.DoesNotFit, "derived: StVZO § 34(8), 25 %"},
		{"17", "eu", "share-drive", artic23, 10.0 / 40.0, rule.Fits, "derived: StVZO § 34(8), 25 %"},
		{"17", "eu", "share-drive", facts{}, 9.8 / 40.0, rule.CannotTell, "derived: binds international traffic alone"},
		{"18", "eu", "share-drive", artic23, 11.5 / 44.0, rule.Fits, "derived: StVZO § 34(8), 25 %"},
		{"24", "de", "gap-axles-tractor-trailer", nil, 2.50 * m, rule.Fits, "StVZO § 34(9)"},
		{"24", "de", "gap-axles-tractor-trailer", nil, 2.49 * m, rule.DoesNotFit, "StVZO § 34(9)"},
		{"24", "eu", "gap-axles-tractor-trailer", facts{"trailer-kind": "drawbar"}, 3.00 * m, rule.Fits, "96/53/EC Annex I 4.2, summary"},
		{"27", "fr", "mass-axle", with(fr44, facts{"drive": true, "axles": 1, "group": "drive"}), 12.5 * tonne, rule.DoesNotFit, "Code de la route R312-5: 12 t above 40 t"},
		{"27", "fr", "mass-axle", with(fr44, facts{"drive": true, "axles": 1, "group": "drive", "combination-mass": unit.Mass(40000)}), 12.5 * tonne, rule.Fits, "Code de la route R312-5: 13 t"},
		{"31", "uk", "mass-axle", facts{"drive": true, "combination-mass": unit.Mass(44000)}, 10600 * kg, rule.DoesNotFit, "SI 1998/3111 Sch. 2, summary: 10 500 kg"},
		{"33", "uk", "length-kingpin-rear", long, 14.05 * m, rule.Fits, "SI 2023/524"},
		{"33", "uk", "length-kingpin-rear", long, 14.06 * m, rule.DoesNotFit, "SI 2023/524"},
		{"33", "uk", "length-load-front-rear", long, 15.65 * m, rule.Fits, "SI 2023/524"},
		{"33", "uk", "length-load-front-rear", long, 15.66 * m, rule.DoesNotFit, "SI 2023/524"},
		{"33", "uk", "length-combination", long, 18.55 * m, rule.Fits, "SI 2023/524"},
		{"33", "uk", "length-combination", long, 18.56 * m, rule.DoesNotFit, "SI 2023/524"},
		{"43", "us", "mass-axle-range", with(two36, facts{"spread": unit.Length(36 * ft)}), 68000 * lb, rule.Fits, "23 U.S.C. 127(a)(2), exception"},
		{"43", "us", "mass-axle-range", with(two36, facts{"spread": unit.Length(36 * ft)}), 68001 * lb, rule.DoesNotFit, "23 U.S.C. 127(a)(2), exception"},
		{"43", "us", "mass-axle-range", facts{"axles": 4, "two-tandems": false, "spread": unit.Length(36 * ft)}, 68000 * lb, rule.DoesNotFit, "formula 66,000, Pa. Code § 185.3"},
		{"44", "us", "mass-axle-range", with(two36, facts{"spread": unit.Length(35 * ft)}), 68000 * lb, rule.DoesNotFit, "derived: 65,500, Pa. Code § 185.3"},
		{"45", "us", "mass-axle-range", with(two36, facts{"spread": unit.Length(38 * ft)}), 68000 * lb, rule.Fits, "Pa. Code § 185.3: 68,000"},
		{"51", "us", "mass-axle-range", facts{"axles": 3, "spread": unit.Length(96 * in)}, 35000 * lb, rule.DoesNotFit, "FHWA questions and answers: tandem 34,000"},
		{"51", "us", "mass-axle-range", facts{"axles": 3, "spread": unit.Length(96 * in)}, 34000 * lb, rule.Fits, "FHWA questions and answers: tandem 34,000"},
		{"52", "us", "mass-axle-range", facts{"axles": 2, "spread": unit.Length(39 * in)}, 21000 * lb, rule.DoesNotFit, "FHWA questions and answers: one single axle 20,000"},
		{"53", "us", "mass-gross-combination", facts{"fuel": "battery", "extra-technology-mass": unit.Mass(1900 * lb)}, 81900 * lb, rule.Fits, "23 U.S.C. 127(s)"},
		{"53", "us", "mass-gross-combination", facts{"fuel": "battery", "extra-technology-mass": unit.Mass(1900 * lb)}, 82001 * lb, rule.DoesNotFit, "23 U.S.C. 127(s)"},
		{"53", "us", "mass-gross-combination", facts{"fuel": "diesel"}, 80001 * lb, rule.DoesNotFit, "23 U.S.C. 127(a)(2)"},
		{"54", "us-ca", "kingpin-to-rearmost-axle", facts{"axles-trailer": 2}, 40 * ft, rule.Fits, "California Vehicle Code 35400(b)(4)"},
		{"54", "us-ca", "kingpin-to-rearmost-axle", facts{"axles-trailer": 2}, 40*ft + 1*in, rule.DoesNotFit, "California Vehicle Code 35400(b)(4)"},
		{"54", "us-ca", "kingpin-to-rearmost-axle", facts{"axles-trailer": 1}, 38*ft + 1*in, rule.DoesNotFit, "California Vehicle Code 35400(b)(4)"},
		{"55", "us-in", "kingpin-to-rearmost-axle", nil, 40*ft + 6*in, rule.Fits, "23 CFR 658 Appendix B note 2"},
		{"56", "au", "s-dimension", nil, 9.5 * m, rule.Fits, "regulator's page on length"},
		{"56", "au", "s-dimension", nil, 9.51 * m, rule.DoesNotFit, "regulator's page on length"},
		{"56", "au", "length-kingpin-rear", nil, 12.3 * m, rule.Fits, "regulator's page on length"},
		{"56", "au", "length-kingpin-rear", nil, 12.31 * m, rule.DoesNotFit, "regulator's page on length"},
		{"56", "au", "front-projection", nil, 1.9 * m, rule.Fits, "regulator's page on length"},
		{"56", "au", "front-projection", nil, 1.91 * m, rule.DoesNotFit, "regulator's page on length"},
		{"60", "nz", "forward-distance", nil, 9.2 * m, rule.Fits, "transport agency's page"},
		{"60", "nz", "rear-overhang", facts{"forward-distance": unit.Length(9.2)}, 4.3 * m, rule.Fits, "transport agency's page"},
		{"60", "nz", "rear-overhang", facts{"forward-distance": unit.Length(8.0)}, 4.1 * m, rule.DoesNotFit, "transport agency's page: 50 % is 4.0 m"},
		{"61", "eu", "share-drive", artic23, 11050.0 / 40000, rule.Fits, "derived: 27.6 % at a lead of 0.600 m"},
		{"61", "eu", "share-steer", facts{"load-case": "rear-axle-at-max"}, 6950.0 / 18000, rule.Fits, "derived: front 6 950 of 18 000 kg"},
	} {
		var b *rule.Book
		if tt.law == "us-in" {
			b = own(t, "us-in.toml")
		} else {
			b = open(t, tt.law)
		}
		found := hold(t, b, tt.quantity, tt.facts, tt.value)
		if len(found) == 0 {
			t.Errorf("row %s: %s has no limit on %s", tt.row, tt.law, tt.quantity)
			continue
		}
		if got := together(found); got != tt.want {
			t.Errorf("row %s: %s %s %v with %v: %s, want %s (%s)\n%+v", tt.row, tt.law, tt.quantity, tt.value, tt.facts, got, tt.want, tt.source, found)
		}
	}
}

// TestLimitValues asks for the strictest limit; NaN in want is "not covered".
func TestLimitValues(t *testing.T) {
	spacing := func(base facts, d float64) facts { return with(base, facts{"spacing": unit.Length(d)}) }
	air := with(motor2, facts{"twin-tyres": true, "suspension": "air"})
	uk3 := facts{"weight-code": "authorised-weight", "axles": 3, "drive": false}
	none := math.NaN()
	for _, tt := range []struct {
		row      string
		law      string
		quantity string
		facts    facts
		want     float64 // in the law's unit
		source   string
	}{
		{"4", "eu", "reference-wheelbase", facts{"trailer-width": unit.Length(2.55), "steerable-trailer-axle": false}, 8.135, "press note on the order of 27 Dec 1999 prints 8.13 m; derived 8.135"},
		{"13", "de", "mass-group", spacing(trailer2, 0.99), 11, "StVZO § 34(4) no. 3"},
		{"13", "de", "mass-group", spacing(trailer2, 1.00), 16, "StVZO § 34(4) no. 3"},
		{"13", "de", "mass-group", spacing(trailer2, 1.29), 16, "StVZO § 34(4) no. 3"},
		{"13", "de", "mass-group", spacing(trailer2, 1.30), 18, "StVZO § 34(4) no. 3"},
		{"13", "de", "mass-group", spacing(trailer2, 1.79), 18, "StVZO § 34(4) no. 3"},
		{"13", "de", "mass-group", spacing(trailer2, 1.80), 20, "StVZO § 34(4) no. 3"},
		{"14", "de", "mass-group", spacing(motor2, 0.99), 11.5, "StVZO § 34(4) no. 2"},
		{"14", "de", "mass-group", spacing(motor2, 1.00), 16, "StVZO § 34(4) no. 2"},
		{"14", "de", "mass-group", spacing(motor2, 1.30), 18, "StVZO § 34(4) no. 2"},
		{"14", "de", "mass-group", spacing(air, 1.30), 19, "StVZO § 34(4) no. 2"},
		{"14", "eu", "mass-group", spacing(air, 1.30), 19, "StVZO § 34(4) no. 2"},
		{"15", "eu", "mass-group", spacing(motor2, 1.80), none, "StVZO § 34(4) no. 2 ends below 1.8 m"},
		{"15", "eu", "mass-group", spacing(air, 1.80), none, "StVZO § 34(4) no. 2 ends below 1.8 m"},
		{"16", "eu", "mass-group", spacing(trailer3, 1.30), 21, "StVZO § 34(4) no. 4"},
		{"16", "eu", "mass-group", spacing(trailer3, 1.31), 24, "StVZO § 34(4) no. 4"},
		{"16", "eu", "mass-group", spacing(trailer3, 1.40), 24, "StVZO § 34(4) no. 4"},
		{"16", "eu", "mass-group", spacing(trailer3, 1.41), none, "StVZO § 34(4) no. 4 ends at 1.4 m"},
		{"20", "eu", "mass-gross-combination", artic23, 40, "StVZO § 34(6) no. 5"},
		{"20", "eu", "mass-gross-combination", inter23, 42, "StVZO § 34(6) no. 6"},
		{"20", "eu", "mass-gross-combination", inter33, 44, "StVZO § 34(6) no. 6"},
		{"21", "eu", "mass-gross-combination", with(artic23, facts{"fuel": "zero-emission", "extra-technology-mass": unit.Mass(2300)}), 42, "StVZO § 34(6a)"},
		{"21", "eu", "mass-axle", with(artic23, facts{"fuel": "zero-emission", "extra-technology-mass": unit.Mass(2300), "drive": true}), 11.5, "StVZO § 34(6a): axles unchanged"},
		{"22", "de", "mass-gross-combination", with(artic23, plates), 40, "derived: StVZO § 34(7) no. 3 gives 42.0, § 34(6) caps at 40"},
		{"25", "fr", "mass-axle", spacing(with(trailer2, fr44), 0.90), 7.35, "Code de la route R312-6 I"},
		{"25", "fr", "mass-axle", spacing(with(trailer2, fr44), 1.30), 10.15, "Code de la route R312-6 I"},
		{"25", "fr", "mass-axle", spacing(with(trailer2, fr44), 1.35), 10.5, "Code de la route R312-6 I"},
		{"26", "fr", "mass-group", spacing(motor2, 1.00), 16, "Code de la route R312-6 II"},
		{"26", "fr", "mass-group", spacing(motor2, 1.20), 17.05, "Code de la route R312-6 II"},
		{"26", "fr", "mass-group", spacing(motor2, 1.35), 19, "Code de la route R312-6 II"},
		{"27", "fr", "mass-gross-combination", fr44, 44, "Code de la route R312-4 III"},
		{"27", "fr", "mass-gross-combination", artic23, 40, "96/53/EC in international traffic"},
		{"28", "uk", "mass-gross-combination", with(cu2, facts{"relevant-axle-spacing": unit.Length(6.60)}), 36000, "SI 1986/1078 Sch. 11 Part III"},
		{"28", "uk", "mass-gross-combination", with(cu2, facts{"relevant-axle-spacing": unit.Length(5.75)}), 33000, "SI 1986/1078 Sch. 11 Part III"},
		{"28", "uk", "mass-gross-combination", with(cu2, facts{"relevant-axle-spacing": unit.Length(5.75), "axles-tractor": 3}), 34000, "SI 1986/1078 Sch. 11 Part III"},
		{"30", "uk", "mass-gross-combination", with(cu2, facts{"relevant-axle-spacing": unit.Length(1.99)}), none, "SI 1986/1078 Sch. 11 Part III begins at 2.0 m"},
		{"32", "uk", "mass-group", spacing(uk3, 1.30), 21000, "SR 1999/258 Sch. 3 Table VI"},
		{"32", "uk", "mass-group", spacing(uk3, 1.31), 24000, "SR 1999/258 Sch. 3 Table VI"},
		{"43", "us", "mass-axle-range", with(two36, facts{"spread": unit.Length(36 * ft)}), 68000, "23 U.S.C. 127(a)(2), exception"},
		{"44", "us", "mass-axle-range", with(two36, facts{"spread": unit.Length(35 * ft)}), 65500, "67 Pa. Code § 185.3"},
		{"57", "au", "mass-gross-combination", facts{"axles-tractor": 3, "axles-trailer": 3}, 42.5, "summary of the general mass limits"},
		{"58", "au-1988", "mass-gross-combination", facts{"spread": unit.Length(10.00)}, 37.0, "Regulations 1988 No 152 Sch. 1A"},
		{"58", "au-1988", "mass-gross-combination", facts{"spread": unit.Length(11.68)}, 42.5, "Regulations 1988 No 152 Sch. 1A"},
		{"58", "au-1988", "mass-gross-combination", facts{"spread": unit.Length(3.00)}, none, "Regulations 1988 No 152 Sch. 1A begins above 3.00 m"},
	} {
		var b *rule.Book
		if tt.law == "au-1988" {
			b = own(t, "au-1988.toml")
		} else {
			b = open(t, tt.law)
		}
		if err := tt.facts.Check(); err != nil {
			t.Error(err)
		}
		got, covered := none, false
		for _, l := range b.Limits(tt.quantity, tt.facts) {
			if l.NotCovered == "" {
				covered = true
			}
			if !math.IsNaN(l.Value) && !(got <= l.Value) {
				got = l.Value
			}
		}
		if math.IsNaN(tt.want) {
			if covered || !math.IsNaN(got) {
				t.Errorf("row %s: %s %s %v: %v, want not covered (%s)", tt.row, tt.law, tt.quantity, tt.facts, got, tt.source)
			}
			continue
		}
		if diff := math.Abs(got - tt.want); !(diff <= 0.0005) { // the reference wheelbase is printed to the millimetre
			t.Errorf("row %s: %s %s %v: %v, want %v (%s)", tt.row, tt.law, tt.quantity, tt.facts, got, tt.want, tt.source)
		}
	}
}

// A margin of row 6, the digits of row 44, and row 8's diameters.
func TestMargins(t *testing.T) {
	rwb := hold(t, open(t, "eu"), "reference-wheelbase", facts{"trailer-width": unit.Length(2.55), "steerable-trailer-axle": false}, 7.70)
	if len(rwb) != 1 || !(math.Abs(rwb[0].Margin-0.435) <= 0.0005) || rwb[0].Binding {
		t.Errorf("reference wheelbase 7.70 m: %+v, want a margin of 0.435 m that does not certify (derived from 8.135)", rwb)
	}
	bridge := hold(t, open(t, "us"), "mass-axle-range", with(two36, facts{"spread": unit.Length(35 * ft)}), 68000*lb)
	if len(bridge) != 1 || !(math.Abs(bridge[0].Margin+2500) <= 1e-6) {
		t.Errorf("four axles on 35 ft with 68 000 lb: %+v, want 2 500 lb too much (65,500 in 67 Pa. Code § 185.3)", bridge)
	}
	inner := open(t, "eu").Limits("ring-inner", nil)
	if len(inner) != 1 || 2*float64(inner[0].Rule.OuterRadius) != 25 || 2*inner[0].Value != 10.60 {
		t.Errorf("ring of the Union: %+v, want diameters of 25 m and 10.60 m (Swiss VRV Art. 65a)", inner)
	}
	if ring := open(t, "de").Limits("ring-width", nil); len(ring) != 1 || !(math.Abs(ring[0].Value-(12.5-5.3)) <= 1e-12) {
		t.Errorf("ring width %+v, want 12.50 − 5.30 (StVZO § 32d(1))", ring)
	}
}
