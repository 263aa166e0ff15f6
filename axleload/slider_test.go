package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"underpin/axleload"
	"underpin/unit"
)

func TestTandemSlider(t *testing.T) {
	const src = "handbook chapter 03, 4.2, case C with S = 5,500 lb"
	base, err := axleload.Loads(vehicleC(0))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ forward, want float64 }{{4, 232.7}, {6, 350.6}, {12, 710.0}, {-6, -342.0}, {0, 0}} {
		s, err := axleload.TandemSlider(vehicleC(0), 5500*lb, unit.Length(486-tt.forward)*in)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint(tt.forward, " in forward"), (s.Bogie - base.Bogie).Pounds(), tt.want, 0.05, src)
		near(t, "K + B", (s.Imposed + s.Bogie).Pounds(), 59500, 1e-6, src)
		if tt.forward == 0 {
			near(t, "lb/in", s.PerForward*float64(in)/float64(lb), 57.7, 0.05, src)
		}
	}
	_, err = axleload.TandemSlider(vehicleC(0), 9101*lb, 480*in)
	wantDomain(t, "running gear above the bogie's tare", err)
	_, err = axleload.TandemSlider(vehicleC(0), 5500*lb, unit.Length(math.NaN()))
	wantDomain(t, "NaN", err)
}
