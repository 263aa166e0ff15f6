package scene_test

import (
	"bytes"
	"errors"
	"image/color"
	"image/png"
	"io"
	"math"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"pgregory.net/rapid"

	"underpin/need"
	"underpin/scene"
	"underpin/unit"
)

func pdf(t interface{ Fatal(...any) }, s *scene.Scene, o scene.PDFOptions) []byte {
	var b bytes.Buffer
	if err := s.PDF(&b, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %g, want %g ± %g", what, got, want, tol)
	}
}

func TestPDFIsTheSameAgain(t *testing.T) {
	o := scene.PDFOptions{Date: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)}
	if !bytes.Equal(pdf(t, side(), o), pdf(t, side(), o)) {
		t.Error("two runs gave different bytes")
	}
}

var mediaBox = regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`)

func TestPDFPaper(t *testing.T) {
	size, err := side().SheetSize()
	if err != nil {
		t.Fatal(err)
	}
	const pt = 72 / 25.4 // points in a millimetre, by definition of both
	for _, tt := range []struct {
		name string
		o    scene.PDFOptions
		want scene.Paper // mm
	}{
		{"as large as the sheet", scene.PDFOptions{}, size},
		{"fitted", scene.PDFOptions{Paper: scene.A4Landscape, Fit: true}, scene.Paper{W: 297, H: 210}},
		{"larger paper", scene.PDFOptions{Paper: scene.A3Landscape}, scene.Paper{W: 420, H: 297}},
	} {
		m := mediaBox.FindSubmatch(pdf(t, side(), tt.o))
		if m == nil {
			t.Fatalf("%s: no media box", tt.name)
		}
		w, _ := strconv.ParseFloat(string(m[1]), 64)
		h, _ := strconv.ParseFloat(string(m[2]), 64)
		within(t, tt.name+": width", w/pt, tt.want.W, 0.01)
		within(t, tt.name+": height", h/pt, tt.want.H, 0.01)
	}
	var large *scene.TooLargeError
	if err := side().PDF(io.Discard, scene.PDFOptions{Paper: scene.A4Portrait}); !errors.As(err, &large) {
		t.Errorf("a sheet larger than the paper gave %v, want a *TooLargeError", err)
	}
}

// needs returns the path of an outside program or skips the test.
func TestPDFTextCanBeExtracted(t *testing.T) {
	cmd := exec.Command(need.PDFText(t), "-raw", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf(t, side(), scene.PDFOptions{}))
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	squeeze := func(s string) string { return strings.Join(strings.Fields(strings.ReplaceAll(s, "\u00a0", " ")), "") }
	got := squeeze(string(out))
	// Text that is neither level nor upright comes out letter by letter.
	turned := map[string]bool{"484": true, "1\u00a0342": true, "R\u00a0500": true, "R\u00a02\u00a0040": true}
	for _, want := range append(side().Texts(), "Heron 07 with Marsh 23", "398 to 718 mm") {
		if turned[want] {
			continue
		}
		if !strings.Contains(got, squeeze(want)) {
			t.Errorf("%q cannot be extracted from the PDF", want)
		}
	}
}

// Words that stand 100 mm apart on the thing stand 100 mm apart on the page at
// 1:1 and 10 mm at 1:10, as an outside program measures.
func TestPDFIsTrueToScale(t *testing.T) {
	program := need.PDFText(t)
	for _, scale := range []float64{1, 10} {
		s := scene.New(scale)
		s.Text(scene.Text{S: "left"})
		s.Text(scene.Text{S: "right", At: scene.Pt{X: 100, Y: 50}})
		cmd := exec.Command(program, "-bbox", "-", "-")
		cmd.Stdin = bytes.NewReader(pdf(t, s, scene.PDFOptions{Paper: scene.A4Landscape}))
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		box := func(word string) (x, y float64) {
			m := regexp.MustCompile(`xMin="([0-9.]+)" yMin="([0-9.]+)"[^>]*>` + word + `<`).FindSubmatch(out)
			if m == nil {
				t.Fatalf("%q not found in %s", word, out)
			}
			x, _ = strconv.ParseFloat(string(m[1]), 64)
			y, _ = strconv.ParseFloat(string(m[2]), 64)
			return x * 25.4 / 72, y * 25.4 / 72
		}
		x0, y0 := box("left")
		x1, y1 := box("right")
		within(t, "across", x1-x0, 100/scale, 0.02)
		within(t, "up", y0-y1, 50/scale, 0.02)
	}
}

// The width that the PDF library measures from the same font, as an outside
// reference for our own.
func TestTextWidthAgreesWithThePDFLibrary(t *testing.T) {
	doc := fpdf.New("P", "mm", "A4", "")
	scene.AddFonts(doc)
	for _, tt := range []struct {
		text string
		bold bool
	}{{"16\u00a0480", false}, {"Heron 07 with Marsh 23", false}, {"7.17 t", true}, {"Ø50.8 ±0.1, ≤ 4.00 m", false}} {
		style := ""
		if tt.bold {
			style = "B"
		}
		doc.SetFont(scene.PDFFont, style, 12)
		doc.SetFontUnitSize(2.5 / 0.660)
		want := doc.GetStringWidth(tt.text)
		within(t, tt.text, scene.TextWidth(tt.text, 2.5, tt.bold), want, 0.01*want)
	}
}

func TestPlace(t *testing.T) {
	size, _ := side().SheetSize()
	doc := fpdf.New("P", "mm", "A4", "")
	doc.AddPage()
	h, err := side().Place(doc, 15, 20, 180)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "height", h, 180*size.H/size.W, 1e-9)
	if h, err = side().Place(doc, 15, 120, 0); err != nil || math.Abs(h-size.H) > 1e-9 {
		t.Errorf("at its own scale the sheet took %g mm (%v), want %g", h, err, size.H)
	}
	if err := doc.Output(io.Discard); err != nil {
		t.Fatal(err)
	}
}

// Whatever is drawn and written in whatever script can be placed in a PDF.
func TestPDFProperties(t *testing.T) {
	doc := fpdf.New("L", "mm", "A4", "")
	doc.AddPage()
	rapid.Check(t, func(t *rapid.T) {
		if _, err := arbitrary(t).Place(doc, 10, 10, 250); err != nil {
			t.Fatal(err)
		}
	})
	var b bytes.Buffer
	if err := doc.Output(&b); err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(b.Bytes(), []byte("%PDF-1.")) || !bytes.Contains(b.Bytes(), []byte("%%EOF")) {
		t.Fatal("not a PDF")
	}
}

func TestPNG(t *testing.T) {
	s := scene.New(1)
	s.Frame, s.Pad = false, 10
	s.Rect(scene.Layer{Name: "area", Fill: scene.RoleFails}, scene.Pt{}, scene.Pt{X: 40, Y: 20})
	s.Polygon(scene.Solid, scene.Pt{X: 30, Y: 2}, scene.Pt{X: 38, Y: 2}, scene.Pt{X: 38, Y: 10}, scene.Pt{X: 30, Y: 10})
	for _, theme := range []scene.Theme{scene.Light, scene.Dark} {
		var b, again bytes.Buffer
		o := scene.PNGOptions{DPI: 254, Theme: theme} // ten pixels a millimetre
		if err := s.PNG(&b, o); err != nil {
			t.Fatal(err)
		}
		if err := s.PNG(&again, o); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
			t.Errorf("two runs gave different bytes (%v)", err)
		}
		img, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		if r := img.Bounds(); r.Dx() != 600 || r.Dy() != 400 { // (40 + 2·10) × (20 + 2·10) mm
			t.Errorf("picture of %v, want 600 × 400", r)
		}
		for _, tt := range []struct {
			x, y int
			role scene.Role
		}{{5, 5, scene.RoleSheet}, {300, 150, scene.RoleFails}, {440, 240, scene.RoleInk}} {
			got := color.RGBAModel.Convert(img.At(tt.x, tt.y)).(color.RGBA)
			if want := theme.Colour(tt.role); got != want {
				t.Errorf("theme %d: pixel (%d, %d) is %v, want %s %v", theme, tt.x, tt.y, got, tt.role, want)
			}
		}
	}
	for _, dpi := range []float64{-1, math.NaN(), 1e6} {
		if s.PNG(io.Discard, scene.PNGOptions{DPI: dpi}) == nil {
			t.Errorf("%g dots an inch were taken", dpi)
		}
	}
}

// A text covers as many pixels in the picture as its measured width says.
func TestPNGLettering(t *testing.T) {
	for _, tt := range []struct {
		angle unit.Angle
		along func(x, y int) int
	}{{0, func(x, _ int) int { return x }}, {unit.Angle(math.Pi / 2), func(_, y int) int { return y }}} {
		s := scene.New(1)
		s.Frame = false
		s.Text(scene.Text{S: "16480", Height: 10, Angle: tt.angle})
		var b bytes.Buffer
		if err := s.PNG(&b, scene.PNGOptions{DPI: 254}); err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := math.MaxInt, 0
		for y := range img.Bounds().Dy() {
			for x := range img.Bounds().Dx() {
				if r, _, _, _ := img.At(x, y).RGBA(); r < 0x8000 {
					lo, hi = min(lo, tt.along(x, y)), max(hi, tt.along(x, y))
				}
			}
		}
		// The ink stops a side bearing short of the advance on either side;
		// together 0.135 em for the first and last figure here.
		const em = 10 / 0.660
		within(t, "inked length in mm", float64(hi-lo)/10, scene.TextWidth("16480", 10, false)-0.135*em, 0.2)
	}
}

func dxfBytes(t interface{ Fatal(...any) }, s *scene.Scene) []byte {
	var b bytes.Buffer
	if err := s.DXF(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A group is one code and value of a DXF file.
type group struct {
	code  int
	value string
}

// groups reads a DXF file as release 12 is laid down: lines in pairs, ASCII.
func groups(t interface {
	Fatalf(string, ...any)
}, b []byte) (out []group) {
	lines := strings.Split(strings.TrimSuffix(string(b), "\r\n"), "\r\n")
	if len(lines)%2 != 0 {
		t.Fatalf("%d lines, which are no pairs", len(lines))
	}
	for i := 0; i < len(lines); i += 2 {
		code, err := strconv.Atoi(strings.TrimSpace(lines[i]))
		if err != nil {
			t.Fatalf("line %d: %q is no group code", i+1, lines[i])
		}
		v := lines[i+1]
		if strings.IndexFunc(v, func(r rune) bool { return r < ' ' || r > '~' }) >= 0 || len(v) > 255 {
			t.Fatalf("line %d: %q is not plain ASCII of at most 255 signs", i+2, v)
		}
		if code >= 10 && code < 60 {
			if _, err := strconv.ParseFloat(v, 64); err != nil {
				t.Fatalf("line %d: %q is no number", i+2, v)
			}
		}
		out = append(out, group{code, v})
	}
	return out
}

func TestGoldenDXF(t *testing.T) { golden(t, "side.dxf", dxfBytes(t, side())) }

func TestDXFStructure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := arbitrary(t)
		b := dxfBytes(t, s)
		if !bytes.Equal(b, dxfBytes(t, s)) {
			t.Fatal("two runs gave different bytes")
		}
		layers, defined := map[string]bool{}, map[string]bool{}
		section, table, polyline := false, false, false
		var last string
		gs := groups(t, b)
		for i, g := range gs {
			if g.code == 0 {
				switch last = g.value; last {
				case "SECTION", "ENDSEC":
					if section == (last == "SECTION") {
						t.Fatalf("%s out of place", last)
					}
					section = last == "SECTION"
				case "TABLE", "ENDTAB":
					if table == (last == "TABLE") {
						t.Fatalf("%s out of place", last)
					}
					table = last == "TABLE"
				case "POLYLINE", "SEQEND":
					if polyline == (last == "POLYLINE") {
						t.Fatalf("%s out of place", last)
					}
					polyline = last == "POLYLINE"
				}
			}
			if g.code == 2 && last == "LAYER" && gs[i-1].code == 0 {
				defined[g.value] = true
			}
			if g.code == 8 {
				layers[g.value] = true
			}
		}
		if section || table || polyline || gs[len(gs)-1] != (group{0, "EOF"}) {
			t.Fatal("something is left open, or the file does not end with EOF")
		}
		for l := range layers {
			if !defined[l] {
				t.Fatalf("layer %q is used and not defined", l)
			}
		}
	})
}

// What is measured in the file is the size of the thing, whatever the scale.
func TestDXFIsRealSize(t *testing.T) {
	for _, scale := range []float64{1, 50} {
		s := scene.New(scale)
		s.Line(scene.Outline, scene.Pt{X: -1360, Y: 450}, scene.Pt{X: 15120, Y: 450})
		s.Circle(scene.Outline, scene.Pt{X: 3700, Y: 500}, 506.25)
		s.Arc(scene.Centre, scene.Pt{}, 2040, unit.Angle(math.Pi), unit.Angle(2.5*math.Pi))
		want := map[string]map[int]string{
			"LINE":   {10: "-1360", 20: "450", 11: "15120", 21: "450"},
			"CIRCLE": {10: "3700", 20: "500", 40: "506.25"},
			"ARC":    {10: "0", 20: "0", 40: "2040", 50: "180", 51: "90"},
		}
		var kind string
		found := 0
		for _, g := range groups(t, dxfBytes(t, s)) {
			if g.code == 0 {
				kind = g.value
				if kind == "TABLE" {
					kind = ""
				}
			}
			if w, ok := want[kind][g.code]; ok && found < 13 {
				if found++; g.value != w {
					t.Errorf("1:%g: %s group %d is %s, want %s", scale, kind, g.code, g.value, w)
				}
			}
		}
		if found < 12 {
			t.Errorf("1:%g: only %d of the groups found", scale, found)
		}
	}
}

func TestDXFTexts(t *testing.T) {
	for _, tt := range []struct{ text, want, source string }{
		{"Ø50.8 ±0.1 at 6°", "%%c50.8 %%p0.1 at 6%%d", "release 12 control codes"},
		{"16\u2009480 − 1", "16 480 - 1", "thin space and minus have plain stand-ins"},
		{"≤ µ ą", `\U+2264 \U+00B5 \U+0105`, "other letters by their code"},
		{"100 %", "100 %", "a single per cent sign is itself"},
		{"a%%d", "a%%%%%%d", "%%% is a per cent sign, so that the words stay as typed"},
		{"a^J", "a^ J", "a caret is written with a space"},
		{`C:\U+0041`, `C:\U+005CU+0041`, "a backslash by its code"},
		{"𝄞", "?", "outside the basic plane"},
		{strings.Repeat("Ω", 100), strings.Repeat(`\U+03A9`, 35), "cut between letters before 255 signs"},
	} {
		s := scene.New(1)
		s.Frame = false
		s.Text(scene.Text{S: tt.text})
		got, inText := "", false
		for _, g := range groups(t, dxfBytes(t, s)) {
			if g.code == 0 {
				inText = g.value == "TEXT"
			}
			if inText && g.code == 1 {
				got = g.value
			}
		}
		if got != tt.want {
			t.Errorf("%q became %q, want %q (%s)", tt.text, got, tt.want, tt.source)
		}
	}
}

func BenchmarkSVG(b *testing.B) {
	s := side()
	for b.Loop() {
		if err := s.SVG(io.Discard, scene.SVGOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPDF(b *testing.B) {
	s := side()
	for b.Loop() {
		if err := s.PDF(io.Discard, scene.PDFOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
