package mounting

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
)

func close(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// The worked example of handbook chapter 04, 3.2 (inputs invented there; the
// sinking derived twice): wheelbase 3.70 m, lead 0.575 m, tyre 494 mm, hub to
// frame 455, plate 12, coupling 185 → 1146 mm unladen; on air with the rear
// tyres sinking 22 mm 1127.4; on steel 1085.429476 mm and 0.695078739° tail-down.
func TestHeightsOfTheWorkedExample(t *testing.T) {
	const wheelbase, lead = 3.70, 0.575
	s := lead / wheelbase
	imposed := 6500 / (1 - s) // so that 6 500 kg come on the rear axle, 63.765 kN
	onFront := imposed * s
	plate := &Part{ID: "plate", Kind: Plate, Height: mmOf(12), StandsOn: []string{OnFrame}}
	wheel := &Part{ID: "wheel", Kind: FifthWheel, Height: mmOf(185), StandsOn: []string{Plate}}
	st := Stack{OnFrame, []*Part{plate, wheel}}
	length := func(mm float64) *unit.Length { return new(unit.Length(mm * 1e-3)) }
	tests := []struct {
		name                   string
		rear, front            Sink
		unladen, laden, degree float64
		tol                    float64 // mm: half of the last printed digit
	}{
		{"air", Sink{Suspension: "air", Under: new(unit.Mass(6500)), Tyres: length(22)}, Sink{Suspension: "air", Under: new(unit.Mass(onFront)), Tyres: length(0)}, 1146, 1127.4, math.NaN(), 0.05},
		// 63 765 N on 2·700 N/mm, 8 829 N on 2·250 N/mm; tyres 22 and 5 mm.
		{"steel", Sink{Suspension: "steel", Under: new(unit.Mass(6500)), Tyres: length(22), Springs: length(63765.0 / 1400)},
			Sink{Suspension: "steel", Under: new(unit.Mass(onFront)), Tyres: length(5), Springs: length(8829.0 / 500)}, 1146, 1085.429476, 0.695078739, 5e-7},
	}
	for _, test := range tests {
		c := &Chassis{ID: "c", TyreRadius: mmOf(494), AxleToFrame: mmOf(455), SinkRear: &test.rear, SinkFront: &test.front}
		g := groundOf(c, Datum{Rear: wheelbase})
		h := st.heightAt(c, &g, wheelbase-lead, 0, unit.Mass(imposed))
		if !close(h.Unladen.Millimetres(), test.unladen, 1e-9) || !close(h.Laden.Millimetres(), test.laden, test.tol) {
			t.Errorf("%s: %.6f mm unladen and %.6f laden, expected %g and %g", test.name, h.Unladen.Millimetres(), h.Laden.Millimetres(), test.unladen, test.laden)
		}
		if !math.IsNaN(test.degree) && !close(h.Tilt.Degrees(), test.degree, 5e-10) {
			t.Errorf("%s: %.9f° tail-down, expected %.9f", test.name, h.Tilt.Degrees(), test.degree)
		}
	}
}

// The parabola that the search cuts with is the clearance formulas' own height.
func TestParabolaIsTheFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := worldGen(t)
		g := groundOf(w.chassis, Datum{Rear: w.rear})
		if !g.knownSink {
			return
		}
		x := unit.Length(rapid.Float64Range(2, 4.2).Draw(t, "x"))
		d, err := g.drop(x, w.imposed)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := g.under(w.imposed).at(x), float64(g.frame(x)-d.Coupling); !close(got, want, 1e-12) {
			t.Fatalf("%.15f by the parabola, %.15f by the formula", got, want)
		}
	})
}

