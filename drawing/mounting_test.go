package drawing_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/drawing"
	"underpin/exchange"
	"underpin/mounting"
	"underpin/need"
	"underpin/scene"
	"underpin/unit"
)

// mounted makes the specification of a fitting of testdata/mounting.toml, whose
// vehicles are those of the demo fleet.
func mounted(t testing.TB, id string) (*mounting.Request, *mounting.Specification) {
	t.Helper()
	data, err := os.ReadFile("testdata/mounting.toml")
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseParts("mounting.toml", data)
	if err != nil {
		t.Fatal(err)
	}
	return specified(t, f, id)
}

func specified(t testing.TB, f *mounting.File, id string) (*mounting.Request, *mounting.Specification) {
	t.Helper()
	demo := fleet(t, "demo")
	g := f.Fitting(id)
	if g == nil {
		t.Fatalf("no fitting %s", id)
	}
	b := f.Brief(g.Brief)
	tractor, ok := demo.Tractor(b.Tractor)
	if !ok {
		t.Fatalf("no tractor %s", b.Tractor)
	}
	r := &mounting.Request{
		Task: mounting.Task{Fleet: demo, Tractor: tractor, Chassis: chassisOf(f, g), Brief: b, Parts: f.Parts, Law: book(t, "eu"), Day: "2026-11-25"},
		File: f, Fitting: g,
		Title: mounting.Title{Number: "M-0042", Revision: "B", Date: "2026-11-25", Subject: "Fifth wheel on Heron 07", Fleet: demo.Name, Author: "A. Reed"},
	}
	s, err := mounting.Specify(r)
	if err != nil {
		t.Fatal(err)
	}
	return r, s
}

var mountings = []string{"on-plate", "on-slider", "on-pedestal", "on-lift", "nowhere"}

// mountingScenes are the drawings of one fitting, by the name of their file.
func mountingScenes(r *mounting.Request, s *mounting.Specification, o drawing.Options) map[string]*scene.Scene {
	out := map[string]*scene.Scene{"side": drawing.MountingSide(r, s, o), "plan": drawing.MountingPlan(r, s, o)}
	for _, f := range drawing.MountingFaces(r, s) {
		out["holes-"+f.Upper] = drawing.MountingPattern(r, s, f, o)
	}
	return out
}

func chassisOf(f *mounting.File, g *mounting.Fitting) *mounting.Chassis {
	if c := f.ChassisNamed(g.Chassis); c != nil {
		return c
	}
	return f.ChassisOf(f.Brief(g.Brief).Tractor)
}

// demoMounting is the chosen mounting of the demo catalogue.
func demoMounting(t testing.TB) (*mounting.Request, *mounting.Specification) {
	t.Helper()
	f, err := exchange.ReadParts("../examples/parts.toml")
	if err != nil {
		t.Fatal(err)
	}
	return specified(t, f, "heron-plate")
}

func TestMountingsAreAsOnFile(t *testing.T) {
	for _, id := range mountings {
		r, s := mounted(t, id)
		for name, sc := range mountingScenes(r, s, drawing.Options{}) {
			if name == "side" || name == "plan" || name == "holes-wheel-bare" && id == "on-pedestal" {
				compare(t, "mounting-"+id+"-"+name, svg(t, sc))
			}
		}
	}
	r, s := demoMounting(t)
	for name, sc := range mountingScenes(r, s, drawing.Options{Phone: true}) {
		if name == "side" || name == "plan" {
			compare(t, "mounting-demo-"+name+"-phone", svg(t, sc))
		}
	}
	if err := s.Approve("B. Carr", "2026-11-26"); err != nil {
		t.Fatal(err)
	}
	for name, sc := range mountingScenes(r, s, drawing.Options{}) {
		compare(t, "mounting-demo-"+name, svg(t, sc))
	}
}

