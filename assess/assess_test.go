package assess_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/assess"
	"underpin/examples"
	"underpin/exchange"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

func caseLoads(t testing.TB, r *assess.Result, id string) assess.Loads {
	t.Helper()
	for _, l := range r.Loads {
		if l.Case == id {
			return l
		}
	}
	t.Fatalf("no loads for case %s", id)
	return assess.Loads{}
}

func group(t testing.TB, l assess.Loads, id string) float64 {
	t.Helper()
	for _, g := range l.Groups {
		if g.ID == id {
			return g.KG
		}
	}
	t.Fatalf("no group %s", id)
	return 0
}

// The reference vehicles, through the whole engine. Source of every number:
// handbook chapter 03, section 8 (derived from statics); tolerance half of the
// last printed digit.
func TestReferenceVehicles(t *testing.T) {
	lb := func(v float64) float64 { return v * float64(unit.Pound) }
	for _, tt := range []struct {
		file, tractor, trailer, law             string
		imposed, front, rear, bogie, gross, tol float64
	}{
		{"reference-a.toml", "tractor-a", "trailer-a", "eu", 10309.091, 7171.744, 10937.346, 21890.909, 40000, 0.0005},
		{"reference-b.toml", "tractor-b", "trailer-b", "uk", 11155.844, 5809.866, 5520.781 + 8825.197, 23844.156, 44000, 0.001},
		{"reference-c.toml", "tractor-c", "trailer-c", "us", lb(25955.56), lb(11883.6), lb(32572.0), lb(33544.44), lb(78000), lb(0.05)},
	} {
		r := pairing(t, tt.file, tt.tractor, tt.trailer, tt.law).Assess(assess.AimMargin)
		l := caseLoads(t, r, "laden")
		for _, v := range []struct {
			what      string
			got, want float64
		}{
			{"imposed", l.Imposed, tt.imposed}, {"front", group(t, l, "front"), tt.front}, {"rear", group(t, l, "rear"), tt.rear},
			{"bogie", group(t, l, "bogie"), tt.bogie}, {"gross", l.Gross, tt.gross},
		} {
			if !(math.Abs(v.got-v.want) <= tt.tol) {
				t.Errorf("%s: %s %.4f kg, want %.4f", tt.file, v.what, v.got, v.want)
			}
		}
	}
}

// Vehicle B axle by axle, and with the pusher lifted. Source: handbook chapter
// 03, section 8 B.
func TestReferenceBAxles(t *testing.T) {
	p := pairing(t, "reference-b.toml", "tractor-b", "trailer-b", "uk")
	r := p.Assess(assess.AimMargin)
	for n, want := range []float64{5809.866, 5520.781, 8825.197} {
		if got := caseLoads(t, r, "laden").Axles[n].KG; !(math.Abs(got-want) <= 0.0005) {
			t.Errorf("axle %d: %.4f kg, want %.3f", n+1, got, want)
		}
	}
	s := p.Now()
	s.TractorLifted = []int{2}
	l := caseLoads(t, p.At(s), "empty")
	for id, want := range map[string]float64{"front": 6287.805, "rear": 4712.195} {
		if got := group(t, l, id); !(math.Abs(got-want) <= 0.0005) {
			t.Errorf("pusher up, empty: %s %.4f kg, want %.3f", id, got, want)
		}
	}
}

// The lawful range of vehicle A at its laden load, without the tractor's plate
// that no position cures: 0.398 ≤ e ≤ 0.718 from drive axle and front axle
// (handbook chapter 03, 4.1), cut below by 16.50 m of length.
func TestReferenceARange(t *testing.T) {
	p := pairing(t, "reference-a.toml", "tractor-a", "trailer-a", "eu", "laden")
	r := p.Assess(assess.AimMargin)
	if r.Answer != rule.DoesNotFit || r.Range != nil || r.LeadOnly == nil {
		t.Fatalf("answer %s, range %v, lead only %v; want does-not-fit without a range, and one for the lead alone", r.Answer, r.Range, r.LeadOnly)
	}
	want := [2]float64{1.375 + 3.7 + 12.0 - 16.5, 3.7 * 2.0 / 10.309091} // length; (F_max − F_e)·L_T/K
	for i, w := range want {
		if !(math.Abs(float64(r.LeadOnly[i])-w) <= 1e-6) {
			t.Errorf("end %d of the range: %.6f m, want %.6f", i, float64(r.LeadOnly[i]), w)
		}
	}
	told := p.Tell(r, unit.Metric)
	if !strings.Contains(told.Lead, "no slide position can cure that") {
		t.Errorf("told %q", told.Lead)
	}
}

