package scene

import (
	"crypto/sha256"
	"fmt"
	"math"
	"strings"
	"testing"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"pgregory.net/rapid"

	"underpin/unit"
)

func near(t interface {
	Helper()
	Errorf(string, ...any)
}, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %g, want %g ± %g", what, got, want, tol)
	}
}

func TestCapHeightIsTheFontsOwn(t *testing.T) {
	for _, f := range []face{regular(), bold()} {
		var b sfnt.Buffer
		m, err := f.font.Metrics(&b, fixed.I(int(f.font.UnitsPerEm())), font.HintingNone)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "cap height", float64(m.CapHeight)/64/float64(f.font.UnitsPerEm()), capHeight, 0)
	}
}

// Figures are equally wide, so that numbers stand under one another.
func TestFiguresAreTabular(t *testing.T) {
	for _, isBold := range []bool{false, true} {
		want := TextWidth("0", 1, isBold)
		for _, d := range "123456789" {
			near(t, "width of "+string(d), TextWidth(string(d), 1, isBold), want, 0)
		}
	}
}

// Every sign that drawings and documents need has a glyph, or a stand-in.
func TestGlyphs(t *testing.T) {
	const signs = "Ø±°×÷≤≥≈≠−µΩΔ√²³→←✓✗☐☑▲▼●■○№€–—…″′αβγφąćęłńóśźżäöüßéèêåæøšžőűğışЖщїІ\u2009\u00a0"
	if got := drawable(signs); got != signs {
		t.Errorf("the font lacks a sign: %q became %q", signs, got)
	}
	if got := drawable("⌀ ✕ 中 𝄞"); got != "Ø × ? ?" {
		t.Errorf("stand-ins: got %q", got)
	}
}

func TestTextWidthAdds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.String().Draw(t, "a"), rapid.String().Draw(t, "b")
		h := rapid.Float64Range(1, 10).Draw(t, "h")
		sum := TextWidth(a, h, false) + TextWidth(b, h, false)
		near(t, "width", TextWidth(a+b, h, false), sum, 1e-9*(1+sum))
		near(t, "double height", TextWidth(a, 2*h, false), 2*TextWidth(a, h, false), 1e-9*(1+sum))
	})
}

func TestShorten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := clean(rapid.String().Draw(t, "s"))
		w := rapid.Float64Range(5, 60).Draw(t, "w")
		got := shorten(s, 2.5, false, w)
		if TextWidth(got, 2.5, false) > w {
			t.Errorf("%q is wider than %g", got, w)
		}
		if got != s && !strings.HasSuffix(got, "…") {
			t.Errorf("%q was cut to %q without a sign", s, got)
		}
	})
}

