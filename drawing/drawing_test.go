package drawing_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"underpin/assess"
	"underpin/drawing"
	"underpin/rule"
	"underpin/scene"
	"underpin/unit"
	"underpin/vehicle"
)

// makers are the three drawings.
var makers = []struct {
	name string
	make func(*assess.Pairing, *assess.Result, drawing.Options) *scene.Scene
}{{"side", drawing.Side}, {"plan", drawing.Plan}, {"turn", drawing.Turning}}

// variants are the options that change what is drawn where.
var variants = []struct {
	name string
	o    drawing.Options
}{
	{"desk", drawing.Options{}},
	{"phone", drawing.Options{Phone: true}},
	{"US desk", drawing.Options{Units: unit.USCustomary}},
	{"US phone", drawing.Options{Units: unit.USCustomary, Phone: true}},
	{"1:50", drawing.Options{Scale: 50, NoBlock: true}},
}

// everyPair calls do for the pairs of all example files: all of the small files,
// and each tractor and each semi-trailer of the demo several times.
func everyPair(t testing.TB, do func(name string, p *assess.Pairing, r *assess.Result)) {
	for _, file := range []string{"reference-a", "reference-b", "reference-c", "wb-40", "largest-eu", "demo"} {
		f := fleet(t, file)
		for i := range f.Tractors {
			for k := range f.Trailers {
				if (i+2*k)%3 != 0 && len(f.Tractors) > 1 {
					continue
				}
				for _, c := range []string{vehicle.CaseEmpty, vehicle.CaseLaden} {
					p := pair(t, f, f.Tractors[i].ID, f.Trailers[k].ID, c)
					do(f.Tractors[i].ID+" with "+f.Trailers[k].ID+" "+c, p, p.Assess(assess.AimMargin))
				}
			}
		}
	}
}

// Nothing lies off the sheet and no lettering runs into other lettering, in any
// drawing of any pair of the examples.
func TestNothingOverlaps(t *testing.T) {
	everyPair(t, func(name string, p *assess.Pairing, r *assess.Result) {
		for _, m := range makers {
			for _, v := range variants {
				if m.name == "turn" && strings.HasSuffix(name, vehicle.CaseEmpty) {
					continue // the turn does not depend on the load
				}
				checkSheet(t, m.name+" "+v.name+": "+name, readSVG(t, svg(t, m.make(p, r, v.o))))
			}
		}
	})
}

// wheelsOf returns the tyre of each axle of a vehicle, in the model.
func wheelsOf(p *paper, vehicle string) map[string]shape {
	out := map[string]shape{}
	for _, s := range p.shapes {
		for _, g := range s.groups {
			if n := g["data-axle"]; s.kind == "circle" && g["data-vehicle"] == vehicle {
				if have, ok := out[n]; !ok || s.r > have.r {
					out[n] = s
				}
			}
		}
	}
	return out
}

// The drawing is to scale: between the drawn axles lie the distances of the
// fleet file, the tyres have its radii and stand on one line, and the kingpin
// stands where the setting has it.
func TestTrueToScale(t *testing.T) {
	everyPair(t, func(name string, p *assess.Pairing, r *assess.Result) {
		for _, v := range variants {
			sheet := readSVG(t, svg(t, drawing.Side(p, r, v.o)))
			tol := 0.0015 * sheet.scale // an SVG has three decimals of a paper mm
			near := func(what string, got, want float64) {
				t.Helper()
				if !(math.Abs(got-want) <= tol) {
					t.Errorf("%s %s: %s is drawn as %.2f mm, want %.2f", v.name, name, what, got, want)
				}
			}
			tractor, trailer := wheelsOf(sheet, "tractor"), wheelsOf(sheet, "semi-trailer")
			first := sheet.model(tractor["1"].centre)
			check := func(axles []vehicle.Axle, at func(int) (unit.Length, bool), drawn map[string]shape, from float64, up []int) {
				for i := range axles {
					x, ok := at(i)
					w, found := drawn[strconv.Itoa(i+1)]
					if !ok || !found {
						continue
					}
					c := sheet.model(w.centre)
					near("place of an axle", c.X-from, x.Millimetres())
					if a := axles[i].TyreRadius; a != nil {
						near("tyre radius", w.r*sheet.scale, a.Millimetres())
						lifted := false
						for _, n := range up {
							lifted = lifted || n == i+1
						}
						if !lifted {
							near("foot of a tyre", c.Y-w.r*sheet.scale, 0)
						} else if !(c.Y-w.r*sheet.scale > 50) {
							t.Errorf("%s: a lifted wheel stands on the ground", name)
						}
					}
				}
			}
			check(p.Tractor.Axles, p.Tractor.AxleAt, tractor, first.X, r.Setting.TractorLifted)
			if at := r.Setting.At.Millimetres(); !math.IsNaN(at) {
				check(p.Trailer.Axles, p.Trailer.AxleAt, trailer, first.X+at, r.Setting.TrailerLifted)
			}
		}
	})
}

