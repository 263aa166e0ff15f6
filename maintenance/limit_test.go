package maintenance_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"underpin/maintenance"
	"underpin/record"
	"underpin/rule"
	"underpin/unit"
	"underpin/wear"
)

const (
	mm = float64(unit.Millimetre)
	in = float64(unit.Inch)
)

var doc = record.Source{Document: "Instructions of the type", Edition: "2025", Page: "31"}

// europe is a type record that holds the limits which a check value leans on: it
// stands for what a user copies from the document of the pin that is fitted.
func europe(pin string) record.TypeAdded {
	d := map[string][]record.Dimension{
		"50": {{Name: "pin-neck", New: "50.8 mm", Limit: "49.0 mm", Sense: "min", Reached: "replace the pin"}, {Name: "pin-collar", New: "73.0 mm", Limit: "71.0 mm", Sense: "min", Reached: "replace the pin"}},
		"90": {{Name: "pin-neck", New: "89 mm", Limit: "86 mm", Sense: "min", Reached: "replace the pin"}, {Name: "pin-collar", New: "114 mm", Limit: "112 mm", Sense: "min", Reached: "replace the pin"}},
	}[pin]
	return record.TypeAdded{Part: record.Kingpin, Name: "pin " + pin, Dimensions: d, Source: doc}
}

