package rule_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"underpin/rule"
	"underpin/unit"
)

// second is every number of every embedded book entered a second time, from
// the laws' figures as gathered in handbook chapters 02 and 03, so that a slip
// in a rulebook shows. Bands read "from..to=limit"; "[" and "]" mark an end that
// belongs to the band, "(" and ")" one that does not.
var second = map[string]map[string]string{
	"eu": {
		"eu-length": "16.5 m", "eu-length-45ft": "16.65 m", "eu-kingpin-rear": "12 m", "eu-kingpin-rear-45ft": "12.15 m", // 96/53/EC Annex I 1.1, 1.6, Art. 10c
		"eu-kingpin-front": "2.04 m", "eu-width": "2.55 m", "eu-width-conditioned": "2.6 m", "eu-height": "4 m", // 4.4, 1.2, 1.3
		"eu-ring-inner": "5.3 m on 12.5", "eu-swing-out": "0.8 m on 12.5", "eu-drawbar-gap": "3 m", // 1.5, StVZO § 32d(2), 4.2
		"eu-reference-wheelbase": "reference-wheelbase 12.5 5.3 2.04 m",                                    // 97/27/EC Annex I 7.6.1.2
		"eu-gross":               "40 t", "eu-gross-intermodal-2": "42 t", "eu-gross-intermodal-3": "44 t", // 2.2.2
		"eu-gross-2-2": "[1.3..+Inf)=36 t", "eu-gross-2-2-38": "38 t", // 2.2.4
		"eu-tractor-gross-2": "18 t", "eu-tractor-gross-3": "25 t", "eu-tractor-gross-3-air": "26 t", "eu-tractor-gross-3-9500": "26 t", // StVZO § 34(5)
		"eu-axle": "10 t", "eu-axle-drive": "11.5 t", // StVZO § 34(4) no. 1
		"eu-tandem-motor":     "[0..1)=11.5 [1..1.3)=16 [1.3..1.8)=18 t", // StVZO § 34(4) no. 2
		"eu-tandem-motor-air": "19 t", "eu-tandem-motor-9500": "19 t",    // no. 2d
		"eu-tandem-trailer":   "[0..1)=11 [1..1.3)=16 [1.3..1.8)=18 [1.8..+Inf)=20 t",         // no. 3
		"eu-tri-axle-trailer": "[0..1.3]=21 (1.3..1.4]=24 t",                                  // no. 4
		"eu-share-drive":      "0.25", "eu-share-steer": "0.2", "eu-share-trailer-adr": "0.6", // StVZO § 34(8), 1230/2012, ADR 9.7.5.1
		"eu-lead": "0 m", // common practice, no source
	},
	"de": {
		"de-length-short": "15.5 m", "de-length-long": "17.88 m", "de-kingpin-rear-long": "13.38 m", // StVZO § 32(4), LKWÜberlStVAusnV § 3
		"de-gap": "2.5 m", "de-ring-width": "7.2 m on 12.5", "de-swing-out": "0.8 m on 12.5", // StVZO § 34(9), § 32d
		"de-artic-gross": "de-artic-gross t", "de-gross-3": "28 t", "de-gross-3-1": "35 t", "de-gross-3-1-26": "36 t", // StVZO § 34(7), (6)
		"de-share-steer": "0.2", // DGUV Vorschrift 70 § 37, guidance
	},
	"fr": {
		"fr-gross": "[0..4]=38 [5..+Inf)=44 t", "fr-tractor-gross-2": "19 t", "fr-tractor-gross-3": "26 t", // R312-4
		"fr-axle": "13 t", "fr-axle-above-40": "12 t", // R312-5
		"fr-group-axle": "fr-group-axle t", "fr-group": "fr-group-axle whole t", "fr-drive-tandem": "fr-drive-tandem t", // R312-6
		"fr-drive-tandem-axle": "11.5 t", "fr-tri-axle-above-40": "27 t", // R312-6 II, II bis
	},
	"uk": {
		"uk-length": "16.5 m", "uk-length-short": "15.5 m", "uk-length-low-loader": "18 m", "uk-length-longer": "18.55 m", // SR 1999/454 reg. 6(1), SI 2023/524
		"uk-kingpin-rear": "12 m", "uk-kingpin-rear-car-transporter": "12.5 m", "uk-kingpin-rear-longer": "14.05 m", "uk-load-length-longer": "15.65 m",
		"uk-kingpin-front": "2.04 m", "uk-kingpin-front-car-transporter": "4.19 m", "uk-width": "2.55 m", "uk-width-conditioned": "2.6 m",
		"uk-ring-inner": "5.3 m on 12.5", "uk-reference-wheelbase": "reference-wheelbase 12.5 5.3 2.04 m",
		"uk-axle": "10000 kg", "uk-axle-drive": "11500 kg", "uk-axle-drive-above-40": "10500 kg", // SR 1999/258 Sch. 3 Tables V, VI
		"uk-tandem-drive": "[0..1)=11500 [1..1.3)=16000 [1.3..+Inf)=18000 kg", "uk-tandem-drive-road-friendly": "19000 kg", "uk-tandem-drive-9500": "19000 kg",
		"uk-tandem":   "[0..1)=11000 [1..1.3)=16000 [1.3..1.8)=18000 [1.8..+Inf)=20000 kg",
		"uk-tri-axle": "[0..1.3]=21000 (1.3..+Inf)=24000 kg",
		"uk-gross":    "[3..3]=26000 [4..4]=36000 [5..+Inf)=40000 kg", "uk-gross-2-2-38": "38000 kg", "uk-gross-41": "41000 kg", "uk-gross-44": "44000 kg",
		"uk-axle-spread": "axle-spread kingpin-to-last-axle 5500 10 44000 kg",
		// SI 1986/1078 Sch. 11 Part III, the spacings of the two columns and the masses.
		"uk-cu-gross-2": schedule11([]float64{2.0, 2.2, 2.6, 2.9, 3.2, 3.5, 3.8, 4.1, 4.4, 4.7, 5.0, 5.3, 5.5, 5.8, 6.2, 6.5, 6.7, 6.9}),
		"uk-cu-gross-3": schedule11([]float64{2.0, 2.2, 2.6, 2.9, 3.2, 3.5, 3.8, 4.1, 4.4, 4.7, 5.0, 5.3, 5.4, 5.6, 5.8, 6.0, 6.2, 6.3}),
		"uk-lead":       "0 m",
	},
	"us": {
		"us-axle": "20000 lb", "us-range-single": "20000 lb", "us-range-tandem": "34000 lb", "us-bridge": "bridge-formula down lb", // 23 U.S.C. 127(a)(2), 23 CFR 658.17
		"us-range-8-9": "[2..2]=38000 [3..3]=42000 lb",           // RCW 46.44.041, "more than 8"
		"us-range-two": "40000 lb", "us-range-three": "60000 lb", // Wisconsin's guide, example 3
		"us-two-tandems": "68000 lb", "us-gross": "80000 lb", "us-gross-gas-battery": "82000 lb", // 127(a)(2), (s)
		"us-width": "102 in", "us-lead": "0 in", // 49 U.S.C. 31113(a)
	},
	"us-ca": {
		"us-ca-kingpin-axle-2": "40 ft", "us-ca-kingpin-axle-1": "38 ft", "us-ca-length": "65 ft", // California Vehicle Code 35400(b)(4), 35401(a)
		"us-ca-axle": "20000 lb", "us-ca-range-single": "20000 lb", "us-ca-range-tandem": "34000 lb", "us-ca-range": "bridge-formula down lb",
		"us-ca-range-two": "40000 lb", "us-ca-gross": "80000 lb", // 35550 and gross from memory, 35551 read
	},
	"au": {
		"au-length": "19 m", "au-s-dimension": "9.5 m", "au-articulation-rear": "12.3 m", "au-articulation-rear-refrigerated": "13.2 m",
		"au-front-projection": "1.9 m", "au-rear-overhang": "lesser-of s-dimension 0.6 3.7 m", "au-width": "2.5 m", "au-height": "4.3 m", "au-height-livestock": "4.6 m",
		"au-axle-steer": "6 t", "au-axle": "9 t", "au-twin-steer": "10 t", "au-twin-steer-sharing": "11 t", "au-tandem-dual": "[0..1)=9 [1..2]=16.5 t",
		"au-tandem-single": "[0..375)=11 [375..450)=13.3 [450..+Inf)=14 t", "au-tri-axle": "(2..3.2]=20 t", "au-tri-axle-single": "[0..375)=15 [375..+Inf)=20 t",
		"au-gross": "42.5 t", "au-lead": "0 m",
	},
	"nz": {
		"nz-length": "19 m", "nz-forward-distance": "9.2 m", "nz-rear-overhang": "lesser-of forward-distance 0.5 4.3 m", "nz-front-projection": "2.04 m",
		"nz-lead-single": "0 mm", "nz-lead-group": "300 mm",
	},
}