// every pairs all vehicles of the demo fleet.
func every(t testing.TB) []*assess.Pairing {
	t.Helper()
	f := fleetOf(t, "demo.toml")
	law := book(t, f.Law)
	var out []*assess.Pairing
	for i := range f.Tractors {
		for k := range f.Trailers {
			cases, err := assess.Cases(f, &f.Trailers[k], "empty", "laden")
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, assess.Compile(assess.Combination{Tractor: &f.Tractors[i], Trailer: &f.Trailers[k], Cases: cases, Law: law}))
		}
	}
	return out
}

// The closed-form range against trying positions one by one: a position holds
// if and only if it lies in a range.
func TestRangeAgainstTrying(t *testing.T) {
	tried, inside := 0, 0
	for _, p := range every(t) {
		base := p.At(p.Now())
		if base.Fixed || math.IsNaN(float64(base.Setting.Lead)) {
			continue
		}
		for k := range 13 {
			s := p.Now()
			s.Lead = base.Travel[0] + (base.Travel[1]-base.Travel[0])*unit.Length(float64(k)/12)
			r := p.At(s)
			if r.Answer == rule.CannotTell {
				continue
			}
			in := false
			for _, set := range r.Ranges {
				near := math.Min(math.Abs(float64(s.Lead-set[0])), math.Abs(float64(s.Lead-set[1])))
				in = in || (s.Lead >= set[0] && s.Lead <= set[1]) || near < 2e-5
			}
			tried++
			if r.Answer == rule.Fits {
				inside++
			}
			if (r.Answer == rule.Fits) != in {
				edge := false // within the halving of the exact lap
				for _, set := range r.Ranges {
					edge = edge || math.Abs(float64(s.Lead-set[0])) < 2e-5 || math.Abs(float64(s.Lead-set[1])) < 2e-5
				}
				if !edge {
					t.Errorf("%s with %s at %.4f m: %s, ranges %v", p.Tractor.ID, p.Trailer.ID, float64(s.Lead), r.Answer, r.Ranges)
				}
			}
		}
	}
	if tried < 300 || inside < 30 || inside == tried {
		t.Errorf("tried %d positions, %d of them hold: too few of a kind to prove anything", tried, inside)
	}
}

// The position chosen has the largest least margin of all slide positions: no
// other position on a fine grid does better.
func TestBestAgainstTrying(t *testing.T) {
	compared := 0
	for _, p := range every(t) {
		if p.Tractor.FifthWheel.Slider == nil {
			continue
		}
		p.Tractor.FifthWheel.Slider.Pitch = nil // any position of the travel
		p = assess.Compile(p.Combination)
		r := p.At(p.Now())
		best, ok := r.Best[assess.AimMargin]
		if !ok || r.Range == nil {
			continue
		}
		compared++
		for k := range 101 {
			x := r.Range[0] + (r.Range[1]-r.Range[0])*unit.Length(k)/100
			if x < 0 && best >= 0 {
				continue // behind the axle is cautioned against, and not chosen
			}
			if p.LeastMargin(x) > p.LeastMargin(best)+1e-9 {
				t.Errorf("%s with %s: %.4f m leaves %.6f, the chosen %.4f m leaves %.6f", p.Tractor.ID, p.Trailer.ID, float64(x), p.LeastMargin(x), float64(best), p.LeastMargin(best))
				break
			}
		}
	}
	if compared < 10 {
		t.Errorf("only %d pairs had a lawful range to compare in", compared)
	}
}

// Physics that holds whatever the vehicles: loads add up, the moment about the
// front axle vanishes, and moving the coupling there and back changes nothing.
func TestPhysics(t *testing.T) {
	pairs := every(t)
	rapid.Check(t, func(t *rapid.T) {
		p := pairs[rapid.IntRange(0, len(pairs)-1).Draw(t, "pair")]
		s := p.Now()
		if math.IsNaN(float64(s.Lead)) {
			s.Lead = 0.5
		}
		before := p.At(s)
		x := unit.Length(rapid.Float64Range(-0.4, 0.4).Draw(t, "x"))
		s.Lead += x
		moved := p.At(s)
		s.Lead -= x
		after := p.At(s)
		for c := range moved.Loads {
			l := moved.Loads[c]
			if math.IsNaN(l.Gross) {
				continue
			}
			sum, axles := 0.0, 0.0
			for _, g := range l.Groups {
				sum += g.KG
			}
			for _, a := range l.Axles {
				axles += a.KG
			}
			if math.Abs(sum-l.Gross) > 1e-6*l.Gross || math.Abs(axles-l.Gross) > 1e-6*l.Gross {
				t.Fatalf("%s with %s, %s: groups sum to %.6f, axles to %.6f, gross %.6f", p.Tractor.ID, p.Trailer.ID, l.Case, sum, axles, l.Gross)
			}
			// What the lead moves from the rear to the front goes nowhere else.
			b := before.Loads[c]
			if d := (l.Groups[0].KG - b.Groups[0].KG) + (l.Groups[1].KG - b.Groups[1].KG); math.Abs(d) > 1e-6 || math.Abs(l.Groups[2].KG-b.Groups[2].KG) > 1e-6 || math.Abs(l.Imposed-b.Imposed) > 1e-6 {
				t.Fatalf("moving the coupling by %v changed more than the share between front and rear", x)
			}
			for g := range b.Groups {
				if math.Abs(after.Loads[c].Groups[g].KG-b.Groups[g].KG) > 1e-6 {
					t.Fatalf("there and back by %v is not where it was", x)
				}
			}
		}
	})
}

