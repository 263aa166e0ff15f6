package maintenance_test

import (
	"fmt"

	"underpin/maintenance"
	"underpin/record"
	"underpin/unit"
	"underpin/wear"
)

// A worn pin whose type record was copied from its document: the maker's limit,
// the standard's and a law's stand side by side, and the strictest governs.
func ExampleHold() {
	pin := record.TypeAdded{Part: record.Kingpin, Name: "our 50 mm pin", Source: record.Source{Document: "Instructions of the pin", Edition: "2025"},
		Dimensions: []record.Dimension{{Name: maintenance.PinNeck, New: "50.8 mm", Limit: "49.0 mm", Sense: "min"}}}
	limits, _ := maintenance.Regime{Countries: []string{"us-md"}, Pin: 50, Types: []record.TypeAdded{pin}}.Limits()
	h := maintenance.Hold(maintenance.PinNeck, float64(48.5*unit.Millimetre), limits)
	fmt.Println(h.Holds)
	for _, f := range h.Findings {
		fmt.Printf("%-8s %-11s failed: %v\n", f.Limit.Layer, f.Limit.Printed, f.Failed)
	}
	// Output:
	// limit reached
	// standard 49.0 mm     failed: true
	// maker    49.0 mm     failed: true
	// law      1.875 in    failed: false
	// law      1/8 in worn failed: false
}

func ExampleForecastWear() {
	part := maintenance.LifeOf(50.8*unit.Millimetre, []maintenance.Moment{
		{At: 200_000 * unit.Kilometre, Size: 49.95 * unit.Millimetre}, {At: 350_000 * unit.Kilometre, Size: 49.45 * unit.Millimetre},
	})
	assumed := wear.Learnt{Prior: wear.Prior{StartSD: 0.05 * unit.Millimetre, Rate: 0.30 * wear.MillimetrePer100000km, RateSD: 0.08 * wear.MillimetrePer100000km,
		Drift: 0.0025 * wear.SquareMillimetrePer100000km, GaugeSD: 0.10 * unit.Millimetre}}
	today := maintenance.Date{Year: 2026, Month: 1, Day: 1}
	f, err := maintenance.ForecastWear(maintenance.ForecastAsk{Measure: maintenance.PinNeck, Limit: 49.0 * unit.Millimetre, Life: part, Fleet: assumed,
		Usage: wear.Usage{PerDay: 380 * unit.Kilometre, SD: 40 * unit.Kilometre}, ReadOn: today, Today: today})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Label)
	fmt.Printf("%.0f km, %v at the earliest (one in twenty is sooner)\n", float64(f.Careful.Distance/unit.Kilometre), f.Careful.On)
	// Output:
	// 2 readings of this part; fleet assumed
	// 71218 km, 2026-07-04 at the earliest (one in twenty is sooner)
}

func ExamplePlanVisits() {
	plan, err := maintenance.PlanVisits(maintenance.PlanAsk{
		Today: maintenance.Date{Year: 2026, Month: 1, Day: 1}, Visit: 120, Free: []int{0, 480, 480, 480, 480, 0, 0, 480, 480, 480},
		Jobs: []maintenance.Job{
			{Key: "grease", Vehicle: "vehicle/7", Latest: 8, PerDay: 2, Minutes: 30},
			{Key: "full check", Vehicle: "vehicle/7", Latest: 9, PerDay: 6, Minutes: 120},
			{Key: "new pin", Vehicle: "vehicle/23", Latest: 6, PerDay: 15, Minutes: 180},
		},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range plan.Visits {
		fmt.Println(v.Vehicle, "day", v.Day, "jobs", v.Jobs)
	}
	fmt.Println("cost", plan.Cost)
	// Output:
	// vehicle/23 day 4 jobs [2]
	// vehicle/7 day 8 jobs [0 1]
	// cost 276
}
