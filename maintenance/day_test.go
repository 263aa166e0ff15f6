package maintenance

import (
	"testing"
	"time"
)

// TestDayNumbers goes through every day of eight hundred years with the standard
// library beside it.
func TestDayNumbers(t *testing.T) {
	first := Date{Year: 1600, Month: 1, Day: 1}
	at := time.Date(1600, 1, 1, 0, 0, 0, 0, time.UTC)
	from := number(first)
	for n := range 292_200 {
		y, m, d := at.Date()
		want := Date{Year: y, Month: int(m), Day: d}
		if got := fromNumber(from + n); got != want {
			t.Fatalf("day %d is %v, package time says %v", n, got, want)
		}
		if got := number(want); got != from+n {
			t.Fatalf("%v is day %d, want %d", want, got-from, n)
		}
		at = at.AddDate(0, 0, 1)
	}
}