// contrast is the contrast ratio of two colours.
//
// Source: WCAG 2.2, definitions of relative luminance and contrast ratio
// (from memory).
func contrast(t Theme, a, b Role) float64 {
	lum := func(r Role) float64 {
		c := t.Colour(r)
		f := func(v uint8) float64 {
			x := float64(v) / 255
			if x <= 0.04045 {
				return x / 12.92
			}
			return math.Pow((x+0.055)/1.055, 2.4)
		}
		return 0.2126*f(c.R) + 0.7152*f(c.G) + 0.0722*f(c.B)
	}
	x, y := lum(a), lum(b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func TestContrast(t *testing.T) {
	for _, tt := range []struct {
		theme Theme
		role  Role
		least float64
		why   string
	}{
		{Light, RoleInk, 7, "WCAG 2.2, 1.4.6 text, enhanced"},
		{Light, RoleMuted, 4.5, "WCAG 2.2, 1.4.3 text"}, {Light, RoleHolds, 4.5, "text"}, {Light, RoleCaution, 4.5, "text"},
		{Light, RoleFails, 4.5, "text"}, {Light, RoleUnknown, 4.5, "text"},
		{Light, RoleThin, 3, "WCAG 2.2, 1.4.11 graphical objects"}, {Light, RoleCentre, 3, "graphical objects"},
		{Dark, RoleInk, 7, "enhanced"}, {Dark, RoleMuted, 7, "enhanced, for the yard"}, {Dark, RoleHolds, 7, "enhanced"},
		{Dark, RoleCaution, 7, "enhanced"}, {Dark, RoleFails, 7, "enhanced"}, {Dark, RoleUnknown, 7, "enhanced"},
		{Dark, RoleThin, 3, "graphical objects"}, {Dark, RoleCentre, 3, "graphical objects"},
		{Print, RoleInk, 7, "enhanced"}, {Print, RoleCaution, 4.5, "text"},
	} {
		if got := contrast(tt.theme, tt.role, RoleSheet); !(got >= tt.least) {
			t.Errorf("theme %d: %s on the sheet has the contrast %.2f, want %g (%s)", tt.theme, tt.role, got, tt.least, tt.why)
		}
	}
	// The definition itself: black on white is 21 by WCAG 2.2.
	if hex(Print.Colour(RoleSheet)) != "#ffffff" {
		t.Error("paper is not white")
	}
}

// arrows returns tip and direction of each arrowhead drawn, in paper mm.
func arrows(s *Scene) (tips, dirs []Pt) {
	for _, it := range s.items {
		if strings.HasPrefix(it.layer.Name, "arrow") && it.kind == path {
			tip := it.pts[0].mul(1 / s.scale)
			base := it.pts[1].add(it.pts[2]).mul(0.5 / s.scale)
			tips, dirs = append(tips, tip), append(dirs, base.towards(tip))
		}
	}
	return tips, dirs
}

func figure(s *Scene) Text {
	for _, it := range s.items {
		if it.kind == text {
			return it.text
		}
	}
	return Text{}
}

func TestDimensionArrows(t *testing.T) {
	for _, tt := range []struct {
		name    string
		length  float64 // paper mm
		inside  bool    // arrowheads between the extension lines
		h       HAnchor
		figureX float64 // paper mm; NaN where it is not checked
		why     string
	}{
		{"wide", 40, true, Middle, 20, "room for arrowheads and figure"},
		{"narrow", 3, false, Left, 3 + arrowLength + 1, "no room for two arrowheads: they flip outside, the figure follows"},
		{"figure too wide", 6, true, Left, 7, "room for arrowheads, not for the figure"},
	} {
		s := New(10)
		s.DimHorizontal(-100, Dim{A: Pt{0, 0}, B: Pt{tt.length * 10, 0}, Text: "a long figure"[:map[bool]int{true: 1, false: 13}[tt.name == "wide"]]})
		tips, dirs := arrows(s)
		if len(tips) != 2 {
			t.Fatalf("%s: %d arrowheads", tt.name, len(tips))
		}
		near(t, tt.name+": first tip", tips[0].X, 0, 1e-9)
		near(t, tt.name+": second tip", tips[1].X, tt.length, 1e-9)
		if inside := dirs[0].X < 0 && dirs[1].X > 0; inside != tt.inside {
			t.Errorf("%s: arrowheads inside %v, want %v (%s)", tt.name, inside, tt.inside, tt.why)
		}
		f := figure(s)
		if f.H != tt.h {
			t.Errorf("%s: figure anchored %v, want %v (%s)", tt.name, f.H, tt.h, tt.why)
		}
		near(t, tt.name+": figure", f.At.X/10, tt.figureX, 1e-9)
		if !(f.At.Y > -100) {
			t.Errorf("%s: the figure does not stand above the line", tt.name)
		}
	}
}

func TestDimensionFigures(t *testing.T) {
	for _, tt := range []struct {
		draw func(*Scene)
		want string
		turn float64 // of the baseline, degrees
	}{
		{func(s *Scene) { s.DimHorizontal(-50, Dim{A: Pt{16480, 0}, B: Pt{0, 9}}) }, "16\u00a0480", 0},
		{func(s *Scene) { s.DimVertical(-50, Dim{A: Pt{0, 1150}, B: Pt{0, 0}}) }, "1\u00a0150", 90},
		{func(s *Scene) { s.DimAligned(5, Dim{A: Pt{0, 0}, B: Pt{300, 400}}) }, "500", math.Atan2(4, 3) * 180 / math.Pi},
		{func(s *Scene) { s.DimAligned(5, Dim{A: Pt{300, 400}, B: Pt{0, 0}}) }, "500", math.Atan2(4, 3) * 180 / math.Pi},
		{func(s *Scene) { s.DimAligned(5, Dim{A: Pt{0, 400}, B: Pt{0, 0}}) }, "400", 90},
		{func(s *Scene) { s.DimRadius(Pt{}, 2040, math.Pi, Dim{}) }, "R\u00a02\u00a0040", 0},
		{func(s *Scene) { s.DimAngle(Pt{}, 900, 0, unit.Angle(38.682*math.Pi/180), Dim{}) }, "38.7°", 0},
		{func(s *Scene) { s.DimAngle(Pt{}, 900, unit.Angle(350*math.Pi/180), unit.Angle(10*math.Pi/180), Dim{}) }, "20.0°", 0},
		{func(s *Scene) { s.DimHorizontal(0, Dim{B: Pt{100, 0}, Text: "cannot tell", Unknown: true}) }, "cannot tell", 0},
	} {
		s := New(10)
		tt.draw(s)
		f := figure(s)
		if f.S != tt.want {
			t.Errorf("figure %q, want %q", f.S, tt.want)
		}
		near(t, tt.want+" turned by", f.Angle.Degrees(), tt.turn, 1e-9)
	}
}

// A figure reads from below or from the right, whatever the direction.
func TestFiguresAreReadable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-5000, 5000)
		d := Dim{A: Pt{x.Draw(t, "ax"), x.Draw(t, "ay")}, B: Pt{x.Draw(t, "bx"), x.Draw(t, "by")}}
		if d.A.dist(d.B) < 1 {
			return
		}
		s := New(20)
		s.DimAligned(x.Draw(t, "offset")/500, d)
		s.DimRadius(Pt{}, 1000, unit.Angle(rapid.Float64Range(-7, 7).Draw(t, "bearing")), Dim{})
		for _, it := range s.items {
			if a := it.text.Angle.Degrees(); it.kind == text && !(a > -90.001 && a <= 90.001) {
				t.Errorf("figure %q stands at %g°", it.text.S, a)
			}
		}
	})
}

