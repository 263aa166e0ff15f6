package fleet

import (
	"fmt"
	"testing"
	"time"

	"underpin/record"
)

// BenchmarkEnterReadings enters a delivery as people send them: a quarter of a year of
// two readings a day of a thousand vehicles, each held against those before.
func BenchmarkEnterReadings(b *testing.B) {
	const vehicles, apiece = 1000, 180
	y := newYard(b)
	for i := range vehicles {
		y.trailer(fmt.Sprintf("marsh-%d", i))
	}
	y.clock.pass(20 * 365 * 24 * time.Hour)
	from := record.At(morning)
	n := 0
	for b.Loop() {
		b.StopTimer()
		rows := make([]ReadingRow, 0, vehicles*apiece)
		for j := range apiece { // day by day, as a feed has them
			at := from + record.Time(n*apiece+j)*12*hour
			for i := range vehicles {
				rows = append(rows, ReadingRow{Vehicle: fmt.Sprintf("marsh-%d", i), Meter: record.HubMeter, At: at, Metres: int64(n*apiece+j) * 150_000, Unit: "km"})
			}
		}
		n++
		b.StartTimer()
		report, err := y.EnterReadings(y.ctx, Readings{Rows: rows})
		if err != nil || report.Entered != len(rows) || len(report.Questions) > 0 {
			b.Fatal(report, err)
		}
	}
	b.ReportMetric(float64(vehicles*apiece*b.N)/b.Elapsed().Seconds(), "readings/s")
}
