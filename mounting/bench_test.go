package mounting_test

import (
	"fmt"
	"testing"

	"underpin/mounting"
	"underpin/unit"
)

// twoHundred is a catalogue of 200 invented parts that all fit together: 50
// fifth wheels, 60 plates, 40 pedestals, 10 brackets, 25 sliders, 15 lifts, in
// steps of a millimetre or two, so that thousands of stacks reach a height.
func twoHundred() []mounting.Part {
	row := func(first, pitch float64, n int) *mounting.Pattern {
		return &mounting.Pattern{Mirrored: true, From: "invented", Rows: []mounting.Row{{First: length(first), Y: length(400), Pitch: length(pitch), Count: n, D: length(17)}}}
	}
	var out []mounting.Part
	add := func(kind string, n int, height, step, mass float64, stands ...string) {
		for i := range n {
			p := mounting.Part{ID: fmt.Sprintf("%s-%d", kind, i), Kind: kind, Height: length(height + step*float64(i)), Mass: new(unit.Mass(mass + float64(i))), Ahead: length(300), Behind: length(300),
				StandsOn: stands, D: new(unit.Force(100+i%3*60) * unit.Kilonewton), Imposed: new(unit.Mass(15+i%4*5) * unit.Tonne), ReadFrom: "plate", Foot: row(-120, 120, 3)}
			switch kind {
			case mounting.FifthWheel:
				p.Pin, p.Wedge, p.Tilting = length(50), new(false), "pitch"
			case mounting.Slider:
				p.Travel, p.Pitch = length(200+float64(i%4)*50), length(50)
			case mounting.Lift:
				p.Stroke = length(100)
			}
			if kind != mounting.FifthWheel {
				p.Top = row(-120, 40, 7)
			}
			out = append(out, p)
		}
	}
	add(mounting.FifthWheel, 50, 140, 2, 140, mounting.Plate, mounting.Pedestal, mounting.Slider, mounting.Lift)
	add(mounting.Plate, 60, 8, 1, 60, mounting.OnAngles, mounting.Bracket)
	add(mounting.Pedestal, 40, 20, 2, 30, mounting.Plate)
	add(mounting.Bracket, 10, 40, 5, 50, mounting.OnFrame)
	add(mounting.Slider, 25, 45, 1, 150, mounting.OnAngles, mounting.Plate)
	add(mounting.Lift, 15, 50, 2, 200, mounting.Plate)
	return out
}

// The whole question: positions of four semi-trailers under two load cases at
// both ends of the tolerance, then every stack of 200 parts.
func BenchmarkSearch(b *testing.B) {
	for _, aim := range []string{mounting.AimMargin, mounting.AimMass, mounting.AimTrailers, mounting.AimHeadroom} {
		b.Run(aim, func(b *testing.B) {
			s := demo(b)
			task := s.task(b, "heron-road")
			task.Parts, task.Brief.Aim = twoHundred(), aim
			found := 0
			for b.Loop() {
				f, err := task.Search(20)
				if err != nil {
					b.Fatal(err)
				}
				found = f.Count
			}
			b.ReportMetric(float64(found), "stacks")
		})
	}
}

// Nothing answers, for one reason or for several: the nearest miss in each way.
func BenchmarkSearchNone(b *testing.B) {
	for name, change := range map[string]func(*mounting.Task){
		"height":  func(t *mounting.Task) { t.Parts = t.Parts[:110] }, // fifth wheels and plates: 1105 to 1261 mm
		"several": func(t *mounting.Task) {},                          // no semi-trailer is lawful so high
	} {
		b.Run(name, func(b *testing.B) {
			s := demo(b)
			task := s.task(b, "heron-road")
			task.Parts = twoHundred()
			task.Brief.Heights[0].Unladen, task.Brief.Heights[0].Laden = length(1900), nil
			change(&task)
			if name == "height" {
				task.Brief.Heights[0].Unladen = length(1085)
			}
			for b.Loop() {
				f, err := task.Search(20)
				if err != nil || f.Count > 0 || len(f.Nearest) == 0 {
					b.Fatal(err, f.Count)
				}
			}
		})
	}
}

func BenchmarkSpecify(b *testing.B) {
	r := demo(b).request(b, "heron-plate")
	for b.Loop() {
		if _, err := mounting.Specify(r); err != nil {
			b.Fatal(err)
		}
	}
}