func TestLimitsAsPrinted(t *testing.T) {
	eu50 := maintenance.Regime{Countries: []string{"de"}, Pin: 50, Types: []record.TypeAdded{europe("50")}}
	eu90 := maintenance.Regime{Countries: []string{"de"}, Pin: 90, Types: []record.TypeAdded{europe("90")}}
	bare := maintenance.Regime{Countries: []string{"de"}, Pin: 50}
	in50 := func(countries ...string) maintenance.Regime { return maintenance.Regime{Countries: countries, Pin: 50} }
	const ch5 = "handbook chapter 05, check value "
	deg := float64(unit.Degree)
	tilt := func(offset float64) float64 {
		a, err := wear.PinTilt(unit.Length(offset*mm), unit.Length(84*mm))
		if err != nil {
			t.Fatal(err)
		}
		return float64(a)
	}
	for _, tt := range []struct {
		name    string
		regime  maintenance.Regime
		measure string
		value   float64
		layer   maintenance.Layer // one layer alone; empty: all of them
		country string            // of law, one country's alone
		holds   maintenance.Holds
		source  string
	}{
		{"new", eu50, maintenance.PinNeck, 50.8 * mm, "", "", maintenance.HoldsWithin, ch5 + "1"},
		{"49.1", eu50, maintenance.PinNeck, 49.1 * mm, "", "", maintenance.HoldsNear, ch5 + "2"},
		{"limit reached", eu50, maintenance.PinNeck, 49.0 * mm, "", "", maintenance.HoldsFailed, ch5 + "3"},
		{"a hair above", eu50, maintenance.PinNeck, 49.001 * mm, "", "", maintenance.HoldsNear, "hand: 49.0 itself is the limit"},
		{"48.5, standard", in50("de"), maintenance.PinNeck, 48.5 * mm, maintenance.Standard, "", maintenance.HoldsFailed, ch5 + "4"},
		{"48.5, US law alone", in50("us-md"), maintenance.PinNeck, 48.5 * mm, maintenance.Law, "us-md", maintenance.HoldsWithin, ch5 + "5"},
		{"47.625, US law", in50("us-md"), maintenance.PinNeck, 47.625 * mm, maintenance.Law, "us-md", maintenance.HoldsFailed, ch5 + "6"},
		{"47.7, US law", in50("us-md"), maintenance.PinNeck, 47.7 * mm, maintenance.Law, "us-md", maintenance.HoldsNear, ch5 + "7: pass"},
		{"47.7, all layers", in50("us-md"), maintenance.PinNeck, 47.7 * mm, "", "", maintenance.HoldsFailed, ch5 + "7: but fails the standard"},
		{"collar 71.0", eu50, maintenance.PinCollar, 71.0 * mm, "", "", maintenance.HoldsFailed, ch5 + "8"},
		{"collar 71.2", eu50, maintenance.PinCollar, 71.2 * mm, "", "", maintenance.HoldsNear, ch5 + "9: pass"},
		{"neck 50.0", eu50, maintenance.PinNeck, 50.0 * mm, "", "", maintenance.HoldsWithin, ch5 + "9: pass"},
		{"neck 49.5 is near", eu50, maintenance.PinNeck, 49.5 * mm, "", "", maintenance.HoldsNear, "handbook chapter 05, section 9: advisory from 49.5"},
		{"collar 71.5 is near", eu50, maintenance.PinCollar, 71.5 * mm, "", "", maintenance.HoldsNear, "handbook chapter 05, section 9: advisory from 71.5"},
		{"collar 69.85, US", in50("us-md"), maintenance.PinCollar, 69.85 * mm, maintenance.Law, "us-md", maintenance.HoldsFailed, ch5 + "10"},
		{"90: 86.0", eu90, maintenance.PinNeck, 86.0 * mm, "", "", maintenance.HoldsFailed, ch5 + "11"},
		{"90: 86.5", eu90, maintenance.PinNeck, 86.5 * mm, "", "", maintenance.HoldsNear, ch5 + "12"},
		{"90: collar 112.5", eu90, maintenance.PinCollar, 112.5 * mm, "", "", maintenance.HoldsNear, ch5 + "12"},
		{"90: collar 112", eu90, maintenance.PinCollar, 112 * mm, "", "", maintenance.HoldsFailed, ch5 + "13"},
		{"height 84.3", eu50, maintenance.PinHeight, 84.3 * mm, "", "", maintenance.HoldsFailed, ch5 + "14"},
		{"height 82.0", eu50, maintenance.PinHeight, 82.0 * mm, "", "", maintenance.HoldsFailed, ch5 + "15"},
		{"height 84.43, US window", in50("us"), maintenance.PinHeight, 84.43 * mm, "", "", maintenance.HoldsUnproven, ch5 + "16: pass; practice certifies nothing"},
		{"height 84.43, European window", in50("de"), maintenance.PinHeight, 84.43 * mm, "", "", maintenance.HoldsFailed, ch5 + "16: fails"},
		{"height 84.43, both regimes", in50("us", "de"), maintenance.PinHeight, 84.43 * mm, "", "", maintenance.HoldsFailed, ch5 + "16: flag the regime"},
		{"lean 1.2°", bare, maintenance.PinTilt, 1.2 * deg, "", "", maintenance.HoldsFailed, ch5 + "17"},
		{"lean of 1 degree", bare, maintenance.PinTilt, 1 * deg, "", "", maintenance.HoldsWithin, "TM 9-2330-335-14&P: replace above 1°"},
		{"offset 1.4 at 84", bare, maintenance.PinTilt, tilt(1.4), "", "", maintenance.HoldsWithin, ch5 + "18: 0.955°"},
		{"offset 1.5 at 84", bare, maintenance.PinTilt, tilt(1.5), "", "", maintenance.HoldsFailed, ch5 + "19: 1.023°"},
		{"gouge 3.2", bare, maintenance.PinGouge, 3.2 * mm, "", "", maintenance.HoldsFailed, ch5 + "20"},
		{"gouge 3.04", bare, maintenance.PinGouge, 3.04 * mm, "", "", maintenance.HoldsWithin, "TM 9-2330-335-14&P: deeper than 0.12 in = 3.048 mm"},
		{"bow down 6.0", bare, maintenance.BowDownWide, 6.0 * mm, "", "", maintenance.HoldsWithin, ch5 + "22"},
		{"bow down 6.35", bare, maintenance.BowDownWide, 6.35 * mm, "", "", maintenance.HoldsWithin, "TM 9-2330-335-14&P: at most 1/4 in"},
		{"bow down 3.5 near", bare, maintenance.BowDownNear, 3.5 * mm, "", "", maintenance.HoldsFailed, ch5 + "23"},
		{"bow up 1.7", bare, maintenance.BowUp, 1.7 * mm, "", "", maintenance.HoldsFailed, ch5 + "24"},
		{"bow up 1.7, Quebec", in50("ca-qc"), maintenance.BowUp, 1.7 * mm, maintenance.Law, "", maintenance.HoldsFailed, ch5 + "24"},
		{"unevenness 2.2", bare, maintenance.Unevenness, 2.2 * mm, "", "", maintenance.HoldsFailed, ch5 + "25"},
		{"unevenness 2.0", bare, maintenance.Unevenness, 2.0 * mm, "", "", maintenance.HoldsUnproven, "common practice: at most 2 mm"},
		{"play 12.0, Utah", in50("us-ut"), maintenance.Play, 12.0 * mm, maintenance.Law, "us-ut", maintenance.HoldsWithin, ch5 + "32: legal pass"},
		{"play 12.7 exactly", in50("us-ut"), maintenance.Play, 12.7 * mm, maintenance.Law, "us-ut", maintenance.HoldsWithin, ch5 + "33"},
		{"play 12.9, US", in50("us-ut"), maintenance.Play, 12.9 * mm, maintenance.Law, "", maintenance.HoldsFailed, ch5 + "34"},
		{"play 12.9, Quebec", in50("ca-qc"), maintenance.Play, 12.9 * mm, maintenance.Law, "", maintenance.HoldsFailed, ch5 + "34"},
		{"play 12.75, Quebec", in50("ca-qc"), maintenance.Play, 12.75 * mm, maintenance.Law, "", maintenance.HoldsWithin, "Quebec C-24.2, r. 32: more than 12.8 mm"},
		{"jaw 7.0, Maryland", in50("us-md"), maintenance.JawMovement, 7.0 * mm, "", "", maintenance.HoldsFailed, ch5 + "35"},
		{"pivot 9.6, US", in50("us"), maintenance.PivotPlay, 9.6 * mm, "", "", maintenance.HoldsFailed, ch5 + "38"},
		{"pivot 6, AU", in50("au"), maintenance.PivotPlay, 6 * mm, "", "", maintenance.HoldsFailed, ch5 + "38"},
		{"slider 9.0, Utah", in50("us-ut"), maintenance.SliderPlay, 9.0 * mm, "", "", maintenance.HoldsWithin, ch5 + "39: US pass"},
		{"slider 9.0, Maryland", in50("us-md"), maintenance.SliderPlay, 9.0 * mm, "", "", maintenance.HoldsFailed, ch5 + "39"},
		{"slider 9.0, AU", in50("au"), maintenance.SliderPlay, 9.0 * mm, "", "", maintenance.HoldsFailed, ch5 + "39"},
		{"pad 3.0", bare, maintenance.PadMovement, 3.0 * mm, "", "", maintenance.HoldsFailed, ch5 + "40"},
		{"pad 2.9", bare, maintenance.PadMovement, 2.9 * mm, "", "", maintenance.HoldsUnproven, "common practice: movement of 3 mm"},
		{"insert 1.5", in50("us"), maintenance.InsertLeft, 1.5 * mm, "", "", maintenance.HoldsFailed, ch5 + "41"},
		{"lift 12.7", in50("us"), maintenance.InsertLift, 12.7 * mm, "", "", maintenance.HoldsFailed, ch5 + "41"},
		{"one frame fastener gone", in50("us-ut"), maintenance.FastenersGone, 1, maintenance.Law, "", maintenance.HoldsFailed, ch5 + "45"},
		{"none gone", in50("us-ut"), maintenance.FastenersGone, 0, "", "", maintenance.HoldsWithin, "Utah Admin. Code R714-162-10"},
		{"3 of 12 slider pins, Quebec", in50("ca-qc"), maintenance.SliderPinsOut, 3.0 / 12, maintenance.Law, "", maintenance.HoldsFailed, ch5 + "46"},
		{"2 of 12 slider pins, Quebec", in50("ca-qc"), maintenance.SliderPinsOut, 2.0 / 12, maintenance.Law, "", maintenance.HoldsWithin, "Quebec C-24.2, r. 32: 25 % or more"},
		{"48.2, NZ without maker", in50("nz"), maintenance.PinNeck, 48.2 * mm, maintenance.Law, "", maintenance.HoldsFailed, ch5 + "48: 5.12 %"},
		{"48.3, NZ without maker", in50("nz"), maintenance.PinNeck, 48.3 * mm, maintenance.Law, "", maintenance.HoldsNear, "VIRM: 5 % of 50.8 is 48.26"},
		{"not measured", eu50, maintenance.PinNeck, math.NaN(), "", "", maintenance.HoldsUnmeasured, "missing data is never a pass"},
		{"nothing known", in50("de"), "lock-wear", 10 * mm, "", "", maintenance.HoldsNoLimit, "no default for a type's own dimension"},
		{"law alone where makers set limits", in50("us-md"), maintenance.PinNeck, 50.5 * mm, "", "", maintenance.HoldsUnproven, "law is mostly wide; no stored type data is never a default pass"},
		{"practice alone", in50("de"), maintenance.PinNeck, 50.5 * mm, "", "", maintenance.HoldsUnproven, "practice and memory never certify"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			all, problems := tt.regime.Limits()
			if len(problems) > 0 {
				t.Fatal(problems)
			}
			all = slices.DeleteFunc(all, func(l maintenance.Limit) bool {
				return tt.layer != "" && l.Layer != tt.layer || tt.country != "" && l.Country != tt.country
			})
			if h := maintenance.Hold(tt.measure, tt.value, all); h.Holds != tt.holds {
				t.Errorf("%s: %s, want %s (%s); %+v", tt.measure, h.Holds, tt.holds, tt.source, h.Findings)
			}
		})
	}
}

