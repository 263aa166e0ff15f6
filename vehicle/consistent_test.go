package vehicle

import (
	"math"
	"strings"
	"testing"
)

// Two values that cannot both be true are one error, at the field that is named.
// Each row takes the sound fleet and changes one thing.
func TestContradictionsAreRefused(t *testing.T) {
	whole := func() *Fleet {
		f := sound()
		t, s := &f.Tractors[0], &f.Trailers[0]
		t.RearEnd, t.Width, t.GrossPlate, t.TrainPlate = mm(4600), mm(2550), kilos(18000), kilos(44000)
		t.Behind = []Obstacle{{Name: "cab back", At: mm(500), Bottom: mm(1000), Top: mm(3600)}}
		t.Corners = []Corner{{At: mm(4600), HalfWide: mm(1275)}}
		t.FifthWheel.Levels = []Level{{Unladen: mm(1160), Laden: mm(1130), Raised: mm(1300)}}
		s.Kind, s.Width, s.RearEnd, s.FrontOverhang, s.Headboard, s.LoadLength = "box", mm(2550), mm(12000), mm(1600), mm(1550), mm(13500)
		s.Nose = []NosePoint{{Ahead: mm(1900), HalfWide: mm(500), Bottom: mm(800), Top: mm(2000)}}
		s.Legs, s.Clear, s.Corner = &Legs{Behind: mm(2500)}, mm(2300), mm(100)
		s.PinPlate, s.BogiePlate, s.GrossPlate = kilos(12000), kilos(27000), kilos(39000)
		return f
	}
	if errs := whole().Validate(); len(errs) != 0 {
		t.Fatal(errs[0])
	}
	for _, tt := range []struct {
		name            string
		change          func(t *Tractor, s *SemiTrailer)
		path            string
		found, expected string
	}{
		{"top and bottom swapped", func(t *Tractor, s *SemiTrailer) {
			o := &t.Behind[0]
			o.Bottom, o.Top = o.Top, o.Bottom
		}, "tractor[0].behind-cab[0].bottom", "bottom = 3600 mm, not below top = 1000 mm", "lowest point"},
		{"nose upside down", func(t *Tractor, s *SemiTrailer) { s.Nose[0].Bottom = mm(2000) }, "semi-trailer[0].nose[0].bottom", "bottom = 2000 mm", "lowest point"},
		{"frame ends ahead of the drive axle", func(t *Tractor, s *SemiTrailer) { t.RearEnd, t.Corners = mm(3600), nil }, "tractor[0].rear-end", "rear-end = 3600 mm, ahead of the last axle at 3700 mm", "behind the last axle"},
		{"body ends ahead of the last axle", func(t *Tractor, s *SemiTrailer) { s.RearEnd, s.LoadLength = mm(9000), nil }, "semi-trailer[0].rear-end", "ahead of the last axle at 9010 mm", "behind the last axle"},
		{"headboard ahead of the front wall", func(t *Tractor, s *SemiTrailer) { s.Headboard = mm(1700) }, "semi-trailer[0].headboard", "ahead of front-overhang = 1600 mm", "behind the outside"},
		{"headboard behind the pin", func(t *Tractor, s *SemiTrailer) { s.Headboard, s.LoadLength = mm(-1500), nil }, "semi-trailer[0].headboard", "headboard = -1500 mm on a box", "low-loader"},
		{"floor longer than the body", func(t *Tractor, s *SemiTrailer) { s.LoadLength = mm(13600) }, "semi-trailer[0].load-length", "longer than headboard = 1550 mm and rear-end = 12000 mm", "inside the body"},
		{"floor longer than the body, headboard not given", func(t *Tractor, s *SemiTrailer) { s.LoadLength, s.Headboard = mm(13650), nil }, "semi-trailer[0].load-length", "front-overhang = 1600 mm", "inside the body"},
		{"higher when laden", func(t *Tractor, s *SemiTrailer) { t.FifthWheel.Levels[0].Laden = mm(1200) }, "tractor[0].fifth-wheel.level[0].laden", "laden = 1200 mm above unladen = 1160 mm", "not above"},
		{"half a metre lower when laden", func(t *Tractor, s *SemiTrailer) { t.FifthWheel.Levels[0].Laden = mm(660) }, "tractor[0].fifth-wheel.level[0].laden", "500 mm below", "no suspension"},
		{"raised is lower", func(t *Tractor, s *SemiTrailer) { t.FifthWheel.Levels[0].Raised = mm(1100) }, "tractor[0].fifth-wheel.level[0].raised", "below unladen", "highest"},
		{"corner behind the end", func(t *Tractor, s *SemiTrailer) { t.Corners[0].At = mm(4700) }, "tractor[0].rear-corner[0].at", "behind rear-end = 4600 mm", "rearmost"},
		{"corner outside the width", func(t *Tractor, s *SemiTrailer) { t.Corners[0].HalfWide = mm(1400) }, "tractor[0].rear-corner[0].half-width", "half-width = 1400 mm", "centre line"},
		{"fifth wheel behind the frame", func(t *Tractor, s *SemiTrailer) {
			t.FifthWheel.Slider, t.FifthWheel.At = nil, mm(4700)
		}, "tractor[0].fifth-wheel.at", "behind rear-end", "on the frame"},
		{"legs behind the axles", func(t *Tractor, s *SemiTrailer) { s.Legs.Behind = mm(6400) }, "semi-trailer[0].legs.behind", "first axle at 6390 mm", "between"},
		{"nothing hangs nearer than the legs", func(t *Tractor, s *SemiTrailer) { s.Clear = mm(2600) }, "semi-trailer[0].clear-radius", "legs at 2500 mm", "least distance"},
		{"an axle ahead of the pin", func(t *Tractor, s *SemiTrailer) { s.Axles[0].At = mm(-500); s.Legs = nil }, "semi-trailer[0].axle[0].at", "at = -500 mm", "behind the kingpin"},
		{"a corner rounder than the front is wide", func(t *Tractor, s *SemiTrailer) { s.Corner, s.Width, s.Nose = mm(1300), mm(2500), nil }, "semi-trailer[0].corner-radius", "width = 2500 mm", "half of the width"},
		{"kingpin above the whole", func(t *Tractor, s *SemiTrailer) { s.PinPlate = kilos(40000) }, "semi-trailer[0].kingpin-plate", "above gross-plate = 39000 kg", "at most"},
		{"tractor above the train", func(t *Tractor, s *SemiTrailer) { t.TrainPlate = kilos(17000) }, "tractor[0].gross-plate", "above train-plate = 17000 kg", "at most"},
		{"a negative gap", func(t *Tractor, s *SemiTrailer) { s.Axles[1].Gap = mm(-1310) }, "semi-trailer[0].axle[1].gap", "gap = -1310 mm", "300 mm to 20 m"},
		{"a share that is no number", func(t *Tractor, s *SemiTrailer) { s.Axles[0].Share = part(math.NaN()) }, "semi-trailer[0].axle[0].share", "share = NaN", "0 to 1"},
		{"a rear end out of its bounds", func(t *Tractor, s *SemiTrailer) { s.RearEnd, s.LoadLength = mm(12), nil }, "semi-trailer[0].rear-end", "rear-end = 12 mm", "2 m to 35 m"},
		{"more than four axles that lift", func(t *Tractor, s *SemiTrailer) {
			for range 3 {
				s.Axles = append(s.Axles, Axle{Gap: mm(900)})
			}
			s.RearEnd = mm(13000)
			for i := range s.Axles {
				s.Axles[i].Liftable = i > 0
			}
		}, "semi-trailer[0].axle[5].liftable", "more than 4 liftable", "at most 4"},
		{"more axles than there are", func(t *Tractor, s *SemiTrailer) {
			for range 18 {
				s.Axles = append(s.Axles, Axle{Gap: mm(600)})
			}
			s.RearEnd = mm(22000)
		}, "semi-trailer[0]", "21 axles", "at most 20"},
	} {
		f := whole()
		tt.change(&f.Tractors[0], &f.Trailers[0])
		errs := f.Validate()
		if len(errs) != 1 || errs[0].Path != tt.path || !strings.Contains(errs[0].Found, tt.found) || !strings.Contains(errs[0].Expected, tt.expected) {
			t.Errorf("%s: %v\nwant one error at %s: found … %s …; expected … %s …", tt.name, errs, tt.path, tt.found, tt.expected)
		}
	}
	// What only looks odd is taken.
	for name, change := range map[string]func(t *Tractor, s *SemiTrailer){
		"a low-loader's load space begins behind the pin": func(t *Tractor, s *SemiTrailer) {
			s.Kind, s.Headboard, s.LoadLength = "low-loader", mm(-2700), mm(9000)
		},
		"air suspension keeps its height": func(t *Tractor, s *SemiTrailer) { t.FifthWheel.Levels[0].Laden = mm(1160) },
		"two tapes, 5 mm apart":           func(t *Tractor, s *SemiTrailer) { t.FifthWheel.Levels[0].Laden = mm(1165) },
		"four axles that lift": func(t *Tractor, s *SemiTrailer) {
			s.Axles = append(s.Axles, Axle{Gap: mm(1310)}, Axle{Gap: mm(1310)})
			for i := range s.Axles {
				s.Axles[i].Liftable = i > 0
			}
		},
	} {
		f := whole()
		change(&f.Tractors[0], &f.Trailers[0])
		if errs := f.Validate(); len(errs) != 0 {
			t.Errorf("%s: %v", name, errs)
		}
	}
}

