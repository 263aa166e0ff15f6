package vehicle

import (
	"math"
	"strings"
	"testing"

	"underpin/unit"
)

func kilonewtons(n float64) *unit.Force { f := unit.Force(n) * unit.Kilonewton; return &f }

// certifiedFleet is the sound fleet without tape and scale, and the certificates
// that give the same: drive axle at 3700 mm, leads of 450 to 750 mm, so that the
// coupling at the least lead stands at 3250 mm; front end 1400 mm ahead of the
// front axle, rear end at 4600 mm; 13.6 m semi-trailer with 12 m behind the pin.
func certifiedFleet() *Fleet {
	f := sound()
	t, s := &f.Tractors[0], &f.Trailers[0]
	t.Certificate = &TractorCertificate{LeadMin: mm(450), LeadMax: mm(750), FrontToCoupling: mm(1400 + 3250), CouplingToRear: mm(4600 - 3250), D: kilonewtons(152), Imposed: kilos(20000)}
	for i, m := range []float64{5500, 2300} {
		t.Axles[i].Tare, t.Axles[i].RunningOrder = nil, kilos(m)
	}
	s.TarePin, s.TareBogie = nil, nil
	s.Certificate = &TrailerCertificate{Length: mm(13600), CouplingToRear: mm(12000), RunningPin: kilos(1900), D: kilonewtons(150)}
	for i, m := range []float64{1466, 1467, 1467} {
		s.Axles[i].RunningOrder = kilos(m)
	}
	return f
}

func TestDeriveFromCertificates(t *testing.T) {
	f := certifiedFleet()
	if errs := f.Validate(); len(errs) != 0 {
		t.Fatal(errs[0])
	}
	out := f.Derive()
	a, b := &f.Tractors[0], &f.Trailers[0]
	for _, tt := range []struct {
		what      string
		got       *unit.Length
		want      float64
		arithmetc string
	}{
		{"front overhang of the tractor", a.FrontOverhang, 1400, "4650 − 3250"},
		{"rear end of the tractor", a.RearEnd, 4600, "3250 + 1350"},
		{"rear end of the semi-trailer", b.RearEnd, 12000, "as printed"},
		{"front overhang of the semi-trailer", b.FrontOverhang, 1600, "13600 − 12000"},
	} {
		if tt.got == nil || !(math.Abs(float64(*tt.got)*1e3-tt.want) <= 1e-6) {
			t.Errorf("%s: %v, want %v mm (%s)", tt.what, tt.got, tt.want, tt.arithmetc)
		}
	}
	if m, ok := a.Tare(); !ok || m != 7800 || b.TarePin == nil || *b.TarePin != 1900 || *b.TareBogie != 4400 {
		t.Errorf("tares %v, %v and %v; want 7800, 1900 and 4400 kg", m, b.TarePin, b.TareBogie)
	}
	if w := a.FifthWheel; w.D == nil || *w.D != 152000 || *w.Imposed != 20000 || w.ReadFrom != "document" || *b.Kingpin.D != 150000 || b.Kingpin.ReadFrom != "document" {
		t.Errorf("marks %+v, %+v", w, b.Kingpin)
	}
	if len(out) != 2+2+2+2+2+1 {
		t.Errorf("%d values are explained: %+v", len(out), out)
	}
	for _, d := range out {
		if strings.Contains(d.Field, "tare") && !strings.Contains(d.Working, "weigh to know") {
			t.Errorf("%+v does not say that nobody weighed", d)
		}
	}
	for _, called := range append(a.Doubts(), f.Doubts(b)...) {
		if !strings.Contains(called, "is not weighed") {
			t.Errorf("doubt %q", called)
		}
	}
	if n := len(append(a.Doubts(), f.Doubts(b)...)); n != 2 {
		t.Errorf("%d doubts, want one for each vehicle that nobody weighed", n)
	}
	if again := f.Derive(); len(again) != 0 {
		t.Errorf("derived a second time: %+v", again)
	}
	if errs := f.Validate(); len(errs) != 0 {
		t.Errorf("what was derived is refused: %v", errs[0])
	}
}