func TestTypeRecordGoesBeforePractice(t *testing.T) {
	own := record.TypeAdded{Part: record.Kingpin, Name: "x", Source: doc, Dimensions: []record.Dimension{{Name: "pin-neck", Limit: "49.3 mm", Sense: "min"}, {Name: "lock-wear", Limit: "17.5 mm", Sense: "min"}, {Name: "rim", Limit: "twelve", Sense: "max"}}}
	limits, problems := maintenance.Regime{Countries: []string{"de"}, Pin: 50, Types: []record.TypeAdded{own}}.Limits()
	if len(problems) != 1 {
		t.Errorf("%v; want the one bad dimension named", problems)
	}
	for _, l := range limits {
		if l.Measure == "pin-neck" && l.Layer == maintenance.Maker && l.Evidence != rule.Read {
			t.Errorf("practice %+v stands beside the type's own", l)
		}
	}
	h := maintenance.Hold("pin-neck", 49.2*mm, limits)
	if f, ok := h.Strictest(); !ok || h.Holds != maintenance.HoldsFailed || f.Limit.Printed != "49.3 mm" {
		t.Errorf("%+v; the maker's 49.3 governs", h)
	}
	if len(h.Findings) != 2 {
		t.Errorf("%d layers shown, want maker and standard", len(h.Findings))
	}
	if h := maintenance.Hold("lock-wear", 17.5*mm, limits); h.Holds != maintenance.HoldsFailed {
		t.Errorf("17.5 of 17.5: %s (handbook chapter 05, 2.2: replaced when it reaches 17.5)", h.Holds)
	}
}

