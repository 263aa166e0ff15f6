package mounting_test

import (
	"reflect"
	"testing"

	"underpin/mounting"
	"underpin/rule"
)

// Every value of the demo's parts file and of its tractor is taken away in
// turn. Nothing may break, and a sheet from which something was taken that a
// binding finding rests on may not come out as one that fits.
func TestEveryValueTakenAway(t *testing.T) {
	// What decides nothing when it is not known: it is not asked for by this
	// fitting, is only drawn, or serves warnings and other stacks.
	decides := map[string]bool{
		"TyreRadius": true, "AxleToFrame": true, "SinkRear": true, "SinkFront": true, "Under": true, "Tyres": true,
		"At": true, "Tolerance": true, "Torque": true, "LeastFriction": true, "MostFriction": true, "Shank": true, "Threaded": true,
		"PlateWidth": true, "Coated": true, "GrossPlate": true, "TrainPlate": true,
	}
	s := demo(t)
	r := s.request(t, "heron-plate")
	r.Brief.Trailers, r.Brief.Wished = []string{"weir-34"}, nil
	base, err := mounting.Specify(r)
	if err != nil || base.Answer != string(rule.Fits) {
		t.Fatalf("the whole sheet is %v, %v", base, err)
	}
	taken, open := 0, map[string]bool{}
	try := func(name string, field reflect.Value) {
		old := reflect.New(field.Type()).Elem()
		old.Set(field)
		field.SetZero()
		defer field.Set(old)
		taken++
		sheet, err := mounting.Specify(r)
		if err == nil {
			if sheet.Answer == string(rule.CannotTell) || sheet.Answer == string(rule.DoesNotFit) {
				open[name] = true
				if approved := sheet.Approve("A", "B"); approved == nil {
					t.Errorf("without %s the sheet is %s and was approved", name, sheet.Answer)
				}
				if sheet.Answer == string(rule.CannotTell) && len(sheet.Unknown) == 0 {
					t.Errorf("without %s the sheet cannot tell and names nothing", name)
				}
			}
		}
		none := *r
		brief := *r.Brief
		brief.Trailers = nil
		none.Brief = &brief
		if _, err := none.Search(3); err != nil {
			if _, ok := err.(*mounting.NoPlaceError); !ok {
				t.Errorf("without %s the search says %v", name, err)
			}
		}
		if _, err := none.Advise(); err != nil {
			if _, ok := err.(*mounting.StackError); !ok {
				t.Errorf("without %s the advice says %v", name, err)
			}
		}
	}
	var walk func(v reflect.Value)
	walk = func(v reflect.Value) {
		for i := range v.NumField() {
			name, f := v.Type().Field(i).Name, v.Field(i)
			switch {
			case name == "ID" || name == "For" || name == "Kind" || name == "StandsOn": // without them it is another file
			case f.Kind() == reflect.Pointer && !f.IsNil():
				try(name, f)
				if f.Elem().Kind() == reflect.Struct {
					walk(f.Elem())
				}
			case f.Kind() == reflect.Struct:
				walk(f)
			case f.Kind() == reflect.Slice && f.Type().Elem().Kind() == reflect.Struct:
				n := f.Len()
				if f.Type().Elem() == reflect.TypeFor[mounting.Row]() {
					n = 1 // one row is as the next
				}
				for k := range n {
					walk(f.Index(k))
				}
			case f.Kind() == reflect.String && f.String() != "":
				try(name, f)
			}
		}
	}
	walk(reflect.ValueOf(r.Chassis).Elem())
	for _, id := range r.Fitting.Parts {
		walk(reflect.ValueOf(s.file.Part(id)).Elem())
	}
	for i := range r.Fitting.Joints {
		walk(reflect.ValueOf(&r.Fitting.Joints[i]).Elem())
	}
	try("At", reflect.ValueOf(r.Fitting).Elem().FieldByName("At"))
	try("Tolerance", reflect.ValueOf(r.Fitting).Elem().FieldByName("Tolerance"))
	for _, name := range []string{"GrossPlate", "TrainPlate"} {
		try(name, reflect.ValueOf(r.Tractor).Elem().FieldByName(name))
	}
	if taken < 120 {
		t.Errorf("%d values were taken away; the file holds more", taken)
	}
	for name := range decides {
		if !open[name] {
			t.Errorf("without %s the sheet still fits", name)
		}
	}
}
