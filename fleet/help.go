package fleet

import (
	"reflect"
	"strings"

	"underpin/unit"
	"underpin/vehicle"
)

// A Field is one field of a vehicle as a form asks for it: what it means, how it
// is taken with a tape, and what is accepted.
type Field struct {
	Key      string // name in the fleet file
	Sort     string // quantity, number, text, choice, yes-no, table, list
	Quantity string // of a quantity: length, mass, force
	Doc      string // what it is
	Tape     string // how to take it; may be empty
	Min, Max string // accepted, with unit; may be empty
	OneOf    []string
	Fields   []Field // of a table, or of each table of a list
}

// FieldsOf lists the fields of a tractor, semi-trailer or dolly, in the order in
// which a form shows them; none for another word.
func FieldsOf(kind string) []Field {
	p := blank(kind)
	if p == nil {
		return nil
	}
	return describe(p.into().Type())
}

func describe(t reflect.Type) []Field {
	fields := make([]Field, t.NumField())
	for i := range fields {
		f := t.Field(i)
		fields[i] = Field{Key: vehicle.Key(f), Doc: f.Tag.Get("doc"), Tape: f.Tag.Get("tape"), Min: f.Tag.Get("min"), Max: f.Tag.Get("max"), OneOf: strings.Fields(f.Tag.Get("oneof"))}
		fields[i].kind(f.Type)
	}
	return fields
}

func (f *Field) kind(t reflect.Type) {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t {
	case reflect.TypeFor[unit.Length]():
		f.Sort, f.Quantity = "quantity", "length"
		return
	case reflect.TypeFor[unit.Mass]():
		f.Sort, f.Quantity = "quantity", "mass"
		return
	case reflect.TypeFor[unit.Force]():
		f.Sort, f.Quantity = "quantity", "force"
		return
	}
	switch t.Kind() {
	case reflect.Bool:
		f.Sort = "yes-no"
	case reflect.Float64:
		f.Sort = "number"
	case reflect.Struct:
		f.Sort, f.Fields = "table", describe(t)
	case reflect.Slice:
		f.Sort = "list"
		if t.Elem().Kind() == reflect.Struct {
			f.Fields = describe(t.Elem())
		}
	default:
		f.Sort = "text"
		if len(f.OneOf) > 0 {
			f.Sort = "choice"
		}
	}
}
