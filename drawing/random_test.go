package drawing_test

import (
	"bytes"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"underpin/assess"
	"underpin/drawing"
	"underpin/scene"
	"underpin/unit"
	"underpin/vehicle"
)

// spoil takes away fields of a value at random and, where wild, sets others to
// anything within the range that the fleet file allows.
func spoil(t *rapid.T, v reflect.Value, wild bool) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			f := v.Field(i)
			if f.Kind() != reflect.Pointer {
				spoil(t, f, wild)
				continue
			}
			if f.IsNil() {
				continue
			}
			switch n := rapid.IntRange(0, 9).Draw(t, v.Type().Field(i).Name); {
			case n < 2:
				f.SetZero()
			case n < 4 && wild && f.Type() == reflect.TypeFor[*unit.Length]():
				var lo, hi unit.Length
				if lo.UnmarshalText([]byte(v.Type().Field(i).Tag.Get("min"))) != nil || hi.UnmarshalText([]byte(v.Type().Field(i).Tag.Get("max"))) != nil {
					continue
				}
				l := unit.Length(rapid.Float64Range(float64(lo), float64(hi)).Draw(t, "length"))
				f.Set(reflect.ValueOf(&l))
			default:
				spoil(t, f.Elem(), wild)
			}
		}
	case reflect.Slice:
		if v.Type().Elem() != reflect.TypeFor[vehicle.Axle]() && v.Len() > 0 && rapid.IntRange(0, 9).Draw(t, "drop") == 0 {
			v.SetZero()
			return
		}
		for i := range v.Len() {
			spoil(t, v.Index(i), wild)
		}
	}
}

var kinds = []string{"", "curtain-sider", "box", "reefer", "tank", "silo", "tipper", "skeletal", "flatbed", "low-loader", "step-frame", "walking-floor", "car-transporter"}

// Whatever of a fleet is missing, and whatever its numbers are within what a
// fleet file may hold, every drawing comes out whole: no panic, no co-ordinate
// that is not a number, nothing off the sheet. With the numbers as they are, no
// lettering overlaps either.
func TestAnyFleetCanBeDrawn(t *testing.T) {
	files := []string{"reference-a", "reference-b", "reference-c", "wb-40", "largest-eu", "demo"}
	rapid.Check(t, func(rt *rapid.T) {
		f := fleet(t, rapid.SampledFrom(files).Draw(rt, "file"))
		wild := rapid.Bool().Draw(rt, "wild")
		tr := &f.Tractors[rapid.IntRange(0, len(f.Tractors)-1).Draw(rt, "tractor")]
		st := &f.Trailers[rapid.IntRange(0, len(f.Trailers)-1).Draw(rt, "semi-trailer")]
		spoil(rt, reflect.ValueOf(tr).Elem(), wild)
		spoil(rt, reflect.ValueOf(st).Elem(), wild)
		if wild {
			st.Kind = rapid.SampledFrom(kinds).Draw(rt, "kind")
		}
		if len(f.Validate()) > 0 {
			rt.Skip("not a fleet that could be read")
		}
		p := pair(t, f, tr.ID, st.ID, "laden", "empty")
		r := p.Assess(assess.AimMargin)
		o := drawing.Options{
			Phone: rapid.Bool().Draw(rt, "phone"), NoBlock: rapid.Bool().Draw(rt, "no block"),
			Case: rapid.SampledFrom([]string{"", "empty", "no such case"}).Draw(rt, "case"),
		}
		if rapid.Bool().Draw(rt, "US") {
			o.Units = unit.USCustomary
		}
		for _, m := range makers {
			var b bytes.Buffer
			if err := m.make(p, r, o).SVG(&b, scene.SVGOptions{Standalone: true}); err != nil {
				rt.Fatalf("%s: %v", m.name, err)
			}
			sheet := readSVG(t, b.Bytes())
			if wild {
				for i := range sheet.shapes { // lettering may touch in a vehicle of nonsense, but not leave the sheet
					if sheet.shapes[i].kind == "text" {
						sheet.shapes[i].kind = "letters"
					}
				}
			}
			checkSheet(rt, m.name, sheet)
		}
	})
}