// What a script is told is enough to move the drawing to another lead: moved by
// the rule in the package's documentation, the parts that move lie where the
// drawing of that lead has them, on the same sheet.
func TestMovesWithLead(t *testing.T) {
	p := pair(t, fleet(t, "reference-a"), "", "", "laden")
	now := p.Now()
	other := now
	other.Lead, other.At = now.Lead+0.100, now.At-0.100
	for _, o := range []drawing.Options{{}, {Phone: true}} {
		a, b := readSVG(t, svg(t, drawing.Side(p, p.At(now), o))), readSVG(t, svg(t, drawing.Side(p, p.At(other), o)))
		if a.w != b.w || a.h != b.h || a.scale != b.scale || math.Abs(a.x-b.x) > 1e-6 {
			t.Errorf("the sheet changes with the lead: %v × %v at 1:%v from %v and %v × %v at 1:%v from %v", a.w, a.h, a.scale, a.x, b.w, b.h, b.scale, b.x)
		}
		for _, id := range []string{"side-slide", "side-slide-handle", "side-slide-knob", "side-payload"} {
			from, to := a.group(id), b.group(id)
			if len(from) == 0 || len(from) != len(to) {
				t.Fatalf("%s: %d parts and %d", id, len(from), len(to))
			}
			for i := range from {
				if from[i].kind == "text" || from[i].class == "halo" {
					continue // the figure is another, and keeps inside its scale
				}
				g := map[string]string{}
				for _, x := range from[i].groups {
					for k, v := range x {
						g[k] = v
					}
				}
				dx := (number(t, g["data-lead-mm"]) - 700) / number(t, g["data-mm-per-unit"])
				for k := range from[i].pts {
					if q, want := from[i].pts[k].Add(dx, 0), to[i].pts[k]; !(math.Abs(q.X-want.X) < 0.003 && math.Abs(q.Y-want.Y) < 0.003) {
						t.Fatalf("%s: part %d moved to %.3f, %.3f; drawn at %.3f, %.3f", id, i, q.X, q.Y, want.X, want.Y)
					}
				}
			}
		}
	}
}

// The handle tells a script the travel, the lawful leads and the positions.
func TestHandle(t *testing.T) {
	p := pair(t, fleet(t, "demo"), "heron-07", "weir-34", "laden")
	sheet := readSVG(t, svg(t, drawing.Side(p, p.Assess(assess.AimMargin), drawing.Options{ID: "x"})))
	for _, id := range []string{"x-slide-handle", "x-slide-knob"} {
		var g map[string]string
		for _, s := range sheet.group(id) {
			for _, x := range s.groups {
				if x["id"] == id {
					g = x
				}
			}
		}
		// The fleet file: slider 2950 to 3350 mm, every 50 mm, drive axle at 3700 mm.
		for k, want := range map[string]string{"data-travel-mm": "350 750", "data-lawful-mm": "350 750", "data-pitch-mm": "50", "data-lead-mm": "600", "data-rearmost-mm": "350", "class": "moves-with-lead lead-handle"} {
			if g[k] != want {
				t.Errorf("%s: %s = %q, want %q", id, k, g[k], want)
			}
		}
	}
}

// A group over its limit carries sign and colour; others do not.
func TestOverLimit(t *testing.T) {
	f := fleet(t, "reference-b")
	up := true
	f.Tractors[0].Axles[1].Lifted = &up
	p := pair(t, f, "", "", "laden")
	for _, tt := range []struct {
		name string
		r    *assess.Result
		rear string // reference B: 14.35 t on two axles holds; with the pusher up 12.53 t is over 10.5 t
	}{{"lifted", p.At(p.Now()), "fails"}, {"down", p.At(assess.Setting{Lead: p.Now().Lead, At: p.Now().At, TractorLifted: []int{}, TrailerLifted: []int{}}), "holds"}} {
		sheet := readSVG(t, svg(t, drawing.Side(p, tt.r, drawing.Options{})))
		state, marked := "", false
		for _, s := range sheet.group("side-load-rear") {
			for _, g := range s.groups {
				if g["id"] == "side-load-rear" {
					state = g["data-state"]
				}
			}
			marked = marked || strings.HasPrefix(s.class, "mark-fails")
		}
		if state != tt.rear || marked != (tt.rear == "fails") {
			t.Errorf("%s: state %q, cross %v; want %q", tt.name, state, marked, tt.rear)
		}
	}
}

