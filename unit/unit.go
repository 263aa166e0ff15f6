// Package unit holds the physical quantities that the program passes between
// packages, and is the only place with conversion factors. Each quantity is a
// float64 in its SI unit, so a mass cannot be handed over where a length is
// meant. Text comes in through Parse and the UnmarshalText methods and goes
// out through Format; nothing else in the program converts.
package unit

import "math"

// Quantities, each in its SI unit.
type (
	Length   float64 // metre
	Mass     float64 // kilogram
	Force    float64 // newton
	Torque   float64 // newton metre
	Angle    float64 // radian
	Accel    float64 // metre per second squared
	Area     float64 // square metre
	Pressure float64 // pascal
)

// Gravity is g as every source read for the D-value and for axle loads rounds
// it; it is not standard gravity. With 9.80665 the published figures do not
// reproduce in the fourth digit.
//
// Source: "D-value (transport)", en.wikipedia.org, as printed there; handbook
// chapter 01.
const Gravity Accel = 9.81 // m/s²

// Exact factors to SI. Pound and inch: international yard and pound agreement
// of 1959, exact by definition.
const (
	Millimetre Length = 1e-3
	Centimetre Length = 1e-2
	Metre      Length = 1
	Kilometre  Length = 1e3
	Inch       Length = 0.0254
	Foot       Length = 0.3048
	Mile       Length = 1609.344

	Kilogram Mass = 1
	Tonne    Mass = 1e3
	Pound    Mass = 0.45359237

	Newton     Force = 1
	Kilonewton Force = 1e3
	PoundForce Force = 0.45359237 * 9.80665 // lbf is defined by standard gravity

	NewtonMetre     Torque = 1
	KilonewtonMetre Torque = 1e3
	PoundFoot       Torque = 0.45359237 * 9.80665 * 0.3048

	Radian Angle = 1
	Degree Angle = 0.017453292519943295769

	MetrePerSecond2 Accel = 1
	StandardGravity Accel = 9.80665

	SquareMetre      Area = 1
	SquareMillimetre Area = 1e-6
	SquareInch       Area = 0.0254 * 0.0254

	Pascal     Pressure = 1
	Megapascal Pressure = 1e6 // = 1 N/mm²
	PSI        Pressure = 0.45359237 * 9.80665 / (0.0254 * 0.0254)
)

// The quantity in a trade unit.
func (l Length) Millimetres() float64     { return float64(l) * 1e3 }
func (l Length) Metres() float64          { return float64(l) }
func (l Length) Feet() float64            { return float64(l / Foot) }
func (l Length) Inches() float64          { return float64(l / Inch) }
func (m Mass) Kilograms() float64         { return float64(m) }
func (m Mass) Tonnes() float64            { return float64(m) / 1e3 }
func (m Mass) Pounds() float64            { return float64(m / Pound) }
func (f Force) Newtons() float64          { return float64(f) }
func (f Force) Kilonewtons() float64      { return float64(f) / 1e3 }
func (t Torque) NewtonMetres() float64    { return float64(t) }
func (a Angle) Degrees() float64          { return float64(a / Degree) }
func (a Angle) Radians() float64          { return float64(a) }
func (a Area) SquareMillimetres() float64 { return float64(a) * 1e6 }
func (p Pressure) Megapascals() float64   { return float64(p) / 1e6 }

// A Dimension tells which quantity a number is.
type Dimension int

// The dimensions. Number is a pure number and carries no unit.
const (
	Number Dimension = iota
	LengthDim
	MassDim
	ForceDim
	TorqueDim
	AngleDim
	AccelDim
	AreaDim
	PressureDim
)

var dimensionNames = [...]string{"number", "length", "mass", "force", "torque", "angle", "acceleration", "area", "pressure"}

func (d Dimension) String() string {
	if d < 0 || int(d) >= len(dimensionNames) {
		return "unknown quantity"
	}
	return dimensionNames[d]
}

