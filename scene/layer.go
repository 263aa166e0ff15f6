package scene

import (
	"image/color"
	"strconv"
	"strings"
)

// A Role says what a line or an area means. Colours belong to roles.
type Role string

// The roles. The last four are the states of a finding; in a drawing too they
// stand beside a word or a shape, never alone.
const (
	NoRole      Role = ""
	RoleInk     Role = "ink"
	RoleThin    Role = "thin"    // dimension and extension lines
	RoleCentre  Role = "centre"  // centre lines
	RoleMuted   Role = "muted"   // small labels
	RoleRule    Role = "rule"    // rules between cells
	RolePaper   Role = "paper"   // the page around the sheet
	RoleSheet   Role = "sheet"   // the sheet itself; fills with it hide what lies behind
	RoleShade   Role = "shade"   // a light tint: glass, tank, ground
	RoleHolds   Role = "holds"   // ●
	RoleCaution Role = "caution" // ▲
	RoleFails   Role = "fails"   // ✕
	RoleUnknown Role = "unknown" // ○ cannot tell; its lines are dashed
)

// Roles lists the roles that have a colour, in the order of the stylesheet.
var Roles = [...]Role{RoleInk, RoleThin, RoleCentre, RoleMuted, RoleRule, RolePaper, RoleSheet, RoleShade, RoleHolds, RoleCaution, RoleFails, RoleUnknown}

// A Theme is a set of colours for the roles.
type Theme int

// The themes: paper by day, the dark mode for the yard at night, and print,
// which leaves the sheet white.
const (
	Light Theme = iota
	Dark
	Print
)

// Colour returns the colour of a role. Light and dark carry the same meanings;
// the contrast of both with the sheet is tested.
func (t Theme) Colour(r Role) color.RGBA {
	light, dark := uint32(0), uint32(0)
	switch r {
	case RoleInk:
		light, dark = 0x1d2433, 0xf1eee4
	case RoleThin, RoleCentre:
		light, dark = 0x8b8f98, 0x8f95a3
	case RoleMuted:
		light, dark = 0x5b606b, 0xb4b8c2
	case RoleRule:
		light, dark = 0xd9d5c8, 0x39404f
	case RolePaper:
		light, dark = 0xf7f5ee, 0x0b0e13
	case RoleSheet:
		light, dark = 0xfffefa, 0x12161e
	case RoleShade:
		light, dark = 0xe9eef0, 0x232b38
	case RoleHolds:
		light, dark = 0x0b6e8f, 0x62c4e4
	case RoleCaution:
		light, dark = 0x8c6d1f, 0xe3bb55
	case RoleFails:
		light, dark = 0xa3123f, 0xff8ba3
	case RoleUnknown:
		light, dark = 0x6a6d73, 0xaeb2ba
	}
	v := light
	if t == Dark {
		v = dark
	}
	if t == Print && (r == RoleSheet || r == RolePaper) {
		v = 0xffffff
	}
	return color.RGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 255}
}

func hex(c color.RGBA) string {
	v := strconv.FormatUint(uint64(c.R)<<16|uint64(c.G)<<8|uint64(c.B), 16)
	return "#" + strings.Repeat("0", 6-len(v)) + v
}

// A Width is a line width in paper millimetres.
type Width float64

// The steps of line width. Source: ISO 128-2, series of line widths in the
// ratio 1:√2 (from memory).
const (
	W13 Width = 0.13
	W18 Width = 0.18
	W25 Width = 0.25
	W35 Width = 0.35
	W50 Width = 0.5
	W70 Width = 0.7
)

// A Dash is a line type.
type Dash int

// The line types.
const (
	Continuous Dash = iota
	Dashed
	DashDot
)

// Pattern returns the lengths of dashes and gaps in paper millimetres for a
// line width, or nil for a continuous line. The proportions follow the line
// types of ISO 128-2 (dash 12d, long dash 24d, gap 3d; from memory), with the
// dot drawn as a short dash so that a screen shows it.
func (d Dash) Pattern(w Width) []float64 {
	u := float64(w)
	switch d {
	case Dashed:
		return []float64{10 * u, 5 * u}
	case DashDot:
		return []float64{24 * u, 5 * u, 4 * u, 5 * u}
	}
	return nil
}

// A Layer is how a line or an area is drawn, and what it is called in a CAD
// file and in the page's stylesheet.
type Layer struct {
	Name  string // lower-case letters, digits and hyphens
	Line  Role   // NoRole draws no line
	Width Width
	Dash  Dash
	Fill  Role // NoRole leaves it empty
}

// The layers that drawings are made of.
var (
	Outline   = Layer{"outline", RoleInk, W50, Continuous, NoRole}
	Body      = Layer{"body", RoleInk, W35, Continuous, RoleSheet} // hides what lies behind it
	Fine      = Layer{"fine", RoleInk, W25, Continuous, NoRole}
	Detail    = Layer{"detail", RoleThin, W18, Continuous, NoRole}
	Solid     = Layer{"solid", NoRole, W18, Continuous, RoleInk}
	Glass     = Layer{"glass", RoleThin, W18, Continuous, RoleShade}
	Hidden    = Layer{"hidden", RoleInk, W25, Dashed, NoRole}
	Centre    = Layer{"centre", RoleCentre, W18, DashDot, NoRole}
	Ground    = Layer{"ground", RoleInk, W35, Continuous, NoRole}
	Dimension = Layer{"dimension", RoleThin, W18, Continuous, NoRole}
	Hatching  = Layer{"hatch", RoleThin, W13, Continuous, NoRole}
	Missing   = Layer{"unknown", RoleUnknown, W25, Dashed, NoRole}
)

// As returns the layer in the colour of a role. The unknown is also dashed.
func (l Layer) As(r Role) Layer {
	if r == l.Line || r == NoRole {
		return l
	}
	if l.Line != NoRole {
		l.Line = r
		if r == RoleUnknown {
			l.Dash = Dashed
		}
	}
	if l.Fill != NoRole && l.Fill != RoleSheet && l.Fill != RoleShade {
		l.Fill = r
	}
	l.Name += "-" + string(r)
	return l
}

// Filled returns the layer filled with a role.
func (l Layer) Filled(r Role) Layer {
	if r == l.Fill {
		return l
	}
	l.Fill = r
	l.Name += "-on-" + string(r)
	return l
}

// cad is the colour number of a layer in a CAD file, by role.
func (l Layer) cad() int {
	r := l.Line
	if r == NoRole {
		r = l.Fill
	}
	switch r {
	case RoleThin, RoleMuted, RoleUnknown:
		return 8
	case RoleCentre, RoleRule, RoleShade:
		return 9
	case RoleHolds:
		return 5
	case RoleCaution:
		return 30
	case RoleFails:
		return 1
	}
	return 7
}
