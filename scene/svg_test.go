package scene_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/scene"
	"underpin/unit"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// golden compares with testdata/name, or rewrites it with -update.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		n := 0
		for n < len(got) && n < len(want) && got[n] == want[n] {
			n++
		}
		cut := func(b []byte) []byte { return b[max(0, n-60):min(len(b), n+60)] }
		t.Errorf("%s differs at byte %d:\ngot  …%s…\nwant …%s…\n(run with -update if the change is meant)", file, n, cut(got), cut(want))
	}
}

func svg(t interface{ Fatal(...any) }, s *scene.Scene, o scene.SVGOptions) []byte {
	var b bytes.Buffer
	if err := s.SVG(&b, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGoldenSVG(t *testing.T) {
	golden(t, "side.svg", svg(t, side(), scene.SVGOptions{Standalone: true}))
	golden(t, "side-inline.svg", svg(t, side(), scene.SVGOptions{ID: "pairing", Interactive: true}))
}

// Every golden file is compared by a test; a folder without files would mean
// that nothing is.
func TestGoldenFolder(t *testing.T) {
	files, err := filepath.Glob("testdata/side*")
	if err != nil || len(files) == 0 {
		t.Fatalf("testdata holds no golden files (%v)", err)
	}
	known := []string{"side.svg", "side-inline.svg", "side.dxf"}
	for _, f := range files {
		if !slices.Contains(known, filepath.Base(f)) {
			t.Errorf("%s is compared by no test", f)
		}
	}
}

// parsed is what a reader finds in an SVG.
type parsed struct {
	texts       []string
	title, desc string
	root        map[string]string
	coords      []scene.Pt // in the file's co-ordinates
	elements    []xml.StartElement
}

var number = regexp.MustCompile(`-?[0-9]*\.?[0-9]+`)

func read(t interface {
	Fatal(...any)
	Fatalf(string, ...any)
}, b []byte) parsed {
	p := parsed{root: map[string]string{}}
	dec := xml.NewDecoder(bytes.NewReader(b))
	var within string
	var words strings.Builder
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return p
		}
		if err != nil {
			t.Fatalf("not well-formed: %v\n%s", err, b)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			within = e.Name.Local
			words.Reset()
			p.elements = append(p.elements, e.Copy())
			at := map[string]string{}
			for _, a := range e.Attr {
				at[a.Name.Local] = a.Value
			}
			f := func(k string) float64 { v, _ := strconv.ParseFloat(at[k], 64); return v }
			switch within {
			case "svg":
				p.root = at
			case "circle":
				r := f("r")
				p.coords = append(p.coords, scene.Pt{X: f("cx") - r, Y: f("cy") - r}, scene.Pt{X: f("cx") + r, Y: f("cy") + r})
			case "text":
				p.coords = append(p.coords, scene.Pt{X: f("x"), Y: f("y")})
			case "path":
				p.coords = append(p.coords, points(at["d"])...)
			}
		case xml.CharData:
			words.Write(e)
		case xml.EndElement:
			switch e.Name.Local {
			case "text":
				p.texts = append(p.texts, words.String())
			case "title":
				p.title = words.String()
			case "desc":
				p.desc = words.String()
			}
			words.Reset()
		}
	}
}

// points reads the path data that the writer makes: M, L, H, V, A and Z.
func points(d string) (out []scene.Pt) {
	var at scene.Pt
	for _, part := range regexp.MustCompile(`[MLHVAZ][^MLHVAZ]*`).FindAllString(d, -1) {
		var n []float64
		for _, s := range number.FindAllString(part[1:], -1) {
			v, _ := strconv.ParseFloat(s, 64)
			n = append(n, v)
		}
		switch part[0] {
		case 'M', 'L':
			at = scene.Pt{X: n[0], Y: n[1]}
		case 'H':
			at.X = n[0]
		case 'V':
			at.Y = n[0]
		case 'A':
			at = scene.Pt{X: n[5], Y: n[6]}
		}
		out = append(out, at)
	}
	return out
}

func TestSVGSaysWhatItShows(t *testing.T) {
	s := side()
	p := read(t, svg(t, s, scene.SVGOptions{ID: "pairing"}))
	if p.root["role"] != "img" || p.title != s.Title || p.desc != s.Desc || p.root["aria-labelledby"] != "pairing-title pairing-desc" {
		t.Errorf("role %q, title %q, description %q, labelled by %q", p.root["role"], p.title, p.desc, p.root["aria-labelledby"])
	}
	for _, want := range s.Texts() {
		if !slices.Contains(p.texts, want) {
			t.Errorf("%q is not in the SVG as text", want)
		}
	}
	for _, want := range []string{"16\u00a0460", "3\u00a0100", "R\u00a0500", "Heron 07 with Marsh 23", "lawful range"} {
		if !slices.Contains(p.texts, want) {
			t.Errorf("%q is not in the SVG as text", want)
		}
	}
	if got := read(t, svg(t, s, scene.SVGOptions{Interactive: true})).root["role"]; got != "group" {
		t.Errorf("interactive drawing has the role %q, want group", got)
	}
}