// The unknown is drawn dashed, in its own role.
func TestUnknownIsDashed(t *testing.T) {
	s := New(10)
	s.DimHorizontal(-100, Dim{B: Pt{500, 0}, Unknown: true, Text: "–"})
	for _, it := range s.items {
		if it.kind == path && !it.closed && it.layer.Dash != Dashed {
			t.Errorf("layer %q of an unknown dimension is not dashed", it.layer.Name)
		}
	}
	if l := Outline.As(RoleUnknown); l.Dash != Dashed || l.Line != RoleUnknown {
		t.Errorf("%+v", l)
	}
}

func TestHatchStaysInside(t *testing.T) {
	// An L, so that a hatch line is cut twice.
	l := []Pt{{0, 0}, {100, 0}, {100, 40}, {40, 40}, {40, 100}, {0, 100}}
	inside := func(p Pt) bool {
		const e = 1e-6
		in := func(x0, y0, x1, y1 float64) bool { return p.X > x0-e && p.X < x1+e && p.Y > y0-e && p.Y < y1+e }
		return in(0, 0, 100, 40) || in(0, 0, 40, 100)
	}
	rapid.Check(t, func(t *rapid.T) {
		s := New(1)
		s.Hatch(Hatching, unit.Angle(rapid.Float64Range(-4, 4).Draw(t, "angle")), rapid.Float64Range(1, 20).Draw(t, "spacing"), l...)
		for _, it := range s.items {
			for k := range 11 {
				f := float64(k) / 10
				if p := it.pts[0].mul(1 - f).add(it.pts[1].mul(f)); !inside(p) {
					t.Fatalf("hatch passes %v, outside", p)
				}
			}
		}
	})
	// Area: lines of 45° at spacing d cover area/d of length.
	s := New(1)
	s.Hatch(Hatching, unit.Angle(math.Pi/4), 0.1, l...)
	sum := 0.0
	for _, it := range s.items {
		sum += it.pts[0].dist(it.pts[1])
	}
	near(t, "hatched area", sum*0.1, 6400, 20) // 100·40 + 40·60
}