// Where a stack reaches is held against the heights themselves, place by place
// over a slider's travel, with a lift in steps or of any height.
func TestReachIsWhatItSays(t *testing.T) {
	inside, outside := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		pick := func(name string, of ...int) int { return rapid.SampledFrom(of).Draw(t, name) }
		c := &Chassis{ID: "c", FrameRear: mmOf(pick("rear", 900, 930, 960)), FrameFront: mmOf(pick("front", 930, 700, 860, 990, 1200)),
			SinkRear: &Sink{Suspension: "steel", Under: new(unit.Mass(6500)), Tyres: mmOf(20), Springs: mmOf(pick("springs", 40, 0, 200))}, SinkFront: &Sink{Suspension: "air", Under: new(unit.Mass(900)), Tyres: mmOf(5)}}
		g := groundOf(c, Datum{Rear: 3.7})
		r := &reach{ground: &g, imposed: unit.Mass(pick("imposed", 9000, 2000, 14000)), height: *mmOf(200), raises: []unit.Length{0}, travel: *mmOf(pick("travel", 0, 300, 600))}
		if pick("lift", 0, 1) == 1 {
			r.raises, r.between = []unit.Length{0, 0.02, 0.1}, pick("between", 0, 1) == 1
		}
		x0 := unit.Length(pick("about", 2900, 3100, 3300)) / 1e3
		for range pick("windows", 1, 2) {
			w := window{tolerance: *mmOf(pick("tolerance", 8, 0, 20, 40))}
			off := *mmOf(pick("off", 0, 5, -10, 30))
			if pick("unladen", 1, 0) == 1 {
				w.unladen = new(unit.Length(g.free().at(x0)) + r.height + off)
			} else {
				w.laden = new(unit.Length(g.under(r.imposed).at(x0)) + r.height + off)
			}
			r.windows = append(r.windows, w)
		}
		set := r.where()
		// short is how far the tolerance is missed over the travel, by the formulas.
		short := func(x unit.Length) float64 {
			worst := math.Inf(-1)
			for k := range 61 {
				p := x + r.travel*unit.Length(k)/60
				d, err := g.drop(p, r.imposed)
				if err != nil {
					t.Fatal(err)
				}
				for i := range r.windows {
					w := &r.windows[i]
					best := math.Inf(1)
					off := func(q unit.Length) float64 { // both sides of a window are one here
						if w.unladen != nil {
							return float64(g.frame(p) + r.height + q - *w.unladen)
						}
						return float64(g.frame(p) - d.Coupling + r.height + q - *w.laden)
					}
					for _, q := range r.raises {
						best = math.Min(best, math.Abs(off(q)))
					}
					if v := off(0); r.between && v < 0 && v > -float64(r.raises[len(r.raises)-1]) {
						best = 0
					}
					worst = math.Max(worst, best-float64(w.tolerance))
				}
			}
			return worst
		}
		for x := unit.Length(2.5); x < 3.9; x += 0.013 {
			switch d := short(x); {
			case d < -1e-6 && !set.Contains(x):
				t.Fatalf("at %.3f m it reaches with %.4f mm to spare, and the set is %v", x, -d*1e3, set)
			case d > 1e-6 && set.Contains(x):
				t.Fatalf("at %.3f m it misses by %.4f mm, and the set is %v", x, d*1e3, set)
			case d < -1e-6:
				inside++
			case d > 1e-6:
				outside++
			}
		}
	})
	if inside < 500 || outside < 500 {
		t.Errorf("%d places inside and %d outside: too few to prove anything", inside, outside)
	}
}

func TestHeightUnknown(t *testing.T) {
	wheel := &Part{ID: "wheel", Kind: FifthWheel, Height: mmOf(185)}
	st := Stack{OnFrame, []*Part{wheel}}
	c := &Chassis{ID: "c"}
	g := groundOf(c, Datum{Rear: 3.7})
	if h := st.heightAt(c, &g, 3.1, 0, 9000); h.Unladen != nil || h.Laden != nil {
		t.Errorf("a height came out of nothing: %+v", h)
	}
	c.FrameRear = mmOf(900)
	g = groundOf(c, Datum{Rear: 3.7})
	h := st.heightAt(c, &g, 3.1, 0, 9000)
	if h.Unladen == nil || h.Laden != nil || h.Raised != nil {
		t.Errorf("without sinks and lift of the suspension: %+v; expected the unladen height alone", h)
	}
	if h := st.heightAt(c, &g, 3.1, 0, unit.Mass(math.NaN())); h.Laden != nil {
		t.Errorf("a laden height under an unknown load: %v", *h.Laden)
	}
}