// Nothing stands off the sheet and no lettering stands on other lettering, in
// every system, size and scale.
func TestMountingsAreLegible(t *testing.T) {
	for _, id := range mountings {
		r, s := mounted(t, id)
		for _, o := range []drawing.Options{{}, {Phone: true}, {Units: unit.USCustomary}, {Width: 182}, {Scale: 10}, {Scale: 5}, {NoBlock: true}} {
			for name, sc := range mountingScenes(r, s, o) {
				checkSheet(t, fmt.Sprintf("%s %s %+v", id, name, o), readSVG(t, svg(t, sc)))
			}
		}
	}
}

// What is drawn is where the file says, and as large: hole centres and heights
// are worked out from testdata/mounting.toml by hand.
func TestMountingIsTrueToScale(t *testing.T) {
	r, s := mounted(t, "on-plate")
	for _, scale := range []float64{1, 5, 10, 12.5} {
		o := drawing.Options{Scale: scale}
		plan := readSVG(t, svg(t, drawing.MountingPlan(r, s, o)))
		if plan.scale != scale {
			t.Fatalf("the plan is drawn 1:%g, asked for was 1:%g", plan.scale, scale)
		}
		// The coupling stands at 3100; the plate's middle too, because holes at
		// ±150 and ±50 meet in one way only that lies on the 25 mm grid of the
		// angles: 3100 − 425 = 2675 is 2600 + 3·25.
		for _, x := range []float64{2675, 2725, 2775, 3425, 3475, 3525} {
			for _, y := range []float64{470, -470} {
				if !plan.hasCircle(scene.Pt{X: x, Y: y}, 17, scale) {
					t.Errorf("1:%g: no hole of 17 mm at %g, %g", scale, x, y)
				}
			}
		}
		for _, x := range []float64{2950, 3050, 3150, 3250} {
			if !plan.hasCircle(scene.Pt{X: x, Y: -300}, 21, scale) {
				t.Errorf("1:%g: no hole of 21 mm at %g, −300", scale, x)
			}
		}
		if plan.hasCircle(scene.Pt{X: 2650, Y: 470}, 21, scale) {
			t.Error("a hole is found where none is: the check proves nothing")
		}
		side := readSVG(t, svg(t, drawing.MountingSide(r, s, o)))
		// Frame top at 3100: 952 over the front axle and 498 + 440 = 938 over the
		// drive axle at 3700, 952 − 14·3100/3700 = 940.27; 8 of angles, 40 of plate,
		// 165 of fifth wheel: 1153.27.
		top := math.Inf(-1)
		for _, q := range side.shapes {
			if q.class == "fifth-wheel" {
				for _, p := range q.pts {
					if m := side.model(p); math.Abs(m.X-3100) < 450 {
						top = math.Max(top, m.Y)
					}
				}
			}
		}
		// The plate follows the slope of the frame, 14 in 3700, to its front end 420
		// ahead: 1.59 more.
		if want := 1153.27 + 1.59; !(math.Abs(top-want) < 0.02+0.001*scale) {
			t.Errorf("1:%g: the top plate's highest point is drawn at %.2f, want %.2f", scale, top, want)
		}
	}
}

// hasCircle tells whether a circle of a diameter stands at a model place.
func (p *paper) hasCircle(at scene.Pt, d, scale float64) bool {
	for _, s := range p.shapes {
		c := p.model(s.centre)
		// The file gives three decimals of paper mm.
		if s.kind == "circle" && math.Abs(s.r*2*scale-d) < 0.002*scale && math.Hypot(c.X-at.X, c.Y-at.Y) < 0.002*scale {
			return true
		}
	}
	return false
}