// The bounding box holds every point of an arc, sampled.
func TestArcBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := unit.Angle(rapid.Float64Range(-20, 20).Draw(t, "from"))
		b := a + unit.Angle(rapid.Float64Range(0, 6.28).Draw(t, "sweep"))
		s := New(1)
		s.Arc(Layer{Name: "thin", Line: RoleInk}, Pt{3, 4}, 10, a, b)
		box := s.Bounds()
		reach := nothing
		for i := range 721 {
			p := Pt{3, 4}.add(polar(a + (b-a)*unit.Angle(i)/720).mul(10))
			reach = reach.with(p, 0)
		}
		near(t, "left", box.Min.X, reach.Min.X, 2e-4)
		near(t, "bottom", box.Min.Y, reach.Min.Y, 2e-4)
		near(t, "right", box.Max.X, reach.Max.X, 2e-4)
		near(t, "top", box.Max.Y, reach.Max.Y, 2e-4)
	})
}

// Cells fill each row exactly.
func TestTitleBlockRows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var b TitleBlock
		for range rapid.IntRange(1, 9).Draw(t, "n") {
			b = append(b, Cell{Label: rapid.String().Draw(t, "label"), Value: rapid.String().Draw(t, "value"), Weight: rapid.Float64Range(0, 3).Draw(t, "weight")})
		}
		width := rapid.Float64Range(30, 400).Draw(t, "width")
		n := 0
		for _, row := range b.rows(width) {
			sum := 0.0
			for _, c := range row {
				sum += c.width
				n++
			}
			near(t, "row", sum, width, 1e-9)
		}
		if n != len(b) {
			t.Errorf("%d of %d cells placed", n, len(b))
		}
	})
}

func TestNumbersAreTrimmed(t *testing.T) {
	for v, want := range map[float64]string{1: "1", 0.5: "0.5", -0.0001: "0", 12.34567: "12.346", -3.1: "-3.1", 1e6: "1000000"} {
		if got := num(v); got != want {
			t.Errorf("num(%v) = %q, want %q", v, got, want)
		}
	}
}

// The font files are those that came from the package named in the manifest,
// unaltered.
func TestFontManifest(t *testing.T) {
	b, err := Fonts.ReadFile("font/MANIFEST")
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]string{}
	for line := range strings.Lines(string(b)) {
		if f := strings.Fields(line); len(f) == 2 && !strings.HasPrefix(line, "#") {
			listed[f[1]] = f[0]
		}
	}
	files, err := Fonts.ReadDir("font")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if f.Name() == "MANIFEST" {
			continue
		}
		b, _ := Fonts.ReadFile("font/" + f.Name())
		if sum := fmt.Sprintf("%x", sha256.Sum256(b)); listed[f.Name()] != sum {
			t.Errorf("%s has the digest %s, the manifest says %q", f.Name(), sum, listed[f.Name()])
		}
	}
	for _, name := range []string{RegularTTF, BoldTTF, RegularWOFF2, SemiBoldWOFF2, BoldWOFF2, FontLicence} {
		if _, err := Fonts.ReadFile(name); err != nil {
			t.Error(err)
		}
	}
}

func TestTitleBlockBreaks(t *testing.T) {
	b := TitleBlock{{Label: "a"}, {Label: "b", Break: true}, {Label: "c"}}
	rows := b.rows(400)
	if len(rows) != 2 || len(rows[0]) != 1 || len(rows[1]) != 2 {
		t.Errorf("a cell that breaks did not begin the second row: %v", rows)
	}
	if rows := (TitleBlock{{Label: "a", Break: true}}).rows(400); len(rows) != 1 {
		t.Errorf("a break before the first cell made an empty row: %v", rows)
	}
}