// TestMakersBoundaries holds values that equal a maker's limit against it.
func TestMakersBoundaries(t *testing.T) {
	types := []record.TypeAdded{{Part: record.Kingpin, Name: "x", Source: doc, Dimensions: []record.Dimension{
		{Name: "pin-height", Limit: "82.5 mm", Sense: "min"}, {Name: "pin-height", Limit: "84 mm", Sense: "max"}, {Name: "pin-neck", Limit: "49 mm", Sense: "min"},
		{Name: "pad-movement", Limit: "3 mm", Sense: "max"}, {Name: "pivot-play", Limit: "5 mm", Sense: "max"}, {Name: "rim", Limit: "8 mm", Sense: "min"}, {Name: "gap", Limit: "8 mm", Sense: "max"}}}}
	limits, _ := maintenance.Regime{Countries: []string{"de"}, Pin: 50, Types: types}.Limits()
	for _, tt := range []struct {
		measure string
		value   float64
		failed  bool
		source  string
	}{
		{"pin-height", 84, false, "handbook chapter 05, 1.1: out above 84"}, {"pin-height", 84.01, true, "hand"}, {"pin-height", 82.5, false, "out below 82.5"}, {"pin-height", 82.49, true, "hand"},
		{"pin-neck", 49, true, "handbook chapter 05: replaced when the limit is reached"}, {"pad-movement", 3, true, "handbook chapter 05, check value 40"}, {"pivot-play", 5, false, "handbook chapter 05, 2.3: more than 5 mm"},
		{"rim", 8, true, "reached"}, {"gap", 8, true, "reached"}, {"gap", 7.99, false, "hand"},
	} {
		if h := maintenance.Hold(tt.measure, tt.value*mm, limits); (h.Holds == maintenance.HoldsFailed) != tt.failed {
			t.Errorf("%s %g: %s (%s)", tt.measure, tt.value, h.Holds, tt.source)
		}
	}
}

func TestEveryLimitIsWhole(t *testing.T) {
	seen := map[string]bool{}
	count := 0
	for _, c := range []string{"de", "us-md", "us-ut", "ca-qc", "au", "nz", "uk"} {
		for _, pin := range []int{50, 90} {
			limits, _ := maintenance.Regime{Countries: []string{c}, Pin: pin}.Limits()
			for _, l := range limits {
				count++
				seen[l.Key] = true
				if _, ok := maintenance.FindMeasure(l.Measure); !ok || l.Key == "" || l.Printed == "" || l.Source == "" || l.Reached.Key == "" || l.Evidence == "" {
					t.Errorf("%+v is not whole", l)
				}
				if l.Layer == maintenance.Law && l.Country == "" {
					t.Errorf("%s: law of no country", l.Key)
				}
			}
		}
	}
	if count == 0 || len(seen) < 40 {
		t.Errorf("looked at %d limits, %d different ones", count, len(seen))
	}
}