// What nobody knows is not drawn in full lines. Of the WB-40 design vehicle
// lengths are published and nothing else: no outline of it can be full.
func TestUnknownIsDashed(t *testing.T) {
	p := pair(t, fleet(t, "wb-40"), "", "", "empty")
	sheet := readSVG(t, svg(t, drawing.Side(p, p.Assess(assess.AimMargin), drawing.Options{})))
	n := 0
	for _, id := range []string{"side-tractor", "side-slide", "side-cab"} {
		for _, s := range sheet.group(id) {
			n++
			if !strings.HasSuffix(s.class, "-unknown") && !strings.Contains(s.class, "-unknown-") && s.class != "gap" {
				t.Errorf("%s: a %s on the layer %q", id, s.kind, s.class)
			}
		}
	}
	if n < 10 {
		t.Errorf("looked at %d parts", n)
	}
	var all strings.Builder
	for _, s := range sheet.shapes {
		all.WriteString(s.text + "\n")
	}
	for _, want := range []string{"tyre radius", "coupling height", "body height", "back of the cab"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("%q is not named as unknown", want)
		}
	}
}

// While something is missing no lead is lawful yet: the slide has no filled bar, no
// figures of a range, and the title block says that the range is not known.
func TestUnknownRangeIsAnOutline(t *testing.T) {
	p := pair(t, fleet(t, "demo"), "heron-07", "mire-61", "laden")
	r := p.Assess(assess.AimMargin)
	if r.Answer != rule.CannotTell {
		t.Fatalf("the example answers %s", r.Answer)
	}
	scene := drawing.Side(p, r, drawing.Options{ID: "x"})
	sheet := readSVG(t, svg(t, scene))
	outlines := 0
	for _, s := range sheet.shapes {
		switch s.class {
		case "lawful":
			t.Error("a bar is filled as lawful")
		case "lawful-unknown":
			outlines++
		}
		for _, g := range s.groups {
			if g["data-lawful-mm"] != "" {
				t.Errorf("a script is told that %q is lawful", g["data-lawful-mm"])
			}
		}
	}
	if outlines == 0 {
		t.Error("what may be lawful has no outline")
	}
	for _, c := range scene.Block {
		if c.Label == "lawful range" && c.Value != "not known" {
			t.Errorf("the title block says %q", c.Value)
		}
	}
}

// Every word goes through Words: with them all marked, no plain English is left
// but names and what the data say.
func TestWordsAreTranslated(t *testing.T) {
	check := func(name string, s *scene.Scene, own ...string) {
		texts := s.Texts()
		for _, c := range s.Block {
			texts = append(texts, c.Label, c.Value)
		}
		texts = append(texts, s.Title, s.Desc)
		for _, text := range texts {
			rest := text
			for { // a line may begin or end within a phrase
				a, b := strings.Index(rest, "⟦"), strings.Index(rest, "⟧")
				if a < 0 && b < 0 {
					break
				}
				switch {
				case b >= 0 && (a < 0 || b < a):
					rest = rest[b+len("⟧"):]
				case b < 0:
					rest = rest[:a]
				default:
					rest = rest[:a] + rest[b+len("⟧"):]
				}
			}
			for _, o := range own {
				rest = strings.ReplaceAll(rest, o, "")
			}
			for _, w := range strings.FieldsFunc(rest, func(r rune) bool { return !('a' <= r && r <= 'z' || 'A' <= r && r <= 'Z') }) {
				if len(w) > 2 {
					t.Errorf("%s: %q in %q is not translated", name, w, text)
				}
			}
		}
	}
	mark := func(s string) string { return "⟦" + s + "⟧" }
	everyPair(t, func(name string, p *assess.Pairing, r *assess.Result) {
		own := []string{p.Tractor.Title(), p.Trailer.Title(), p.Law.Title, "laden", "empty"}
		for i := range p.Tractor.Behind {
			own = append(own, p.Tractor.Behind[i].Name)
		}
		for i := range p.Tractor.Corners {
			own = append(own, p.Tractor.Corners[i].Name)
		}
		for i := range p.Trailer.Nose {
			own = append(own, p.Trailer.Nose[i].Name)
		}
		for _, m := range makers {
			if m.name != "turn" || strings.Contains(name, "marsh") || strings.Contains(name, "wb-40") {
				check(m.name+" "+name, m.make(p, r, drawing.Options{Words: mark}), own...)
			}
		}
	})
}

func BenchmarkSide(b *testing.B) {
	p := pair(b, fleet(b, "reference-a"), "", "", "laden")
	r := p.Assess(assess.AimMargin)
	for b.Loop() {
		drawing.Side(p, r, drawing.Options{})
	}
}

func BenchmarkPlan(b *testing.B) {
	p := pair(b, fleet(b, "reference-a"), "", "", "laden")
	r := p.Assess(assess.AimMargin)
	for b.Loop() {
		drawing.Plan(p, r, drawing.Options{})
	}
}

func BenchmarkTurning(b *testing.B) {
	p := pair(b, fleet(b, "reference-a"), "", "", "laden")
	r := p.Assess(assess.AimMargin)
	for b.Loop() {
		drawing.Turning(p, r, drawing.Options{})
	}
}