// A CAD program measures the real thing: DXF is read back as pairs of group
// codes and values.
func TestMountingDXFIsRealSize(t *testing.T) {
	r, s := mounted(t, "on-plate")
	var b bytes.Buffer
	if err := drawing.MountingPlan(r, s, drawing.Options{}).DXF(&b); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.ReplaceAll(b.String(), "\r\n", "\n"), "\n")
	type circle struct{ x, y, r float64 }
	layers := map[string][]circle{}
	var kind, layer string
	var c circle
	end := func() {
		if kind == "CIRCLE" {
			layers[layer] = append(layers[layer], c)
		}
	}
	for i := 0; i+1 < len(lines); i += 2 {
		code, value := strings.TrimSpace(lines[i]), lines[i+1]
		switch code {
		case "0":
			end()
			kind, layer, c = value, "", circle{}
		case "8":
			layer = value
		case "10":
			c.x = number(t, value)
		case "20":
			c.y = number(t, value)
		case "40":
			c.r = number(t, value)
		}
	}
	// 12 holes of the plate and 8 of the fifth wheel.
	if n := len(layers["HOLE"]); n != 20 {
		t.Errorf("%d holes on the layer HOLE, want 20", n)
	}
	// 46 holes on each side of the attachment angles.
	if n := len(layers["HOLE-UNUSED"]); n != 92 {
		t.Errorf("%d holes on the layer HOLE-UNUSED, want 92", n)
	}
	apart := 0.0
	for _, a := range layers["HOLE"] {
		for _, b := range layers["HOLE"] {
			apart = math.Max(apart, math.Hypot(a.x-b.x, a.y-b.y))
		}
	}
	// Corner to corner of the plate's pattern: √(850² + 940²).
	if want := math.Hypot(850, 940); !(math.Abs(apart-want) < 0.002) {
		t.Errorf("the plate's outermost holes are %.3f mm apart, want %.3f", apart, want)
	}
}

// Layers carry the names of what stands on them.
func TestMountingLayers(t *testing.T) {
	want := map[string][]string{
		"on-plate":    {"side-member", "attachment-angles", "mounting-plate", "fifth-wheel", "bolt", "hole", "zone", "wheel", "running-dimension", "lawful"},
		"on-slider":   {"slider", "rearmost"},
		"on-pedestal": {"subframe", "pedestal"},
		"on-lift":     {"bracket", "lift"},
	}
	for id, names := range want {
		r, s := mounted(t, id)
		have := map[string]bool{}
		for _, q := range readSVG(t, svg(t, drawing.MountingSide(r, s, drawing.Options{}))).shapes {
			have[q.class] = true
		}
		for _, n := range names {
			if !have[n] {
				t.Errorf("%s: no layer %s", id, n)
			}
		}
	}
}

// What nobody entered is neither drawn nor lettered as if it were known.
func TestUnknownPatternIsNotDrawn(t *testing.T) {
	r, s := mounted(t, "on-pedestal")
	for _, f := range drawing.MountingFaces(r, s) {
		p := readSVG(t, svg(t, drawing.MountingPattern(r, s, f, drawing.Options{})))
		circles, note := 0, false
		for _, q := range p.shapes {
			if q.kind == "circle" && strings.HasPrefix(q.class, "hole") {
				circles++
			}
			note = note || q.text == "pattern not entered"
		}
		switch f.Upper {
		case "wheel-bare":
			if circles != 0 || !note || f.Pattern != nil {
				t.Errorf("the holes that nobody entered: %d drawn, noted %t", circles, note)
			}
		case "pedestal-95":
			if circles != 16 || note { // two rows of eight
				t.Errorf("the pedestal: %d holes, want 16; noted %t", circles, note)
			}
		default:
			t.Errorf("a face of %s", f.Upper)
		}
	}
	plan := drawing.MountingPlan(r, s, drawing.Options{})
	if !slices.Contains(plan.Texts(), "pattern not entered") {
		t.Error("the plan does not say that the pattern was not entered")
	}
	r, s = mounted(t, "nowhere")
	side := drawing.MountingSide(r, s, drawing.Options{})
	if !slices.Contains(side.Texts(), "not known") || strings.Contains(side.Desc, "3 100") {
		t.Errorf("a position that nobody entered: %q", side.Texts())
	}
}

// A draft says so on every drawing; an approved one does not.
func TestDraftIsMarkedOnEveryDrawing(t *testing.T) {
	r, s := demoMounting(t)
	for _, approved := range []bool{false, true} {
		if approved {
			if err := s.Approve("B. Carr", "2026-11-26"); err != nil {
				t.Fatal(err)
			}
		}
		for _, o := range []drawing.Options{{}, {Phone: true}, {NoBlock: true}} {
			for name, sc := range mountingScenes(r, s, o) {
				marked := strings.Contains(strings.Join(sc.Texts(), "\n"), "DRAFT")
				if marked == approved {
					t.Errorf("%s %+v: approved %t, marked as draft %t", name, o, approved, marked)
				}
			}
		}
	}
}