func schedule11(from []float64) string {
	masses := []int{20330, 22360, 23370, 24390, 25410, 26420, 27440, 28450, 29470, 30490, 31500, 32520, 33000, 34000, 35000, 36000, 37000, 38000}
	var b strings.Builder
	for i, mass := range masses {
		to := math.Inf(1)
		if i+1 < len(from) {
			to = from[i+1]
		}
		fmt.Fprintf(&b, "[%v..%v)=%d ", from[i], to, mass)
	}
	return b.String() + "kg"
}

// shorthand writes a rule's number as the table above does.
func shorthand(r *rule.Rule) string {
	var parts []string
	switch f := r.Function; {
	case r.Table != nil:
		for _, b := range r.Table.Bands {
			open, shut := "(", ")"
			if b.FromIncluded {
				open = "["
			}
			if b.ToIncluded {
				shut = "]"
			}
			parts = append(parts, fmt.Sprintf("%s%v..%v%s=%v", open, b.From, b.To, shut, b.Limit))
		}
	case f != nil:
		parts = append(parts, f.Name)
		if f.Ties != "" {
			parts = append(parts, string(f.Ties))
		}
		if f.WholeGroup {
			parts = append(parts, "whole")
		}
		if f.Of != "" {
			parts = append(parts, f.Of)
		}
		for _, v := range []float64{float64(f.Outer), float64(f.Inner), float64(f.FittingRadius), float64(f.PerMetre), float64(f.Step), f.Share, float64(f.MostLength), float64(f.MostMass)} {
			if v != 0 {
				parts = append(parts, fmt.Sprint(v))
			}
		}
	default:
		parts = append(parts, fmt.Sprint(r.Limit))
	}
	if r.Unit.Symbol != "" {
		parts = append(parts, r.Unit.Symbol)
	}
	if r.OuterRadius != 0 {
		parts = append(parts, "on", fmt.Sprint(float64(r.OuterRadius)))
	}
	return strings.Join(parts, " ")
}

