package wear_test

import (
	"testing"
	"time"

	"underpin/wear"
)

func TestDatesAsText(t *testing.T) {
	for at := time.Date(1999, 12, 28, 0, 0, 0, 0, time.UTC); at.Year() < 2005; at = at.AddDate(0, 0, 1) {
		text := at.Format(time.DateOnly)
		var d wear.Date
		if err := d.UnmarshalText([]byte(text)); err != nil || d.String() != text {
			t.Fatalf("%s is read as %v, %v (package time)", text, d, err)
		}
	}
	var d wear.Date
	if err := d.UnmarshalText(nil); err != nil || d != (wear.Date{}) || d.String() != "" {
		t.Errorf("nothing is %v, %v", d, err)
	}
	for _, bad := range []string{"2026-02-30", "2026-13-01", "2026-00-10", "0000-01-01", "2026-1-1", "2026/01/01", "26-01-01", "2026-01-01 ", "2026-01-0a", "½½½½-½½-½½", "20260101"} {
		if err := d.UnmarshalText([]byte(bad)); err == nil {
			t.Errorf("%q is read as %v (ISO 8601)", bad, d)
		}
	}
}

func FuzzDate(f *testing.F) {
	for _, s := range []string{"2026-11-25", "2024-02-29", "2025-02-29", "", "----------", "½026-11-25"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		var d wear.Date
		err := d.UnmarshalText([]byte(s))
		_, timeErr := time.Parse(time.DateOnly, s)
		if s == "" || s[:min(4, len(s))] == "0000" { // package time has a year 0
			return
		}
		if (err == nil) != (timeErr == nil) {
			t.Errorf("%q: %v, package time says %v", s, err, timeErr)
		}
		if err == nil && d.String() != s {
			t.Errorf("%q is written as %q", s, d)
		}
	})
}