// A fixed coupling whose certificate prints one lead stands there: 3700 − 600 mm.
func TestCertificateOfAFixedCoupling(t *testing.T) {
	f := certifiedFleet()
	w := &f.Tractors[0].FifthWheel
	w.Slider, w.At = nil, nil
	f.Tractors[0].Certificate = &TractorCertificate{LeadMin: mm(600), LeadMax: mm(600)}
	f.Derive()
	if w.At == nil || !(math.Abs(float64(*w.At)-3.1) <= 1e-9) {
		t.Errorf("at %v, want 3100 mm", w.At)
	}
	// With a tandem the datum of the certificate's lead is not certain, and nothing
	// is placed by it.
	f = certifiedFleet()
	f.Tractors[0].Axles = append(f.Tractors[0].Axles, Axle{Kind: "drive", Gap: mm(1320), RunningOrder: kilos(2000)})
	f.Derive()
	if f.Tractors[0].RearEnd != nil {
		t.Errorf("rear end %v placed from a lead of unknown datum", *f.Tractors[0].RearEnd)
	}
}

// What was taped, weighed or marked stands; where the certificate says otherwise it
// is refused or told.
func TestCertificateAgainstTheTape(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(t *Tractor, s *SemiTrailer)
		path   string // of the one error; empty: none
		found  string
		doubt  string // empty: none but that nobody weighed
	}{
		{"50 mm apart", func(t *Tractor, s *SemiTrailer) { s.RearEnd = mm(11950) }, "", "", ""},
		{"51 mm apart", func(t *Tractor, s *SemiTrailer) { s.RearEnd = mm(11949) }, "semi-trailer[0].certificate.coupling-to-rear", "rear-end = 12000 mm beside 11949 mm as given", ""},
		{"front of the semi-trailer", func(t *Tractor, s *SemiTrailer) { s.FrontOverhang = mm(1700) }, "semi-trailer[0].certificate.length", "front-overhang = 1600 mm beside 1700 mm", ""},
		{"front of the tractor", func(t *Tractor, s *SemiTrailer) { t.FrontOverhang = mm(1300) }, "tractor[0].certificate.front-to-coupling", "front-overhang = 1400 mm beside 1300 mm", ""},
		{"rear of the tractor", func(t *Tractor, s *SemiTrailer) { t.RearEnd = mm(4700) }, "tractor[0].certificate.coupling-to-rear", "rear-end = 4600 mm beside 4700 mm", ""},
		{"leads swapped", func(t *Tractor, s *SemiTrailer) { t.Certificate.LeadMin = mm(800) }, "tractor[0].certificate.lead-min", "lead-min = 800 mm above lead-max = 750 mm", ""},
		{"another fifth wheel", func(t *Tractor, s *SemiTrailer) {
			t.FifthWheel.D, t.FifthWheel.ReadFrom = kilonewtons(130), "plate"
		}, "", "", "D-value is 130 kN as given and 152 kN on the certificate"},
		{"another tractor", func(t *Tractor, s *SemiTrailer) { t.Axles[0].Tare, t.Axles[1].Tare = kilos(6500), kilos(2900) }, "", "", "9400 kg beside 7800 kg in running order"},
		{"heavier by its options", func(t *Tractor, s *SemiTrailer) { t.Axles[0].Tare, t.Axles[1].Tare = kilos(5650), kilos(2400) }, "", "", ""},
	} {
		f := certifiedFleet()
		tt.change(&f.Tractors[0], &f.Trailers[0])
		errs := f.Validate()
		switch {
		case tt.path == "" && len(errs) != 0, tt.path != "" && (len(errs) != 1 || errs[0].Path != tt.path || !strings.Contains(errs[0].Found, tt.found)):
			t.Errorf("%s: %v, want one error at %q that says %q", tt.name, errs, tt.path, tt.found)
		}
		if tt.path != "" {
			continue
		}
		f.Derive()
		var told []string
		for _, d := range append(f.Tractors[0].Doubts(), f.Doubts(&f.Trailers[0])...) {
			if !strings.Contains(d, "is not weighed") {
				told = append(told, d)
			}
		}
		if got := strings.Join(told, "\n"); (got == "") != (tt.doubt == "") || !strings.Contains(got, tt.doubt) {
			t.Errorf("%s: doubts %q, want %q", tt.name, got, tt.doubt)
		}
	}
	// A mark of unknown origin is not made sounder by what stands beside it.
	f := certifiedFleet()
	f.Tractors[0].FifthWheel.D = kilonewtons(152)
	f.Derive()
	if w := f.Tractors[0].FifthWheel; w.ReadFrom != "" || w.Imposed == nil {
		t.Errorf("read from %q", w.ReadFrom)
	}
}