// US customary and metric inputs of the same vehicles give the same answer.
func TestUnitsAgree(t *testing.T) {
	data, err := examples.Files.ReadFile("reference-c.toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet("reference-c.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	text, err := exchange.WriteFleet(&f.Fleet)
	if err != nil {
		t.Fatal(err)
	}
	metric := toMetric(t, string(text))
	if strings.Contains(metric, " lb'") || strings.Contains(metric, " in'") {
		t.Fatalf("not all metric:\n%s", metric)
	}
	g, err := exchange.ParseFleet("metric.toml", []byte(metric))
	if err != nil {
		t.Fatal(err)
	}
	answer := func(f *vehicle.Fleet) *assess.Result {
		book, _ := rule.Open("us")
		cases, err := assess.Cases(f, &f.Trailers[0])
		if err != nil {
			t.Fatal(err)
		}
		return assess.Compile(assess.Combination{Tractor: &f.Tractors[0], Trailer: &f.Trailers[0], Cases: cases, Law: book}).Assess(assess.AimMargin)
	}
	a, b := answer(&f.Fleet), answer(&g.Fleet)
	if a.Answer != b.Answer || len(a.Findings) != len(b.Findings) {
		t.Fatalf("US customary: %s with %d findings; metric: %s with %d", a.Answer, len(a.Findings), b.Answer, len(b.Findings))
	}
	byID := map[string]float64{}
	for _, x := range a.Findings {
		byID[x.ID+" "+x.Case] = x.Value
	}
	for _, x := range b.Findings {
		if want := byID[x.ID+" "+x.Case]; math.Abs(x.Value-want) > 1e-9*math.Max(1, math.Abs(want)) {
			t.Errorf("%s %s: %v in US customary, %v in metric", x.ID, x.Case, want, x.Value)
		}
	}
}

// toMetric rewrites each quantity of a fleet file in mm or kg.
func toMetric(t *testing.T, text string) string {
	var out strings.Builder
	for line := range strings.Lines(text) {
		parts := strings.Split(line, "'")
		for i := 1; i < len(parts); i += 2 {
			if v, err := unit.Parse(parts[i], unit.LengthDim); err == nil {
				parts[i] = unit.Text(v, unit.MM)
			} else if v, err := unit.Parse(parts[i], unit.MassDim); err == nil {
				parts[i] = unit.Text(v, unit.KG)
			}
		}
		out.WriteString(strings.Join(parts, "'"))
	}
	return out.String()
}

// A finding is monotone in its limit: raising a plate never turns a pass into a
// failure, and what is missing never becomes a pass.
func TestMonotoneInTheLimit(t *testing.T) {
	data, _ := examples.Files.ReadFile("reference-a.toml")
	book, _ := rule.Open("eu")
	rapid.Check(t, func(t *rapid.T) {
		f, err := exchange.ParseFleet("a", data)
		if err != nil {
			t.Fatal(err)
		}
		ask := func(plate *unit.Mass) rule.Answer {
			f.Tractors[0].GrossPlate = plate
			cases, _ := assess.Cases(&f.Fleet, &f.Trailers[0], "laden")
			r := assess.Compile(assess.Combination{Tractor: &f.Tractors[0], Trailer: &f.Trailers[0], Cases: cases, Law: book}).Assess(assess.AimMargin)
			for i := range r.Findings {
				if r.Findings[i].ID == "plate.tractor-gross" {
					return r.Findings[i].Answer
				}
			}
			t.Fatal("no finding on the tractor's plate")
			return ""
		}
		low := unit.Mass(rapid.Float64Range(15e3, 20e3).Draw(t, "plate"))
		high := low + unit.Mass(rapid.Float64Range(0, 5e3).Draw(t, "more"))
		if a, b := ask(&low), ask(&high); a == rule.Fits && b != rule.Fits {
			t.Fatalf("fits under %v and %s under %v", low, b, high)
		}
		if got := ask(nil); got != rule.CannotTell {
			t.Fatalf("without a plate: %s", got)
		}
	})
}

// Whatever is taken away from a vehicle's data, an answer of fits stays fits or
// becomes cannot-tell or fits-if; it never comes from missing data.
func TestMissingIsNeverAPass(t *testing.T) {
	data, _ := examples.Files.ReadFile("largest-eu.toml")
	book, _ := rule.Open("eu")
	for name, take := range map[string]func(*vehicle.Tractor, *vehicle.SemiTrailer){
		"axle tare":       func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.Axles[0].Tare = nil },
		"axle plate":      func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.Axles[1].Plate = nil },
		"gross plate":     func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.GrossPlate = nil },
		"train plate":     func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.TrainPlate = nil },
		"front overhang":  func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FrontOverhang = nil },
		"width":           func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.Width = nil },
		"height":          func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.Height = nil },
		"cab":             func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.Behind = nil },
		"rear corners":    func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.Corners = nil },
		"corner height":   func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.Corners[1].Height = nil },
		"levels":          func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.Levels = nil },
		"D":               func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.D = nil },
		"U":               func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.Imposed = nil },
		"mounting":        func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.Mounting = nil },
		"marks read from": func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.ReadFrom = "" },
		"from memory":     func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.ReadFrom = "memory" },
		"jaw":             func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.Pin = nil },
		"position":        func(t *vehicle.Tractor, _ *vehicle.SemiTrailer) { t.FifthWheel.At, t.FifthWheel.Slider = nil, nil },
		"tare at the pin": func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.TarePin, s.TareBogie = nil, nil },
		"kingpin plate":   func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.PinPlate = nil },
		"trailer gross":   func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.GrossPlate = nil },
		"bogie plates": func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) {
			s.BogiePlate = nil
			for i := range s.Axles {
				s.Axles[i].Plate = nil
			}
		},
		"payload":      func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Payload, s.PayloadAt = nil, nil },
		"headboard":    func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Headboard = nil },
		"overhang":     func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.FrontOverhang = nil },
		"rear end":     func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.RearEnd = nil },
		"plate height": func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.PlateHeight = nil },
		"clear radius": func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Clear = nil },
		"pin size":     func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Kingpin.Size = nil },
		"pin D":        func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Kingpin.D = nil },
		"an axle":      func(_ *vehicle.Tractor, s *vehicle.SemiTrailer) { s.Axles[1].At, s.Axles[1].Gap = nil, nil },
	} {
		f, err := exchange.ParseFleet("e", data)
		if err != nil {
			t.Fatal(err)
		}
		ask := func() *assess.Result {
			cases, err := assess.Cases(&f.Fleet, &f.Trailers[0])
			if err != nil {
				t.Fatal(err)
			}
			return assess.Compile(assess.Combination{Tractor: &f.Tractors[0], Trailer: &f.Trailers[0], Cases: cases, Law: book}).Assess(assess.AimMargin)
		}
		if r := ask(); r.Answer != rule.Fits {
			t.Fatalf("the complete example: %s, missing %v", r.Answer, r.Missing)
		}
		take(&f.Tractors[0], &f.Trailers[0])
		if r := ask(); r.Answer != rule.CannotTell || len(r.Missing) == 0 {
			t.Errorf("without %s: %s, missing %q; want cannot-tell that names it", name, r.Answer, r.Missing)
		}
	}
}

