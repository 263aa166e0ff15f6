package vehicle

import (
	"fmt"
	"reflect"

	"underpin/unit"
)

func mm(n float64) *unit.Length { l := unit.Length(n) * unit.Millimetre; return &l }
func kilos(n float64) *unit.Mass {
	m := unit.Mass(n)
	return &m
}
func yes() *bool { b := true; return &b }
func part(x float64) *float64 {
	return &x
}

// sound is a fleet without an error in it: reference vehicle A of handbook
// chapter 03, section 8, with a load.
func sound() *Fleet {
	return &Fleet{
		Tractors: []Tractor{{
			ID: "a",
			Axles: []Axle{
				{Kind: "steer", Tare: kilos(5500)},
				{Kind: "drive", At: mm(3700), Tare: kilos(2300)},
			},
			FifthWheel: FifthWheel{At: mm(3100), Pin: mm(50), Slider: &Slider{Foremost: mm(2950), Rearmost: mm(3350)}, Levels: []Level{{Laden: mm(1130)}, {Laden: mm(1000)}}},
		}},
		Trailers: []SemiTrailer{{
			ID:      "b",
			Axles:   []Axle{{At: mm(6390)}, {Gap: mm(1310)}, {Gap: mm(1310), Steering: "self"}},
			TarePin: kilos(1900), TareBogie: kilos(4400),
			Payload: kilos(25900), PayloadAt: mm(6800),
			Kingpin: Kingpin{Size: mm(50.8)},
		}},
		Loads: []Load{
			{ID: "half", For: []string{"b"}, Payload: kilos(12000), At: mm(3400)},
			{ID: "rows", Items: []Item{{Mass: kilos(5000), At: mm(1200)}}},
		},
	}
}

// leaves lists every value that is given, by its path and as text.
func leaves(v reflect.Value, path string, out map[string]string) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			leaves(v.Elem(), path, out)
			if v.Elem().Kind() == reflect.Struct {
				out[path+"{}"] = "given"
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			leaves(v.Field(i), path+"."+Key(v.Type().Field(i)), out)
		}
	case reflect.Slice:
		out[path+"[]"] = fmt.Sprint(v.Len())
		for i := range v.Len() {
			leaves(v.Index(i), fmt.Sprintf("%s[%d]", path, i), out)
		}
	default:
		out[path] = fmt.Sprintf("%v", v.Interface())
	}
}

func given(f *Fleet) map[string]string {
	out := map[string]string{}
	leaves(reflect.ValueOf(f), "", out)
	return out
}
