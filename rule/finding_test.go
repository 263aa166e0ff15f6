package rule_test

import (
	"fmt"
	"math"
	"testing"

	"underpin/rule"
	"underpin/unit"
)

func TestJudge(t *testing.T) {
	nan := math.NaN()
	for _, tt := range []struct {
		sense        rule.Sense
		value, limit float64
		want         rule.Answer
		margin       float64
		why          string
	}{
		{rule.AtMost, 12, 12, rule.Fits, 0, "exactly on the limit"},
		{rule.AtMost, 11.9 + 0.1, 12, rule.Fits, 0, "binary dust"},
		{rule.AtMost, 12.000001, 12, rule.DoesNotFit, -0.000001, "no tolerance for measuring"},
		{rule.AtMost, 40000.0001, 40000, rule.DoesNotFit, -0.0001, "a tenth of a gram too much"},
		{rule.AtMost, 0.1 + 0.2, 0.3, rule.Fits, 0, "binary dust"},
		{rule.AtLeast, 0.7 + 0.1, 0.8, rule.Fits, 0, "binary dust from below"},
		{rule.AtLeast, 5.299, 5.3, rule.DoesNotFit, -0.001, "below"},
		{rule.AtLeast, 5.4, 5.3, rule.Fits, 0.1, "above"},
		{rule.AtMost, 0, 0, rule.Fits, 0, "a limit of nothing"},
		{rule.AtMost, 3 * (0.1 + 0.2 - 0.3), 0, rule.Fits, 0, "dust at a limit of nothing"},
		{rule.AtMost, 1e-6, 0, rule.DoesNotFit, -1e-6, "a micrometre at a limit of nothing"},
		{rule.AtMost, -0.6, 0, rule.Fits, 0.6, "ahead of the axle"},
		{rule.AtMost, nan, 12, rule.CannotTell, nan, "value unknown"},
		{rule.AtMost, 12, nan, rule.CannotTell, nan, "limit unknown"},
		{rule.AtMost, math.Inf(-1), 12, rule.CannotTell, nan, "value not computed"},
		{rule.AtLeast, math.Inf(1), 12, rule.CannotTell, nan, "value not computed"},
		{"", 11, 12, rule.CannotTell, nan, "no sense given"},
	} {
		f := rule.Finding{Value: tt.value, Limit: tt.limit, Sense: tt.sense, Evidence: rule.Read}.Judge()
		if f.Answer != tt.want || !(math.Abs(f.Margin-tt.margin) <= 1e-9) && !(math.IsNaN(f.Margin) && math.IsNaN(tt.margin)) {
			t.Errorf("%s: %v %s %v: %s, margin %v; want %s, %v", tt.why, tt.value, tt.sense, tt.limit, f.Answer, f.Margin, tt.want, tt.margin)
		}
	}
	for evidence, binding := range map[rule.Evidence]bool{rule.Read: true, rule.Derived: true, rule.Practice: false, rule.Memory: false, "": false} {
		if f := (rule.Finding{Value: 1, Limit: 2, Sense: rule.AtMost, Evidence: evidence}).Judge(); f.Binding != binding || f.Answer != rule.Fits {
			t.Errorf("evidence %q: %+v", evidence, f)
		}
	}
}

func TestCheckCarriesItsReasons(t *testing.T) {
	l := open(t, "de").Limits("mass-group", with(trailer3, facts{"spacing": 1.31}))
	if len(l) != 1 {
		t.Fatalf("%+v", l)
	}
	f := l[0].Check("axle-loads", 24100)
	if f.ID != "eu-tri-axle-trailer" || f.Answer != rule.DoesNotFit || !f.Binding || f.Unit != unit.T || f.Calc != "axle-loads" ||
		f.Source == "" || f.Working == "" || f.Note == "" || f.Title == "" || !(math.Abs(f.Margin+0.1) <= 1e-9) || !(math.Abs(f.Value-24.1) <= 1e-9) {
		t.Errorf("%+v", f)
	}
	if n := testing.AllocsPerRun(100, func() { f = l[0].Check("axle-loads", 24100) }); n != 0 {
		t.Errorf("Check allocates %v times", n)
	}
}

func ExampleLimit_Check() {
	book, err := rule.Open("eu")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, l := range book.Limits("length-kingpin-rear", rule.Facts{"intermodal": false}) {
		f := l.Check("tape", float64(12.06*unit.Metre))
		fmt.Printf("%s: %.2f %s, %s %.2f: %s\n[%s]\n", f.Title, f.Value, f.Unit.Symbol, f.Sense, f.Limit, f.Answer, f.Source)
	}
	// Output:
	// Kingpin to the rear of the semi-trailer: 12.06 m, at most 12.00: does-not-fit
	// [Directive 96/53/EC, Annex I, point 1.6 (consolidated text of 14 August 2019)]
}