// Any figure may be missing: the drawing is still made, and no figure stands
// for what is not known.
func TestMountingWithAnythingMissing(t *testing.T) {
	data, err := os.ReadFile("testdata/mounting.toml")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(rt *rapid.T) {
		f, err := exchange.ParseParts("mounting.toml", data)
		if err != nil {
			rt.Fatal(err)
		}
		id := rapid.SampledFrom(mountings).Draw(rt, "fitting")
		for _, v := range []any{&f.Chassis[0], &f.Chassis[1]} {
			forget(rt, reflect.ValueOf(v).Elem())
		}
		for i := range f.Parts {
			forget(rt, reflect.ValueOf(&f.Parts[i]).Elem())
		}
		g := f.Fitting(id)
		forget(rt, reflect.ValueOf(g).Elem())
		c := chassisOf(f, g)
		if a := c.Angles; a == nil && g.Base == mounting.OnAngles || c.Subframe == nil && g.Base == mounting.OnSubframe {
			return
		}
		r, s := specified(t, f, id)
		for name, sc := range mountingScenes(r, s, drawing.Options{Phone: rapid.Bool().Draw(rt, "phone")}) {
			if err := sc.Err(); err != nil {
				rt.Fatalf("%s: %v", name, err)
			}
			checkSheet(rt, id+" "+name, readSVG(t, svg(t, sc)))
		}
	})
}

// forget sets some of the pointers of a struct to nil.
func forget(t *rapid.T, v reflect.Value) {
	for i := range v.NumField() {
		f := v.Field(i)
		if f.Kind() == reflect.Pointer && !f.IsNil() && rapid.IntRange(0, 7).Draw(t, v.Type().Field(i).Name) == 0 {
			f.Set(reflect.Zero(f.Type()))
			continue
		}
		if f.Kind() == reflect.Pointer && !f.IsNil() && f.Elem().Kind() == reflect.Struct {
			forget(t, f.Elem())
		}
		if f.Kind() == reflect.Struct {
			forget(t, f)
		}
	}
}

// Printed at a scale, what is a millimetre on the thing is 1/n on the paper: the
// PDF is read by another program, which tells where its words stand.
func TestMountingPaperIsTrueToScale(t *testing.T) {
	tool := need.PDFText(t)
	r, s := mounted(t, "on-plate")
	word := regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">([^<]*)</word>`)
	for _, scale := range []float64{1, 5, 10, 12.5} {
		var b bytes.Buffer
		if err := drawing.MountingPlan(r, s, drawing.Options{Scale: scale}).PDF(&b, scene.PDFOptions{}); err != nil {
			t.Fatal(err)
		}
		c := exec.Command(tool, "-bbox", "-", "-")
		c.Stdin = &b
		out, err := c.Output()
		if err != nil {
			t.Fatal(err)
		}
		at := map[string]float64{} // of running dimensions, in the middle of the lettering
		all := ""
		for _, m := range word.FindAllStringSubmatch(string(out), -1) {
			lo, _ := strconv.ParseFloat(m[1], 64)
			hi, _ := strconv.ParseFloat(m[3], 64)
			at[m[5]] = (lo + hi) / 2
			all += m[5]
		}
		if !strings.Contains(all, fmt.Sprintf("1:%g", scale)) {
			t.Errorf("1:%g is not stated: %s", scale, all)
		}
		// Holes on the 25 mm grid of the angles at 2675 and 3525; the thin space
		// behind the thousands parts the words.
		from, to := at["675"], at["525"]
		if from == 0 || to == 0 {
			t.Fatalf("1:%g: the dimensions of the holes are not found: %v", scale, at)
		}
		if got := (to - from) / 72 * 25.4 * scale; !(math.Abs(got-850) < 0.01*scale+0.01) {
			t.Errorf("1:%g: 850 mm are printed as %.3f mm", scale, got)
		}
	}
}