// A page restyles the drawing by its classes, so nothing in the text for a
// page may carry a colour or a style attribute of its own.
func TestSVGForPagesHasNoColours(t *testing.T) {
	b := svg(t, side(), scene.SVGOptions{})
	for _, bad := range []string{"#", "rgb(", "style=", "<style", "stroke=\"", "<?xml"} {
		if bytes.Contains(b, []byte(bad)) {
			t.Errorf("found %q in the text for a page", bad)
		}
	}
	css := scene.Stylesheet()
	for _, e := range read(t, b).elements {
		for _, a := range e.Attr {
			if a.Name.Local != "class" {
				continue
			}
			for _, c := range strings.Fields(a.Value) {
				if (strings.HasPrefix(c, "line-") || strings.HasPrefix(c, "fill-")) && !strings.Contains(css, "."+c+" ") {
					t.Errorf("class %q has no rule in the stylesheet", c)
				}
			}
		}
	}
}

func TestSVGMapsBackToTheModel(t *testing.T) {
	s := scene.New(25)
	s.Circle(scene.Outline, scene.Pt{X: 1234, Y: -567}, 100)
	p := read(t, svg(t, s, scene.SVGOptions{}))
	f := func(v string) float64 { x, _ := strconv.ParseFloat(v, 64); return x }
	var c map[string]string
	for _, e := range p.elements {
		if e.Name.Local == "circle" {
			c = map[string]string{}
			for _, a := range e.Attr {
				c[a.Name.Local] = a.Value
			}
		}
	}
	x := f(p.root["data-x"]) + f(c["cx"])*f(p.root["data-scale"])
	y := f(p.root["data-y"]) - f(c["cy"])*f(p.root["data-scale"])
	if !(math.Abs(x-1234) < 0.05 && math.Abs(y+567) < 0.05) {
		t.Errorf("the circle maps back to (%g, %g), want (1234, −567)", x, y)
	}
}

func TestSVGTags(t *testing.T) {
	for _, e := range read(t, svg(t, side(), scene.SVGOptions{})).elements {
		at := map[string]string{}
		for _, a := range e.Attr {
			at[a.Name.Local] = a.Value
		}
		if at["id"] == "coupling" {
			if at["class"] != "drag" || at["data-lead-mm"] != "600" || at["data-note"] != `5" & "<less>"` {
				t.Errorf("the tag came out as %v", at)
			}
			if at["role"] != "slider" || at["tabindex"] != "0" || at["aria-label"] != "lead" || len(at) != 7 {
				t.Errorf("the tag came out as %v; a control's attributes must stay, a handler must not", at)
			}
			return
		}
	}
	t.Error("no element with the id coupling")
}

// arbitrary draws a scene of anything.
func arbitrary(t *rapid.T) *scene.Scene {
	s := scene.New(rapid.SampledFrom([]float64{0.5, 1, 10, 50, 200}).Draw(t, "scale"))
	s.Title = rapid.String().Draw(t, "title")
	s.Desc = rapid.String().Draw(t, "desc")
	s.Frame = rapid.Bool().Draw(t, "frame")
	x := rapid.Float64Range(-20000, 20000)
	pt := func(name string) scene.Pt { return scene.Pt{X: x.Draw(t, name+".x"), Y: x.Draw(t, name+".y")} }
	angle := func(name string) unit.Angle { return unit.Angle(rapid.Float64Range(-10, 10).Draw(t, name)) }
	layers := []scene.Layer{scene.Outline, scene.Body, scene.Centre, scene.Missing, scene.Solid, scene.Glass.As(scene.RoleFails)}
	for range rapid.IntRange(0, 6).Draw(t, "n") {
		l := rapid.SampledFrom(layers).Draw(t, "layer")
		switch rapid.IntRange(0, 8).Draw(t, "kind") {
		case 0:
			s.Line(l, pt("a"), pt("b"))
		case 1:
			s.Polygon(l, pt("a"), pt("b"), pt("c"), pt("d"))
		case 2:
			s.Circle(l, pt("c"), x.Draw(t, "r"))
		case 3:
			s.Arc(l, pt("c"), x.Draw(t, "r"), angle("from"), angle("to"))
		case 4:
			s.Text(scene.Text{At: pt("at"), S: rapid.String().Draw(t, "s"), H: scene.HAnchor(rapid.IntRange(0, 2).Draw(t, "h")), V: scene.VAnchor(rapid.IntRange(0, 2).Draw(t, "v")), Angle: angle("angle"), Halo: true})
		case 5:
			s.DimHorizontal(x.Draw(t, "y"), scene.Dim{A: pt("a"), B: pt("b"), Before: rapid.Bool().Draw(t, "before")})
		case 6:
			s.DimAligned(rapid.Float64Range(-20, 20).Draw(t, "offset"), scene.Dim{A: pt("a"), B: pt("b")})
		case 7:
			s.Leader(scene.Note{Tip: pt("tip"), Elbow: pt("elbow"), Lines: rapid.SliceOfN(rapid.String(), 0, 3).Draw(t, "lines")})
		case 8:
			s.DimRadius(pt("c"), math.Abs(x.Draw(t, "r")), angle("bearing"), scene.Dim{})
		}
	}
	for range rapid.IntRange(0, 5).Draw(t, "cells") {
		s.Block = append(s.Block, scene.Cell{Label: rapid.String().Draw(t, "label"), Value: rapid.String().Draw(t, "value"), Weight: rapid.Float64().Draw(t, "weight")})
	}
	return s
}

