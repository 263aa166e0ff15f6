package rule_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"underpin/rule"
	"underpin/unit"
)

func TestAxleGroupLimit(t *testing.T) {
	const trailer, motor = true, false
	for _, tt := range []struct {
		q        rule.GroupQuery
		want     float64 // in the law's unit; NaN is not covered
		symbol   string
		eachAxle bool
		source   string
	}{
		{rule.GroupQuery{"eu", trailer, 2, 0.99, false, false, false}, 11, "t", false, "StVZO § 34(4) no. 3"},
		{rule.GroupQuery{"eu", trailer, 2, 1.80, false, false, false}, 20, "t", false, "StVZO § 34(4) no. 3"},
		{rule.GroupQuery{"eu", trailer, 3, 1.31, false, false, true}, 24, "t", false, "StVZO § 34(4) no. 4"},
		{rule.GroupQuery{"eu", trailer, 3, 1.41, false, false, true}, math.NaN(), "", false, "StVZO § 34(4) no. 4 ends at 1.4 m"},
		{rule.GroupQuery{"eu", motor, 2, 1.30, true, false, false}, 18, "t", false, "StVZO § 34(4) no. 2"},
		{rule.GroupQuery{"eu", motor, 2, 1.30, true, true, true}, 19, "t", false, "StVZO § 34(4) no. 2"},
		{rule.GroupQuery{"eu", motor, 2, 1.30, true, true, false}, 18, "t", false, "StVZO § 34(4) no. 2, no air"},
		{rule.GroupQuery{"de", motor, 2, 1.30, true, true, false}, 18, "t", false, "StVZO § 34(4) no. 2, no air"},
		{rule.GroupQuery{"de", motor, 2, 1.80, true, true, true}, math.NaN(), "", false, "StVZO § 34(4) no. 2 ends below 1.8 m"},
		{rule.GroupQuery{"eu", motor, 1, 0, true, true, true}, 11.5, "t", false, "StVZO § 34(4) no. 1"},
		{rule.GroupQuery{"eu", trailer, 1, 0, false, true, true}, 10, "t", false, "StVZO § 34(4) no. 1"},
		{rule.GroupQuery{"eu", trailer, 4, 1.31, false, true, true}, math.NaN(), "", false, "the table ends at three axles"},
		{rule.GroupQuery{"fr", trailer, 2, 1.30, false, false, true}, 10.15, "t", true, "Code de la route R312-6 I"},
		{rule.GroupQuery{"fr", trailer, 2, 0.90, false, false, true}, 7.35, "t", true, "Code de la route R312-6 I"},
		{rule.GroupQuery{"fr", motor, 2, 1.20, true, true, true}, 17.05, "t", false, "Code de la route R312-6 II"},
		{rule.GroupQuery{"fr", motor, 2, 1.80, true, true, true}, math.NaN(), "", false, "R312-6 ends below 1.80 m"},
		{rule.GroupQuery{"uk", trailer, 3, 1.30, false, false, true}, 21000, "kg", false, "SR 1999/258 Sch. 3 Table VI"},
		{rule.GroupQuery{"uk", trailer, 3, 1.31, false, false, true}, 24000, "kg", false, "SR 1999/258 Sch. 3 Table VI"},
		{rule.GroupQuery{"uk", motor, 2, 1.35, true, true, true}, 19000, "kg", false, "SR 1999/258 Sch. 3 Table V"},
		{rule.GroupQuery{"us", trailer, 2, 48 * unit.Inch, false, true, true}, 34000, "lb", false, "23 U.S.C. 127(a)(2)"},
		{rule.GroupQuery{"us", trailer, 3, 48 * unit.Inch, false, true, true}, 34000, "lb", false, "23 CFR 658.17: up to 96 in a tandem"},
		{rule.GroupQuery{"us", trailer, 2, 40 * unit.Inch, false, true, true}, 20000, "lb", false, "23 CFR 658.17: up to 40 in a single axle"},
		{rule.GroupQuery{"us", motor, 1, 0, true, true, true}, 20000, "lb", false, "23 U.S.C. 127(a)(2)"},
		{rule.GroupQuery{"us-ca", trailer, 2, 10 * unit.Foot, false, true, true}, 40000, "lb", false, "RCW 46.44.041"},
		{rule.GroupQuery{"au", motor, 2, 1.3, true, true, true}, 16.5, "t", false, "summary of the general mass limits"},
		{rule.GroupQuery{"nz", trailer, 2, 1.3, false, true, true}, math.NaN(), "", false, "the book holds no masses"},
	} {
		got, err := rule.AxleGroupLimit(tt.q)
		if math.IsNaN(tt.want) {
			var none *unit.NoAnswerError
			if !errors.As(err, &none) {
				t.Errorf("%+v: %v, %v; want a *unit.NoAnswerError (%s)", tt.q, got.Value, err, tt.source)
			}
			continue
		}
		if err != nil || !(math.Abs(got.Value-tt.want) <= 1e-9) || got.Unit.Symbol != tt.symbol || got.EachAxle != tt.eachAxle || got.Rule == nil {
			t.Errorf("%+v: %v %s, each axle %v, %v; want %v %s (%s)", tt.q, got.Value, got.Unit.Symbol, got.EachAxle, err, tt.want, tt.symbol, tt.source)
		}
		if !(math.Abs(got.Unit.ToSI(got.Value)-float64(got.Mass)) <= 1e-6) {
			t.Errorf("%+v: %v %s is not %v kg", tt.q, got.Value, got.Unit.Symbol, got.Mass)
		}
	}
	for _, bad := range []rule.GroupQuery{
		{Law: "eu", Axles: 0, Spacing: 1.3}, {Law: "eu", Axles: 2}, {Law: "eu", Axles: 2, Spacing: -1}, {Law: "eu", Axles: 2, Spacing: unit.Length(math.NaN())}, {Law: "eu", Axles: 1 << 40, Spacing: 1},
	} {
		_, err := rule.AxleGroupLimit(bad)
		refusedAsDomain(t, fmt.Sprint(bad), err)
	}
	var missing *rule.NotFoundError
	if _, err := rule.AxleGroupLimit(rule.GroupQuery{Law: "atlantis", Axles: 1}); !errors.As(err, &missing) {
		t.Errorf("unknown law: %v", err)
	}
}

func ExampleAxleGroupLimit() {
	g, err := rule.AxleGroupLimit(rule.GroupQuery{Law: "eu", Axles: 2, Spacing: 1.31, Drive: true, TwinTyres: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%g %s; could be more with: %v\n", g.Value, g.Unit.Symbol, g.Unless)
	// Output: 18 t; could be more with: [max-axle-plate]
}
