package scene

import (
	"fmt"
	"image/color"
	"io"
	"math"

	"git.sr.ht/~sbinet/gg"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// A PNGOptions says how a drawing is written as a picture.
type PNGOptions struct {
	DPI   float64 // dots an inch; 0 is 150
	Theme Theme
}

// maxPixels bounds a picture to what can be held in memory without thought.
const maxPixels = 60e6

// PNG writes the drawing as a picture.
func (s *Scene) PNG(w io.Writer, o PNGOptions) error {
	sh, err := s.layout()
	if err != nil {
		return err
	}
	if o.DPI == 0 {
		o.DPI = 150
	}
	k := o.DPI / 25.4 // pixels in a paper mm
	W, H := math.Ceil(sh.w*k), math.Ceil(sh.h*k)
	if !(k > 0 && W >= 1 && H >= 1 && W*H <= maxPixels) {
		return fmt.Errorf("scene: a picture of %.0f × %.0f mm at %g dots an inch was asked for; expected at most %.0f million pixels", sh.w, sh.h, o.DPI, maxPixels/1e6)
	}
	p := &picture{Context: gg.NewContext(int(W), int(H)), sh: sh, k: k, theme: o.Theme}
	p.SetColor(o.Theme.Colour(RoleSheet))
	p.Clear()
	p.SetLineJoinRound()
	p.SetLineCapButt()
	for _, it := range sh.items {
		p.item(it)
	}
	return p.EncodePNG(w)
}

type picture struct {
	*gg.Context
	sh    sheet
	k     float64
	theme Theme
}

func (p *picture) at(q Pt) Pt {
	v := p.sh.paper(q)
	return Pt{p.k * v.X, p.k * (p.sh.h - v.Y)}
}

func (p *picture) trace(pts []Pt, closed bool) {
	for i, q := range pts {
		if v := p.at(q); i == 0 {
			p.MoveTo(v.X, v.Y)
		} else {
			p.LineTo(v.X, v.Y)
		}
	}
	if closed {
		p.ClosePath()
	}
}

func (p *picture) item(it item) {
	p.ClearPath()
	switch it.kind {
	case path:
		p.trace(it.pts, it.closed)
	case circle:
		c := p.at(it.pts[0])
		p.NewSubPath()
		p.DrawCircle(c.X, c.Y, p.k*it.r/p.sh.scale)
		p.ClosePath()
	case arc:
		c := p.at(it.pts[0])
		p.NewSubPath()
		p.DrawArc(c.X, c.Y, p.k*it.r/p.sh.scale, -float64(it.from), -float64(it.to))
	case text:
		if it.text.Halo {
			p.trace(p.sh.haloPath(it.text), true)
			p.SetColor(p.theme.Colour(RoleSheet))
			p.Fill()
			p.ClearPath()
		}
		p.lettering(it.text)
		return
	default:
		return
	}
	if l := it.layer; l.Fill != NoRole {
		p.SetColor(p.theme.Colour(l.Fill))
		p.FillPreserve()
	}
	if l := it.layer; l.Line != NoRole {
		p.SetColor(p.theme.Colour(l.Line))
		p.SetLineWidth(math.Max(p.k*float64(l.Width), 0.8))
		dash := l.Dash.Pattern(l.Width)
		for i := range dash {
			dash[i] *= p.k
		}
		p.SetDash(dash...)
		p.StrokePreserve()
	}
}

// lettering fills the outlines of the letters, which keeps turned text as
// sharp as level text.
func (p *picture) lettering(t Text) {
	f := weight(t.Bold).font
	var b sfnt.Buffer
	units := float64(f.UnitsPerEm())
	ppem := fixed.I(int(f.UnitsPerEm()))
	size := t.Height / capHeight // paper mm
	along, across := t.baseline()
	u := polar(t.Angle)
	v := u.left()
	x := along
	// Glyph outlines come y down, in units of the em at this size.
	dot := func(q fixed.Point26_6) Pt {
		gx, gy := x+float64(q.X)/64/units*size, across-float64(q.Y)/64/units*size
		return p.at(t.At.add(u.mul(gx * p.sh.scale)).add(v.mul(gy * p.sh.scale)))
	}
	for _, r := range drawable(t.S) {
		g, err := f.GlyphIndex(&b, r)
		if err != nil {
			continue
		}
		outline, err := f.LoadGlyph(&b, g, ppem, nil)
		if err != nil {
			continue
		}
		for _, seg := range outline {
			a := dot(seg.Args[0])
			switch seg.Op {
			case sfnt.SegmentOpMoveTo:
				p.ClosePath()
				p.MoveTo(a.X, a.Y)
			case sfnt.SegmentOpLineTo:
				p.LineTo(a.X, a.Y)
			case sfnt.SegmentOpQuadTo:
				c := dot(seg.Args[1])
				p.QuadraticTo(a.X, a.Y, c.X, c.Y)
			case sfnt.SegmentOpCubeTo:
				c, d := dot(seg.Args[1]), dot(seg.Args[2])
				p.CubicTo(a.X, a.Y, c.X, c.Y, d.X, d.Y)
			}
		}
		p.ClosePath()
		if adv, err := f.GlyphAdvance(&b, g, ppem, font.HintingNone); err == nil {
			x += float64(adv) / 64 / units * size
		}
	}
	p.SetColor(color.Color(p.theme.Colour(t.Role)))
	p.Fill()
}
