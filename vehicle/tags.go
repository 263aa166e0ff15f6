package vehicle

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"underpin/unit"
)

// The fields of a file's types say in their tags what they take: min and max,
// quantities with their unit, and oneof, words between spaces. What reads, writes
// or documents such a file asks here.

// Key returns the name of a field in the file.
func Key(field reflect.StructField) string {
	key, _, _ := strings.Cut(field.Tag.Get("toml"), ",")
	return key
}

// Quantity returns which quantity values of a type are; Number for everything
// that carries no unit.
func Quantity(t reflect.Type) unit.Dimension {
	switch t {
	case reflect.TypeFor[unit.Length]():
		return unit.LengthDim
	case reflect.TypeFor[unit.Mass]():
		return unit.MassDim
	case reflect.TypeFor[unit.Force]():
		return unit.ForceDim
	case reflect.TypeFor[unit.Torque]():
		return unit.TorqueDim
	case reflect.TypeFor[unit.Angle]():
		return unit.AngleDim
	case reflect.TypeFor[unit.Accel]():
		return unit.AccelDim
	case reflect.TypeFor[unit.Area]():
		return unit.AreaDim
	case reflect.TypeFor[unit.Pressure]():
		return unit.PressureDim
	}
	return unit.Number
}

// shown is the unit in which a quantity out of bounds is told.
var shown = map[unit.Dimension]unit.Unit{
	unit.Number: unit.One, unit.LengthDim: unit.MM, unit.MassDim: unit.KG, unit.ForceDim: unit.KN, unit.TorqueDim: unit.NM,
	unit.AngleDim: unit.Deg, unit.AccelDim: unit.MS2, unit.AreaDim: unit.MM2, unit.PressureDim: unit.MPa,
}

// CheckTags walks a struct and what is in it, and holds each value against the
// min, max and oneof of its field's tag. Path is where the struct stands.
func CheckTags(v reflect.Value, path string, bad func(path, found, expected string)) {
	t := v.Type()
	for i := range t.NumField() {
		field := t.Field(i)
		p := strings.TrimPrefix(path+"."+Key(field), ".")
		fv := v.Field(i)
		for fv.Kind() == reflect.Pointer && !fv.IsNil() {
			fv = fv.Elem()
		}
		if fv.Kind() == reflect.Slice {
			for k := range fv.Len() {
				checkTag(field, fv.Index(k), fmt.Sprintf("%s[%d]", p, k), bad)
			}
			continue
		}
		checkTag(field, fv, p, bad)
	}
}

func checkTag(field reflect.StructField, v reflect.Value, path string, bad func(path, found, expected string)) {
	switch v.Kind() {
	case reflect.Struct:
		CheckTags(v, path, bad)
	case reflect.Float64:
		checkRange(field, v, path, bad)
	case reflect.String:
		checkText(Key(field), v.String(), path, bad)
		words := strings.Fields(field.Tag.Get("oneof"))
		if len(words) > 0 && v.String() != "" && !slices.Contains(words, v.String()) {
			bad(path, fmt.Sprintf("%s = %q", Key(field), v.String()), "one of "+strings.Join(words, ", "))
		}
	}
}

// longestName is how many characters a name may have, so that it keeps its line
// in lists, on drawings and on the first line of an answer.
const longestName = 80

// checkText refuses what would break the line in which a text is told. Notes may
// have lines of their own.
func checkText(key, text, path string, bad func(path, found, expected string)) {
	if n := utf8.RuneCountInString(text); key == "name" && n > longestName {
		bad(path, fmt.Sprintf("a name of %d characters", n), fmt.Sprintf("at most %d; a note takes the rest", longestName))
	}
	for _, r := range text {
		if unicode.IsControl(r) && !(key == "note" && (r == '\n' || r == '\r' || r == '\t')) {
			bad(path, fmt.Sprintf("%s with the control character %U", key, r), "one line of plain text")
			return
		}
	}
}

func checkRange(field reflect.StructField, v reflect.Value, path string, bad func(path, found, expected string)) {
	dim, x := Quantity(v.Type()), v.Float()
	lo, hi := bound(field.Tag.Get("min"), dim, math.Inf(-1)), bound(field.Tag.Get("max"), dim, math.Inf(1))
	if lo <= x && x <= hi {
		return
	}
	expected := "a finite number"
	if lo, hi := field.Tag.Get("min"), field.Tag.Get("max"); lo != "" && hi != "" {
		expected = lo + " to " + hi
	}
	if dim == unit.MassDim && x > 0 {
		for _, slip := range []struct {
			factor float64
			was    string
		}{{1e-3, "kg written as t"}, {1e3, "t written as kg"}} {
			if y := x * slip.factor; lo <= y && y <= hi {
				expected += fmt.Sprintf(" (%s, perhaps: %s)", slip.was, unit.Text(y, unit.KG))
				break
			}
		}
	}
	bad(path, Key(field)+" = "+unit.Text(x, shown[dim]), expected)
}

func bound(tag string, dim unit.Dimension, none float64) float64 {
	if tag == "" {
		return none
	}
	v, err := unit.Parse(tag, dim)
	if err != nil {
		panic("vehicle: the bound " + tag + " in a field's tag is not a quantity: " + err.Error())
	}
	return v
}
