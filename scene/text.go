package scene

import (
	"embed"
	"io/fs"
	"strings"
	"sync"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Fonts holds the typeface of drawings, pages and documents: TTF for the
// writers here and WOFF2 of the same files for pages, with its licence.
//
//go:embed font
var Fonts embed.FS

// The files in Fonts.
const (
	RegularTTF    = "font/SourceSans3-Regular.ttf"
	BoldTTF       = "font/SourceSans3-Bold.ttf"
	RegularWOFF2  = "font/SourceSans3-Regular.woff2"
	SemiBoldWOFF2 = "font/SourceSans3-SemiBold.woff2"
	BoldWOFF2     = "font/SourceSans3-Bold.woff2"
	FontLicence   = "font/OFL.txt"
)

// FontFamily is the family as pages and SVG files ask for it.
const FontFamily = `"Source Sans 3", sans-serif`

// Heights of lettering in paper millimetres. The height is that of a capital
// or a figure, as a drawing office measures it. Source: ISO 3098-1, nominal
// heights (from memory); 2.0 is our own step for small labels.
const (
	TextLabel  = 1.8
	TextSmall  = 2.0
	TextFigure = 2.5
	TextNote   = 2.5
	TextTitle  = 3.5
)

// capHeight is the height of a capital as a share of the type size.
//
// Source: the font's own metrics, 660 of 1000 units; a test reads it back.
const capHeight = 0.660

// descent is how far letters reach below the baseline, as a share of the type
// size; enough for every letter of the drawings.
const descent = 0.22

// face is one weight, parsed once.
type face struct {
	ttf  []byte
	font *sfnt.Font
}

var (
	regular = sync.OnceValue(func() face { return load(RegularTTF) })
	bold    = sync.OnceValue(func() face { return load(BoldTTF) })
)

func load(name string) face {
	b, err := fs.ReadFile(Fonts, name)
	if err != nil {
		panic("scene: " + err.Error()) // the file is compiled in
	}
	f, err := sfnt.Parse(b)
	if err != nil {
		panic("scene: " + name + ": " + err.Error())
	}
	return face{b, f}
}

func weight(isBold bool) face {
	if isBold {
		return bold()
	}
	return regular()
}

// TextWidth returns the width in paper millimetres of a text whose capitals
// are height paper millimetres high, from the font's own advances.
func TextWidth(text string, height float64, isBold bool) float64 {
	f := weight(isBold).font
	var b sfnt.Buffer
	units := fixed.Int26_6(f.UnitsPerEm())
	var sum fixed.Int26_6
	for _, r := range text {
		g, err := f.GlyphIndex(&b, r)
		if err != nil {
			continue
		}
		if a, err := f.GlyphAdvance(&b, g, units<<6, font.HintingNone); err == nil {
			sum += a
		}
	}
	return float64(sum) / 64 / float64(units) * height / capHeight
}

// shorten cuts a text so that it is no wider than width, with an ellipsis.
func shorten(text string, height float64, isBold bool, width float64) string {
	if TextWidth(text, height, isBold) <= width {
		return text
	}
	runes := []rune(text)
	for n := len(runes) - 1; n > 0; n-- {
		if t := strings.TrimRight(string(runes[:n]), " ") + "…"; TextWidth(t, height, isBold) <= width {
			return t
		}
	}
	return "…"
}

// clean makes a text fit for every format: valid UTF-8 on one line, without
// control characters, which neither XML nor DXF may hold.
func clean(s string) string {
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "\ufffd")
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case r < 0x20, 0x7f <= r && r < 0xa0, r == 0xfffe, r == 0xffff, r == 0x2028, r == 0x2029:
			return -1
		}
		return r
	}, s)
}

// grouping makes thin spaces as wide as they should be. The typeface draws
// U+2009 a tenth of an em wide, at which "16 460" reads as 16460; its no-break
// space is a fifth of an em, which is what printers call thin.
var grouping = strings.NewReplacer("\u2009", "\u00a0", "\u202f", "\u00a0")

// drawable replaces what the font has no glyph for, for the writers that draw
// with the font itself.
func drawable(s string) string {
	f := regular().font
	var b sfnt.Buffer
	return strings.Map(func(r rune) rune {
		if r > 0xffff {
			return '?'
		}
		if g, err := f.GlyphIndex(&b, r); err == nil && g != 0 {
			return r
		}
		switch r {
		case '⌀':
			return 'Ø'
		case '✕':
			return '×'
		}
		return '?'
	}, s)
}