// Whatever is drawn lies on the sheet, is well-formed, and is the same again.
func TestSVGProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := arbitrary(t)
		b := svg(t, s, scene.SVGOptions{Standalone: true})
		if !bytes.Equal(b, svg(t, s, scene.SVGOptions{Standalone: true})) {
			t.Fatal("two runs gave different bytes")
		}
		p := read(t, b)
		box := number.FindAllString(p.root["viewBox"], -1)
		W, _ := strconv.ParseFloat(box[2], 64)
		H, _ := strconv.ParseFloat(box[3], 64)
		const tol = 0.003 // three decimals in the file
		for _, c := range p.coords {
			if !(c.X >= -tol && c.Y >= -tol && c.X <= W+tol && c.Y <= H+tol) {
				t.Fatalf("point %v lies outside the sheet of %g × %g", c, W, H)
			}
		}
		for _, want := range s.Texts() {
			if !slices.Contains(p.texts, want) {
				t.Fatalf("%q is not in the SVG as text", want)
			}
		}
	})
}

func FuzzText(f *testing.F) {
	for _, s := range []string{"plain", `<b>&amp;"'`, "]]>", "a\x00b", "\xff\xfe", "16\u2009460", "Ø ± ° ≤ µ ą №", "%%c", "\u2028", "𝄞", "-->", "line\nbreak", "^J \\U+0041"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s := scene.New(10)
		s.Title, s.Desc = text, text
		s.Text(scene.Text{S: text, Halo: true})
		s.Group(scene.Tag{ID: text, Class: text, Data: []scene.Attr{{Name: "x", Value: text}, {Name: text, Value: "1"}}}, func() {})
		s.Block = scene.TitleBlock{{Label: text, Value: text}}
		p := read(t, svg(t, s, scene.SVGOptions{Standalone: true}))
		for _, want := range s.Texts() {
			if !slices.Contains(p.texts, want) {
				t.Errorf("%q is not in the SVG as text", want)
			}
		}
		groups(t, dxfBytes(t, s))
	})
}

func TestStandardScale(t *testing.T) {
	for _, tt := range []struct{ real, paper, want float64 }{
		{16500, 265, 100}, {500, 265, 2}, {200, 265, 1}, {265, 265, 1}, {1000, 100, 10}, {12345, 277, 50},
	} {
		if got := scene.StandardScale(tt.real, tt.paper); got != tt.want {
			t.Errorf("%g mm on %g mm: 1:%g, want 1:%g (ISO 5455 series)", tt.real, tt.paper, got, tt.want)
		}
	}
}

func ExampleScene() {
	s := scene.New(50)
	s.Title = "Coupling ahead of the drive axle"
	s.CentreLine(scene.At(0, 0), scene.At(0, 1))
	s.Circle(scene.Outline, scene.At(600*unit.Millimetre, 500*unit.Millimetre), 500)
	s.DimHorizontal(-s.Row(0), scene.Dim{A: scene.At(0, 0), B: scene.At(600*unit.Millimetre, 0)})
	if err := s.SVG(io.Discard, scene.SVGOptions{Standalone: true}); err != nil {
		fmt.Println(err)
	}
	fmt.Println(s.Texts())
	// Output: [600]
}

func TestUnknownCoordinatesAreRefused(t *testing.T) {
	nan := math.NaN()
	for name, draw := range map[string]func(*scene.Scene){
		"line":      func(s *scene.Scene) { s.Line(scene.Outline, scene.Pt{}, scene.Pt{X: nan}) },
		"radius":    func(s *scene.Scene) { s.Circle(scene.Outline, scene.Pt{}, math.Inf(1)) },
		"arc":       func(s *scene.Scene) { s.Arc(scene.Outline, scene.Pt{}, 1, unit.Angle(nan), 1) },
		"text":      func(s *scene.Scene) { s.Text(scene.Text{S: "a", At: scene.Pt{Y: nan}}) },
		"height":    func(s *scene.Scene) { s.Text(scene.Text{S: "a", Height: nan}) },
		"dimension": func(s *scene.Scene) { s.DimHorizontal(0, scene.Dim{B: scene.Pt{X: nan}}) },
	} {
		s := scene.New(1)
		draw(s)
		if s.Err() == nil || s.SVG(io.Discard, scene.SVGOptions{}) == nil {
			t.Errorf("%s with a co-ordinate that is not a number was written", name)
		}
	}
	for _, scale := range []float64{0, -1, nan, math.Inf(1)} {
		if scene.New(scale).SVG(io.Discard, scene.SVGOptions{}) == nil {
			t.Errorf("the scale %v was taken", scale)
		}
	}
}
