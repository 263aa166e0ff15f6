package drawing

import (
	"math"

	"underpin/assess"
	"underpin/scene"
	"underpin/unit"
)

// Options say how a drawing is made. The zero value is the drawing for a desk,
// metric, of the case laden, with its title block.
type Options struct {
	// Case is the load case whose loads are shown; empty is laden, or the first
	// there is.
	Case    string
	Units   unit.System // metric: mm and t; US customary: feet and inches, lb
	Phone   bool        // narrow: lettering larger against the vehicles, fewer dimensions
	NoBlock bool        // without title block, where the page says the same beside it
	Width   float64     // of the sheet in paper mm; 0 is 260, or 100 on a phone
	Scale   float64     // draws 1 to Scale, however large the sheet becomes; 0 fits the sheet
	ID      string      // begins the ids of parts; empty is "side", "plan" or "turn"

	// Angle is the articulation of the plan's ghost; 0 is the one at which the
	// corner of the front comes nearest to the cab.
	Angle unit.Angle

	// Circle is the circle of the turn; nil is the one of the rulebook.
	Circle *Circle

	// Words translates what is lettered; nil leaves it in English. It is given
	// whole phrases without figures.
	Words func(english string) string
}

// A Circle is a ring that a combination is to stay in.
type Circle struct {
	Name         string
	Outer, Inner unit.Length // Inner 0: no inner circle
}

func (o Options) word(s string) string {
	if o.Words == nil {
		return s
	}
	return o.Words(s)
}

// figures letters quantities in one system of units.
type figures struct{ sys unit.System }

// length letters a length of mm millimetres, whole millimetres or eighths of an
// inch, without a unit where that is the millimetre.
func (f figures) length(mm float64) string {
	if f.sys == unit.USCustomary {
		return feet(mm)
	}
	return scene.Millimetres(mm)
}

// leadText letters a lead, with its unit.
func (f figures) leadText(mm float64) string {
	return f.leadDigits(mm, math.Round) + "\u00a0" + f.leadUnit()
}

// leadDigits letters a lead that is rounded in its last digit by round.
func (f figures) leadDigits(mm float64, round func(float64) float64) string {
	if f.sys == unit.USCustomary {
		return unit.Digits(round(assess.Whole(unit.In.From(mm/1e3)*10))/10, 1)
	}
	return unit.Digits(round(assess.Whole(mm)), 0)
}

func (f figures) leadUnit() string {
	if f.sys == unit.USCustomary {
		return "in"
	}
	return "mm"
}

// mass letters a mass with its unit.
func (f figures) mass(kg float64) string {
	if f.sys == unit.USCustomary {
		return unit.Format(kg, unit.Lb, 0)
	}
	return unit.Format(kg, unit.T, 2)
}

// massDigits letters a mass without its unit.
func (f figures) massDigits(kg float64) string {
	if f.sys == unit.USCustomary {
		return unit.Digits(unit.Lb.From(kg), 0)
	}
	return unit.Digits(unit.T.From(kg), 2)
}

// radius letters a radius of a turn, in metres or feet, with its unit.
func (f figures) radius(mm float64) string {
	if f.sys == unit.USCustomary {
		return unit.Format(mm/1e3, unit.Ft, 1)
	}
	return unit.Format(mm/1e3, unit.M, 2)
}

var eighths = [8]string{"", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞"}

// feet letters a length in feet, inches and eighths; below a yard in inches.
func feet(mm float64) string {
	n := math.Round(math.Abs(mm) / 1e3 / float64(unit.Inch) * 8)
	if math.IsNaN(n) || n > 1e9 {
		return unit.Unknown
	}
	e := int(n)
	ft, in, frac := e/96, e/8%12, eighths[e%8]
	if ft < 3 {
		in, ft = in+12*ft, 0
	}
	s := ""
	if ft > 0 {
		s = unit.Digits(float64(ft), 0) + "′\u00a0"
	}
	if in > 0 || frac == "" {
		s += unit.Digits(float64(in), 0)
	}
	s += frac + "″"
	if mm < 0 && e > 0 {
		s = "−" + s
	}
	return s
}

// scales are the drawing scales, 1 to each, from which one is taken that fits the
// sheet. They stand closer than those of ISO 5455, so that a screen is filled;
// Options.Scale asks for a standard one.
var scales = [...]float64{10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 110, 120, 130, 140, 150, 160, 170, 180, 190, 200,
	220, 240, 260, 280, 300, 325, 350, 375, 400, 450, 500, 600, 700, 800, 900, 1000, 1250, 1500, 2000}

// scaleFor is the largest scale at which a length fits a width on paper.
func scaleFor(mm, paper float64) float64 {
	for _, s := range scales {
		if mm <= paper*s {
			return s
		}
	}
	return math.Ceil(mm / paper)
}

// lettering is the heights of letters in paper mm.
type lettering struct {
	load, figure, label float64
}

func (o Options) lettering() lettering {
	if o.Phone {
		return lettering{load: 2.9, figure: 2.4, label: 2.1}
	}
	return lettering{load: 3.1, figure: 2.5, label: 2.1}
}

func (o Options) width() float64 {
	switch {
	case o.Width > 0 && !math.IsInf(o.Width, 0):
		return math.Max(o.Width, 60)
	case o.Phone:
		return 100
	}
	return 260
}

// scaled is the scale to draw at, where fit is the one that fits.
func (o Options) scaled(fit float64) float64 {
	if o.Scale > 0 && !math.IsInf(o.Scale, 0) {
		return o.Scale
	}
	return fit
}