// A Unit is a trade unit: its symbol as written and read, its quantity, and
// how many SI units one of it is.
type Unit struct {
	Symbol string
	Dim    Dimension
	SI     float64
}

// The units that outputs are printed in. All are found by Lookup too.
var (
	One = Unit{"", Number, 1}
	MM  = Unit{"mm", LengthDim, float64(Millimetre)}
	M   = Unit{"m", LengthDim, 1}
	KM  = Unit{"km", LengthDim, float64(Kilometre)}
	In  = Unit{"in", LengthDim, float64(Inch)}
	Ft  = Unit{"ft", LengthDim, float64(Foot)}
	KG  = Unit{"kg", MassDim, 1}
	T   = Unit{"t", MassDim, float64(Tonne)}
	Lb  = Unit{"lb", MassDim, float64(Pound)}
	N   = Unit{"N", ForceDim, 1}
	KN  = Unit{"kN", ForceDim, float64(Kilonewton)}
	Lbf = Unit{"lbf", ForceDim, float64(PoundForce)}
	NM  = Unit{"N.m", TorqueDim, 1}
	Deg = Unit{"deg", AngleDim, float64(Degree)}
	MS2 = Unit{"m/s2", AccelDim, 1}
	MM2 = Unit{"mm2", AreaDim, float64(SquareMillimetre)}
	MPa = Unit{"MPa", PressureDim, float64(Megapascal)}
)

// units lists every symbol that Parse reads. The first of a dimension is the
// one that error messages propose.
var units = []Unit{
	MM, M, {"cm", LengthDim, float64(Centimetre)}, KM, In, {"inch", LengthDim, float64(Inch)}, {`"`, LengthDim, float64(Inch)},
	Ft, {"'", LengthDim, float64(Foot)}, {"mi", LengthDim, float64(Mile)},
	KG, T, Lb, {"lbs", MassDim, float64(Pound)},
	KN, N, Lbf,
	NM, {"Nm", TorqueDim, 1}, {"N·m", TorqueDim, 1}, {"kNm", TorqueDim, 1e3}, {"kN.m", TorqueDim, 1e3},
	{"lbf.ft", TorqueDim, float64(PoundFoot)}, {"lb.ft", TorqueDim, float64(PoundFoot)},
	Deg, {"°", AngleDim, float64(Degree)}, {"rad", AngleDim, 1},
	MS2, {"m/s²", AccelDim, 1},
	MM2, {"mm²", AreaDim, float64(SquareMillimetre)}, {"m2", AreaDim, 1}, {"m²", AreaDim, 1}, {"in2", AreaDim, float64(SquareInch)},
	MPa, {"N/mm2", PressureDim, 1e6}, {"N/mm²", PressureDim, 1e6}, {"psi", PressureDim, float64(PSI)}, {"Pa", PressureDim, 1},
}

// Lookup returns the unit with this symbol, exactly as written.
func Lookup(symbol string) (Unit, bool) {
	for _, u := range units {
		if u.Symbol == symbol {
			return u, true
		}
	}
	return Unit{}, false
}

// Symbols returns the symbols that Parse reads for a dimension, the usual one
// first.
func Symbols(d Dimension) []string {
	var s []string
	for _, u := range units {
		if u.Dim == d {
			s = append(s, u.Symbol)
		}
	}
	return s
}

// From converts an SI value to this unit. The dust that binary rounding leaves on
// the way is taken off, so that 80,000 lb come back as 80,000 lb: what is a whole
// millionth of the unit but for one part in 10¹⁴ is that millionth.
func (u Unit) From(si float64) float64 {
	v := si / u.SI
	if near := math.Round(v*1e6) / 1e6; v != near && math.Abs(v-near) <= 1e-14*math.Max(1, math.Abs(v)) {
		return near
	}
	return v
}

// ToSI converts a value in this unit to SI.
func (u Unit) ToSI(v float64) float64 { return v * u.SI }