// A ticket that disagrees with what was typed: nothing within three steps of the
// scale, a word beyond, refused beyond 3 % of the reading. Vehicle A: 5500 and
// 2300 kg, 1900 and 4400 kg; 3 % of 7800 kg are 234 kg, of 9700 kg 291 kg.
func TestTicketsAgainstTares(t *testing.T) {
	for _, tt := range []struct {
		name                  string
		front, tractor        float64
		coupled, all, frontOn float64
		doubts                string // all must be in the doubts; empty: none
		path, found           string // empty: no error
	}{
		{"they agree", 5500, 7800, 9700, 14100, 5808, "", "", ""},
		{"within the scale", 5540, 7860, 9740, 14140, 5840, "", "", ""},
		{"front a little off", 5600, 7800, 9700, 14100, 5808, "the front axles' tare is 5600 kg by the weighbridge ticket and 5500 kg as given", "", ""},
		{"tractor a little off", 5500, 8000, 9700, 14100, 5808, "the tractor's tare, axle by axle, is 8000 kg", "", ""},
		{"front far off", 6100, 7800, 9700, 14100, 5808, "", "tractor[0].weighbridge.front-on", "front-on = 6100 kg, by which the front axles' tare is 6100 kg beside 5500 kg"},
		{"tractor far off", 5500, 8100, 9700, 14100, 5808, "", "tractor[0].weighbridge.tractor-on", "8100 kg"},
		{"pin a little off", 5500, 7800, 9900, 14300, 0, "tare-pin is 2100 kg", "", ""},
		{"pin far off", 5500, 7800, 10100, 14500, 0, "", "semi-trailer[0].weighbridge.tractor-on", "tare-pin is 2300 kg beside 1900 kg"},
		{"bogie far off", 5500, 7800, 9700, 15000, 0, "", "semi-trailer[0].weighbridge.all-on", "tare-bogie is 5300 kg beside 4400 kg"},
		{"front reading of another lead", 5500, 7800, 9700, 14100, 5600, "5600 kg where this lead gives 5\u00a0808", "", ""},
	} {
		f := sound()
		f.Tractors[0].Weighbridge = &TractorTicket{FrontOn: kilos(tt.front), TractorOn: kilos(tt.tractor)}
		f.Trailers[0].Weighbridge = &TrailerTicket{Tractor: "a", TractorOn: kilos(tt.coupled), AllOn: kilos(tt.all)}
		if tt.frontOn > 0 {
			f.Trailers[0].Weighbridge.FrontOn = kilos(tt.frontOn)
		}
		errs := f.Validate()
		switch {
		case tt.path == "" && len(errs) != 0, tt.path != "" && (len(errs) != 1 || errs[0].Path != tt.path || !strings.Contains(errs[0].Found, tt.found)):
			t.Errorf("%s: %v, want one error at %q that says %q", tt.name, errs, tt.path, tt.found)
		}
		if tt.path != "" {
			continue
		}
		got := strings.Join(append(f.Tractors[0].Doubts(), f.Doubts(&f.Trailers[0])...), "\n")
		if (got == "") != (tt.doubts == "") || !strings.Contains(got, tt.doubts) {
			t.Errorf("%s: doubts %q, want %q", tt.name, got, tt.doubts)
		}
	}
	// What a ticket gave is not held against the ticket, and half a ticket tells nothing.
	f := sound()
	f.Trailers[0].TarePin, f.Trailers[0].TareBogie = nil, nil
	f.Trailers[0].Weighbridge = &TrailerTicket{Tractor: "a", TractorOn: kilos(9700), AllOn: kilos(14100)}
	f.Derive()
	if errs, d := f.Validate(), f.Doubts(&f.Trailers[0]); len(errs) != 0 || len(d) != 0 {
		t.Errorf("a derived tare is doubted: %v, %v", errs, d)
	}
	f.Tractors[0].Weighbridge = &TractorTicket{}
	f.Trailers[0].Weighbridge = &TrailerTicket{Tractor: "a"}
	if d := append(f.Tractors[0].Doubts(), f.Doubts(&f.Trailers[0])...); len(d) != 0 {
		t.Errorf("an empty ticket is doubted: %v", d)
	}
	// A tandem's front reading is told through its reaction line: 1320 mm spacing,
	// F = 5500 + 1900·(L_T − 3100)/L_T with L_T = 3700 + 660 mm.
	f = sound()
	f.Tractors[0].Axles[1].Tare = kilos(1150)
	f.Tractors[0].Axles = append(f.Tractors[0].Axles, Axle{Kind: "drive", Gap: mm(1320), Tare: kilos(1150)})
	want := 5500 + 1900*(4360-3100)/4360.0
	for _, off := range []float64{0, 100} {
		f.Trailers[0].Weighbridge = &TrailerTicket{Tractor: "a", FrontOn: kilos(want + off), TractorOn: kilos(9700), AllOn: kilos(14100)}
		if d := f.Doubts(&f.Trailers[0]); (len(d) != 0) != (off != 0) {
			t.Errorf("tandem, %v kg off: %v", off, d)
		}
	}
}
