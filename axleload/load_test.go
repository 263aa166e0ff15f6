package axleload_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/axleload"
	"underpin/unit"
)

func TestLoadCentre(t *testing.T) {
	for _, tt := range []struct {
		name     string
		items    []axleload.Item
		mass, at float64
		tolAt    float64
		source   string
	}{
		{"six rows", []axleload.Item{{4.80 * t_, 1.2}, {5.40 * t_, 3.6}, {7.99 * t_, 6.55}, {3.00 * t_, 8.95}, {5.76 * t_, 10.8}, {5.80 * t_, 12.6}},
			32.75, 7.3182, 5e-5, "German load-securing handbook 6.2.5, table 3, first four rows as printed, two of our own; Σ m s 239.6725 (handbook chapter 03, P3b)"},
		{"laden trailer height, vehicle A", []axleload.Item{{6.3 * t_, 1.2}, {25.9 * t_, 2.1}},
			32.2, 1.923913, 5e-7, "handbook chapter 03, 6.1: h_s"},
		{"laden trailer centre, vehicle A", []axleload.Item{{6.3 * t_, 7.7 * 4.4 / 6.3}, {25.9 * t_, 5.2}},
			32.2, 5.234783, 5e-7, "handbook chapter 03, 6.1: x_s"},
	} {
		got, err := axleload.LoadCentre(tt.items)
		if err != nil {
			t.Fatal(err)
		}
		near(t, tt.name+" mass", got.Mass.Tonnes(), tt.mass, 1e-9, tt.source)
		near(t, tt.name+" at", float64(got.At), tt.at, tt.tolAt, tt.source)
	}
	// The printed moments of the four rows.
	for i, row := range [][3]float64{{4.80, 1.2, 5.76}, {5.40, 3.6, 19.44}, {7.99, 6.55, 52.3345}, {3.00, 8.95, 26.85}} {
		c, err := axleload.LoadCentre([]axleload.Item{{unit.Mass(row[0]), unit.Length(row[1])}})
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprint("moment of row ", i), float64(c.Mass)*float64(c.At), row[2], 5e-5, "German load-securing handbook 6.2.5, table 3")
	}
	_, err := axleload.LoadCentre(nil)
	wantNoAnswer(t, "no items", err)
	_, err = axleload.LoadCentre([]axleload.Item{{-1, 0}})
	wantDomain(t, "negative mass", err)
	_, err = axleload.LoadCentre([]axleload.Item{{1, unit.Length(math.NaN())}})
	wantDomain(t, "NaN", err)
}

func TestFromTicket(t *testing.T) {
	const src = "handbook chapter 03, 1.2, back-calculation"
	w, err := axleload.FromTicket(axleload.Ticket{Pair: vehicleA(), Front: 7.172 * t_, Rear: 10.937 * t_, Bogie: 21.891 * t_})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "K", w.Imposed.Tonnes(), 10.309, 5e-4, src)
	near(t, "K from the rear", w.ImposedFromRear.Tonnes(), 10.309, 5e-4, src+", second way")
	near(t, "x", float64(w.PayloadAt), 5.200, 5e-4, src)
	near(t, "P", w.Payload.Tonnes(), 25.9, 5e-4, src)

	// A lead entered 0.1 m wrong shows as a difference.
	p := vehicleA()
	p.Lead = 0.70
	w, err = axleload.FromTicket(axleload.Ticket{Pair: p, Front: 7.172 * t_, Rear: 10.937 * t_, Bogie: 21.891 * t_})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", w.Difference.Tonnes(), 8.637*3.7/3.0-10.309, 1e-9, "hand: 8.637/ρ − 10.309 with ρ = 3.0/3.7")

	empty, err := axleload.FromTicket(axleload.Ticket{Pair: vehicleA(), Front: 5.808 * t_, Rear: 3.892 * t_, Bogie: 4.4 * t_})
	wantNoAnswer(t, "empty", err)
	near(t, "K empty", empty.Imposed.Tonnes(), 1.9, 1e-9, "handbook chapter 03, 5.2, last row")
	_, err = axleload.FromTicket(axleload.Ticket{Pair: vehicleA(), Front: unit.Mass(math.NaN()), Rear: 1, Bogie: 1})
	wantDomain(t, "NaN", err)
}

func TestFromTicketUndoesLoads(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPair(t)
		p.Payload += 1000
		r, err := axleload.Loads(p)
		if err != nil {
			t.Fatal(err)
		}
		if r.Negative {
			return
		}
		w, err := axleload.FromTicket(axleload.Ticket{Pair: p, Front: r.Front, Rear: r.Rear, Bogie: r.Bogie})
		if err != nil {
			t.Fatal(err)
		}
		if !(math.Abs(float64(w.Payload-p.Payload)) <= 1e-6) || !(math.Abs(float64(w.PayloadAt-p.PayloadAt)) <= 1e-8) || !(math.Abs(float64(w.Difference)) <= 1e-6) {
			t.Errorf("%+v from %+v", w, p)
		}
	})
}

func ExampleLoadCentre() {
	c, err := axleload.LoadCentre([]axleload.Item{{4800, 1.2}, {5400, 3.6}, {7990, 6.55}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f kg at %.0f mm\n", c.Mass, c.At.Millimetres())
	// Output: 18190 kg at 4262 mm
}