// A load far behind the bogie lifts the kingpin: 25.9 t centred 11.7 m behind a
// kingpin whose bogie is at 7.7 m leaves 1.9 + 25.9·(1 − 11.7/7.7) = −11.555 t
// on it (handbook chapter 03, 1.2), and that never fits.
func TestTippingNeverFits(t *testing.T) {
	data, _ := examples.Files.ReadFile("reference-a.toml")
	f, err := exchange.ParseFleet("a", data)
	if err != nil {
		t.Fatal(err)
	}
	*f.Trailers[0].PayloadAt = 13.3
	book, _ := rule.Open("eu")
	cases, _ := assess.Cases(&f.Fleet, &f.Trailers[0], "laden")
	r := assess.Compile(assess.Combination{Tractor: &f.Tractors[0], Trailer: &f.Trailers[0], Cases: cases, Law: book}).Assess(assess.AimMargin)
	if r.Answer != rule.DoesNotFit {
		t.Fatalf("answer %s", r.Answer)
	}
	for i := range r.Findings {
		if r.Findings[i].ID == "stand.kingpin" {
			if got := r.Findings[i].Value; r.Findings[i].Answer != rule.DoesNotFit || !(math.Abs(got-(-11554.545)) < 0.001) {
				t.Errorf("load on the kingpin %v kg: %s", got, r.Findings[i].Answer)
			}
			return
		}
	}
	t.Error("no finding on the kingpin bearing down")
}
