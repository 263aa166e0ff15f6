package assess

import (
	"slices"
	"strings"
	"testing"

	"underpin/unit"
	"underpin/vehicle"
)

// A ticket that disagrees with what the answer rests on is a caution of every
// answer: 5,600 kg on the ticket beside 5,500 kg of tare.
func TestDoubtsAreCautions(t *testing.T) {
	c := ownVehicles()
	kg := func(v float64) *unit.Mass { return of(unit.Mass(v)) }
	c.Tractor.Weighbridge = &vehicle.TractorTicket{FrontOn: kg(5600), TractorOn: kg(7800)}
	c.Trailer.Weighbridge = &vehicle.TrailerTicket{Tractor: "t", FrontOn: kg(5600), TractorOn: kg(9800), AllOn: kg(14200)}
	f := vehicle.Fleet{Tractors: []vehicle.Tractor{*c.Tractor}, Trailers: []vehicle.SemiTrailer{*c.Trailer}}
	var err error
	if c.Cases, err = Cases(&f, c.Trailer, "empty"); err != nil {
		t.Fatal(err)
	}
	got := Compile(c).Assess(AimMargin).Cautions
	for _, want := range []string{"tractor t: the front axles' tare is 5600 kg", "semi-trailer s: tare-pin is 2000 kg", "the front axle read 5600 kg"} {
		if !slices.ContainsFunc(got, func(s string) bool { return strings.Contains(s, want) }) {
			t.Errorf("cautions %q lack %q", got, want)
		}
	}
}

// Points behind the cab that the front passes over or under tell nothing of what
// it meets: the answer asks for the one at its height.
func TestCabIsAskedForAtTheFrontsHeight(t *testing.T) {
	m := func(v float64) *unit.Length { return of(unit.Length(v)) }
	for _, tt := range []struct {
		name        string
		bottom, top float64
		asked       bool
	}{
		{"cab back", 1.0, 3.6, false},
		{"a tank below the plate", 0.4, 1.0, true},
		{"a deflector above the body", 4.1, 4.3, true},
	} {
		c := ownVehicles()
		c.Trailer.BodyHeight = m(2.7)
		c.Tractor.FifthWheel.Levels = []vehicle.Level{{Unladen: m(1.16), Laden: m(1.13)}}
		c.Tractor.Behind = []vehicle.Obstacle{{Name: "point", At: m(0.5), Bottom: m(tt.bottom), Top: m(tt.top)}}
		asked := slices.ContainsFunc(Compile(c).Assess(AimMargin).Missing, func(s string) bool {
			return s == "tractor t: behind-cab at the height of the semi-trailer's front, 1\u00a0130\u00a0mm to 3\u00a0830\u00a0mm above ground"
		})
		if asked != tt.asked {
			t.Errorf("%s: asked for %v, want %v", tt.name, asked, tt.asked)
		}
	}
}