func TestStrictestGoverns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var limits []maintenance.Limit
		fails := []maintenance.Fails{maintenance.AtOrBelow, maintenance.Below, maintenance.AtOrAbove, maintenance.Above}
		for range rapid.IntRange(1, 6).Draw(t, "n") {
			limits = append(limits, maintenance.Limit{Measure: "x", Fails: rapid.SampledFrom(fails).Draw(t, "fails"),
				Value: float64(rapid.IntRange(0, 20).Draw(t, "limit")) * mm, Evidence: rule.Read})
		}
		v := float64(rapid.IntRange(0, 20).Draw(t, "value")) * mm
		h := maintenance.Hold("x", v, limits)
		any := false
		least := math.Inf(1)
		for _, l := range limits {
			failed, margin := l.Failed(v)
			any = any || failed
			least = min(least, margin)
		}
		if any != (h.Holds == maintenance.HoldsFailed) {
			t.Fatalf("a limit failed is %v, and it says %s", any, h.Holds)
		}
		if f, _ := h.Strictest(); any != f.Failed || !any && f.Margin != least {
			t.Fatalf("strictest %+v, least margin %g", f, least)
		}
	})
}

func TestApproachHeights(t *testing.T) {
	const source = "handbook chapter 05, check value 49"
	for _, tt := range []struct {
		below  float64
		want   maintenance.Approach
		source string
	}{
		{60, maintenance.ApproachLow, source}, {30, maintenance.ApproachRight, source}, {-5, maintenance.ApproachHigh, source},
		{50, maintenance.ApproachRight, "at most 50 mm below"}, {0, maintenance.ApproachRight, "hand"}, {math.NaN(), maintenance.ApproachUnknown, "missing data is never a pass"},
	} {
		if got := maintenance.JudgeApproach(unit.Length(tt.below * mm)); got != tt.want {
			t.Errorf("%g mm below: %s, want %s (%s)", tt.below, got, tt.want, tt.source)
		}
	}
}

func TestCracks(t *testing.T) {
	for _, tt := range []struct {
		place   maintenance.CrackPlace
		country string
		exempt  bool
		source  string
	}{
		{maintenance.CrackRamp, "us-ut", true, "handbook chapter 05, check value 47"},
		{maintenance.CrackCastRib, "us-ut", true, "Utah Admin. Code R714-162-10"},
		{maintenance.CrackElsewhere, "us-ut", false, "Utah Admin. Code R714-162-10"},
		{maintenance.CrackRamp, "de", false, "no exemption was found"},
	} {
		if got, _ := maintenance.CrackExempt(tt.place, tt.country); got != tt.exempt {
			t.Errorf("%s in %s: %v, want %v (%s)", tt.place, tt.country, got, tt.exempt, tt.source)
		}
	}
}

func TestKeepRecords(t *testing.T) {
	today := day(2026, 11, 25)
	for _, tt := range []struct {
		name       string
		countries  []string
		what       string
		made, left maintenance.Date
		open       bool
		until      maintenance.Date
		source     string
	}{
		{"14 months old, UK", []string{"uk"}, "service", day(2025, 9, 25), maintenance.Date{}, true, day(2026, 12, 25), "handbook chapter 05, check value 52"},
		{"14 months old, US", []string{"us"}, "service", day(2025, 9, 25), maintenance.Date{}, false, day(2026, 9, 25), "handbook chapter 05, check value 52"},
		{"14 months old, US, sold four months ago", []string{"us-md"}, "service", day(2025, 9, 25), day(2026, 7, 25), true, day(2027, 1, 25), "handbook chapter 05, check value 52: unless sold"},
		{"both countries: the longest", []string{"us", "uk"}, "service", day(2025, 9, 25), maintenance.Date{}, true, day(2026, 12, 25), "hand"},
		{"no law known", []string{"de"}, "service", day(2025, 9, 25), maintenance.Date{}, false, maintenance.Date{}, "hand"},
	} {
		k, err := maintenance.KeepUntil(tt.countries, tt.what, tt.made, tt.left, today)
		if err != nil || k.Open != tt.open || k.Until != tt.until {
			t.Errorf("%s: %+v, %v; want %v until %v (%s)", tt.name, k, err, tt.open, tt.until, tt.source)
		}
	}
	if _, err := maintenance.KeepUntil([]string{"uk"}, "service", day(2026, 2, 30), maintenance.Date{}, today); err == nil {
		t.Error("30 February is a day")
	}
}
