package web

import "testing"

// Sources as they stand in the rulebooks.
func TestShortSource(t *testing.T) {
	for long, want := range map[string]string{
		"Road Vehicles (Authorised Weight) Regulations 1998 (SI 1998/3111), Schedule 1 (at second hand); at second hand": "Road Vehicles (Authorised Weight) Regulations 1998",
		"Construction and use regulations of Northern Ireland (SR 1999/454), reg. 6(1) item 5":                           "Construction and use regulations of Northern Ireland",
		"Regulation (EU) No 1230/2012 as retained, Annex I Part D, 1.1.1(b) (text kept at legislation.gov.uk)":           "Regulation (EU) No 1230/2012 as retained, Annex I Part D, 1.1.1(b)",
		"statutory plate of the vehicle": "statutory plate of the vehicle",
	} {
		if got := shortSource(long); got != want {
			t.Errorf("%s\n is shortened to %q, want %q", long, got, want)
		}
	}
}