func TestEveryNumberEnteredTwice(t *testing.T) {
	for _, name := range rule.Names() {
		seen := 0
		for _, r := range open(t, name).Rules {
			if r.Book != name || r.NotCovered != "" && math.IsNaN(r.Limit) && r.Table == nil && r.Function == nil || r.Lifts {
				continue
			}
			seen++
			want, there := second[name][r.ID]
			if got := shorthand(r); !there || got != want {
				t.Errorf("%s %s: %q, the second entry is %q", name, r.ID, got, want)
			}
		}
		if seen == 0 || seen != len(second[name]) {
			t.Errorf("%s: %d numbers in the book, %d entered twice", name, seen, len(second[name]))
		}
	}
}

// The conditions under which a limit applies, beyond the check values.
func TestConditions(t *testing.T) {
	four := facts{"axles-tractor": 2, "axles-trailer": 2, "fuel": "diesel", "intermodal": false, "traffic": "international"}
	wide := with(four, facts{"trailer-spacing": unit.Length(1.81), "tractor-gross-plate": unit.Mass(18000), "trailer-group-plate": unit.Mass(20000), "drive-twin-tyres": true, "drive-suspension": "air"})
	de := with(plates, facts{"fuel": "diesel", "intermodal": false})
	six := facts{"axles-tractor": 3, "axles-trailer": 3, "drive-twin-tyres": true, "drive-suspension": "air", "trailer-suspension": "equivalent", "euro-class": 6, "kingpin-to-last-axle": unit.Length(9)}
	three := facts{"axles-tractor": 3, "fuel": "diesel", "drive-twin-tyres": true, "drive-suspension": "air", "max-drive-axle-plate": unit.Mass(11500)}
	for _, tt := range []struct {
		law, quantity string
		facts         facts
		want          float64 // the strictest limit
		source        string
	}{
		{"eu", "mass-gross-combination", with(four, facts{"trailer-spacing": unit.Length(1.3)}), 36, "StVZO § 34(6): 2+2, 1.3 m and more"},
		{"eu", "mass-gross-combination", with(wide, facts{"trailer-spacing": unit.Length(1.8)}), 36, "StVZO § 34(6): 38 t above 1.8 m only"},
		{"eu", "mass-gross-combination", wide, 38, "StVZO § 34(6)"},
		{"eu", "mass-gross-combination", with(wide, facts{"drive-suspension": "other"}), 36, "StVZO § 34(6): air or equivalent"},
		{"eu", "mass-gross-combination", with(wide, facts{"trailer-group-plate": unit.Mass(20001)}), 36, "StVZO § 34(6): tandem up to 20 t"},
		{"eu", "mass-gross-combination", with(inter33, facts{"axles-trailer": 2}), 44, "StVZO § 34(6): 3+2 intermodal"},
		{"eu", "mass-gross-combination", with(inter33, facts{"container-ft": 53}), 40, "96/53/EC 2.2.2: up to 45 ft"},
		{"eu", "mass-gross-tractor", with(three, facts{"axles-tractor": 2}), 18, "StVZO § 34(5)"},
		{"eu", "mass-gross-tractor", three, 26, "StVZO § 34(5)"},
		{"eu", "mass-gross-tractor", with(three, facts{"drive-suspension": "other"}), 25, "StVZO § 34(5)"},
		{"eu", "mass-gross-tractor", with(three, facts{"drive-suspension": "other", "max-drive-axle-plate": unit.Mass(9500)}), 26, "StVZO § 34(5)"},
		{"eu", "mass-gross-combination", with(artic23, facts{"fuel": "battery", "extra-technology-mass": -500.0}), 40, "a raise takes nothing away"},
		{"eu", "width", facts{"conditioned-body": true}, 2.6, "96/53/EC 1.2(b)"},
		{"de", "mass-gross-combination", with(de, facts{"axles-tractor": 2, "axles-trailer": 1}), 28, "StVZO § 34(6) no. 1"},
		{"de", "mass-gross-combination", with(de, facts{"axles-tractor": 3, "axles-trailer": 1}), 35, "StVZO § 34(6) no. 4"},
		{"de", "mass-gross-combination", with(de, facts{"axles-tractor": 3, "axles-trailer": 1, "tractor-gross-plate": unit.Mass(26000)}), 36, "StVZO § 34(6) no. 4"},
		{"de", "mass-gross-combination", with(with(artic23, plates), facts{"trailer-gross-plate": unit.Mass(33000)}), 39, "StVZO § 34(7) no. 3: 18 + 33 − 12"},
		{"de", "length-combination", facts{"longer-semi-trailer": true, "date": "2023-12-31", "intermodal": false}, 17.88, "LKWÜberlStVAusnV § 3"},
		{"fr", "mass-gross-combination", with(fr44, facts{"axles-trailer": 2}), 38, "R312-4 II: up to four axles"},
		{"fr", "mass-group", with(trailer3, facts{"spacing": unit.Length(1.35), "combination-mass": unit.Mass(44000)}), 27, "R312-6 II bis"},
		{"fr", "mass-group", with(trailer3, facts{"spacing": unit.Length(1.35), "combination-mass": unit.Mass(40000)}), 31.5, "R312-6 I: 3·10.5"},
		{"fr", "mass-axle", facts{"traffic": "national", "axles": 2, "group": "drive", "drive": true, "combination-mass": unit.Mass(40000)}, 11.5, "R312-6 II"},
		{"fr", "mass-axle", facts{"traffic": "international", "axles": 1, "group": "drive", "drive": true}, 11.5, "96/53/EC in international traffic"},
		{"uk", "mass-gross-combination", six, 44000, "SI 2000/3224, summary"},
		{"uk", "mass-gross-combination", with(six, facts{"euro-class": 1}), 41000, "SI 1998/3111 Sch. 2, summary"},
		{"uk", "mass-gross-combination", with(six, facts{"trailer-suspension": "other"}), 40000, "SI 1998/3111 Sch. 2, summary"},
		{"uk", "mass-gross-combination", with(six, facts{"kingpin-to-last-axle": unit.Length(7.271)}), 40000, "5 500 kg per m, up to the next 10 kg"},
		{"uk", "mass-gross-combination", with(six, facts{"axles-tractor": 2}), 40000, "five axles, summary"},
		{"uk", "mass-gross-combination", with(wide, facts{"trailer-spacing": unit.Length(1.8), "kingpin-to-last-axle": unit.Length(8)}), 38000, "SI 1998/3111 Sch. 1, summary: 1.8 m and more"},
		{"uk", "length-combination", facts{"trailer-body": "low-loader"}, 18, "SR 1999/454 reg. 6(1) item 6"},
		{"uk", "length-combination", with(long, facts{"axles-trailer": 2, "trailer-meets-kingpin-dimensions": true}), 16.5, "SI 2023/524: three axles at least"},
		{"us", "width", facts{"network": "national-network"}, 102, "49 U.S.C. 31113(a)"},
		{"us", "mass-gross-combination", facts{"fuel": "battery", "extra-technology-mass": unit.Mass(2001 * lb)}, 80000, "23 U.S.C. 127(s): up to 2,000 lb"},
		{"us-ca", "length-combination", facts{"network": "state"}, 65, "California Vehicle Code 35401(a)"},
		{"us-ca", "mass-axle-range", facts{"network": "state", "axles": 5, "spread": unit.Length(28 * ft)}, 65500, "California Vehicle Code 35551"},
		{"au", "height", facts{"trailer-body": "livestock"}, 4.6, "inspection manual section 16"},
		{"au", "rear-overhang", facts{"s-dimension": unit.Length(6)}, 3.6, "60 % of 6 m"},
		{"au", "rear-overhang", facts{"s-dimension": unit.Length(9.5)}, 3.7, "the lesser is 3.7 m"},
		{"nz", "lead-behind-axle", facts{"axles-rear": 1}, 0, "transport agency's page"},
		{"nz", "lead-behind-axle", facts{"axles-rear": 2}, 300, "transport agency's page"},
	} {
		if err := tt.facts.Check(); err != nil {
			t.Error(err)
		}
		got := math.NaN()
		for _, l := range open(t, tt.law).Limits(tt.quantity, tt.facts) {
			if !math.IsNaN(l.Value) && !(got <= l.Value) {
				got = l.Value
			}
		}
		if !(math.Abs(got-tt.want) <= 1e-9) {
			t.Errorf("%s %s %v: %v, want %v (%s)", tt.law, tt.quantity, tt.facts, got, tt.want, tt.source)
		}
	}
	for _, tt := range []struct{ law, quantity string }{{"us", "length-combination"}, {"us", "height"}, {"us", "kingpin-to-rearmost-axle"}, {"uk", "height"}} {
		if l := open(t, tt.law).Limits(tt.quantity, facts{"network": "interstate"}); len(l) != 0 {
			t.Errorf("%s limits %s: %+v; the law sets none", tt.law, tt.quantity, l)
		}
	}
}
