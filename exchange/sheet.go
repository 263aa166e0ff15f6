package exchange

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"underpin/unit"
	"underpin/vehicle"
)

// # Tables
//
// A workbook and a folder of CSV files hold the same tables, and a table is made
// by reflection from the Go type that it fills, so that a field of the fleet file
// is a column without a further line of code:
//
//   - the file itself is the table "fleet", of one row;
//   - a list of the fleet file is a table with its path as name ("tractor",
//     "tractor.axle", "tractor.fifth-wheel.level"), one entry a row, in order;
//   - a table in a table ("weighbridge", "fifth-wheel") is columns with its name
//     before theirs ("fifth-wheel.d-value");
//   - the rows of a list within a list name the row that they belong to in their
//     first column, which is called after the table above ("tractor");
//   - facts, whose names the rulebooks give, are a table with name and value.
//
// The first column of a table names its rows.

// A table is one kind of row.
type table struct {
	name  string
	doc   string
	what  tableKind
	elem  reflect.Type // of a row; nil for facts
	above *table       // the table whose rows own these; nil where the file does
	owner string       // the column that names the owner
	at    []int        // from the owner to the list or map
	cols  []*column
}

type tableKind int

const (
	listTable tableKind = iota
	oneRow              // the file itself
	factTable
)

// A column is one field, or the sign that a table within the row is there though
// nothing in it is known.
type column struct {
	name    string
	at      []int // from the row to the field, through pointers
	field   reflect.StructField
	dim     unit.Dimension // of a quantity; else unit.Number
	present bool
}

// The names that no field of a type has.
const (
	fileTable = "fleet"
	factName  = "name"
	factValue = "value"
	ownSheet  = "#" // begins the name of a sheet, file or column that is the user's own
)

// tablesOf makes the tables of a file's type, those that own before those that
// are owned.
func tablesOf(root reflect.Type) []*table {
	p := planner{}
	file := &table{name: fileTable, doc: "The file itself.", what: oneRow, elem: root}
	p.tables = append(p.tables, file)
	if p.walk(file, root, "", nil); len(file.cols) == 0 {
		return p.tables[1:]
	}
	return p.tables
}

type planner struct{ tables []*table }

func (p *planner) walk(t *table, of reflect.Type, prefix string, at []int) {
	for i := range of.NumField() {
		f := of.Field(i)
		at := append(slices.Clip(at), i)
		ft := f.Type
		if ft.Kind() == reflect.Pointer {
			ft = ft.Elem()
		}
		key := vehicle.Key(f)
		switch {
		case f.Anonymous && key == "" && ft.Kind() == reflect.Struct:
			p.walk(t, ft, prefix, at)
		case key == "" || key == "-" || !f.IsExported():
		case isLeaf(ft):
			t.cols = append(t.cols, &column{name: prefix + key, at: at, field: f, dim: vehicle.Quantity(ft)})
		case ft.Kind() == reflect.Struct:
			if f.Type.Kind() == reflect.Pointer {
				t.cols = append(t.cols, &column{name: prefix + key, at: at, field: f, present: true})
			}
			p.walk(t, ft, prefix+key+".", at)
		case ft.Kind() == reflect.Slice || ft.Kind() == reflect.Map:
			sub := &table{name: prefix + key, doc: f.Tag.Get("doc"), at: at}
			if t.what != oneRow {
				if t.above != nil {
					panic("exchange: " + t.name + " has lists three deep, for which there are no tables")
				}
				sub.name, sub.above, sub.owner = t.name+"."+sub.name, t, t.name
			}
			p.tables = append(p.tables, sub)
			if ft.Kind() == reflect.Map {
				sub.what = factTable
				continue
			}
			sub.elem = ft.Elem()
			p.walk(sub, sub.elem, "", nil)
		default:
			panic("exchange: a field of type " + ft.String() + " has no form in a table")
		}
	}
}

// isLeaf tells a type that stands in one cell.
func isLeaf(t reflect.Type) bool {
	if isText(t) {
		return true
	}
	switch t.Kind() {
	case reflect.String, reflect.Bool, reflect.Float64, reflect.Int64:
		return true
	case reflect.Slice:
		return t.Elem().Kind() == reflect.String
	}
	return false
}

// into follows a path of fields, making what pointers point to.
func into(v reflect.Value, at []int) reflect.Value {
	for _, i := range at {
		v = v.Field(i)
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				v.Set(reflect.New(v.Type().Elem()))
			}
			v = v.Elem()
		}
	}
	return v
}

// reach follows a path of fields; false where nothing is known there.
func reach(v reflect.Value, at []int) (reflect.Value, bool) {
	for _, i := range at {
		v = v.Field(i)
		if v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return v, false
			}
			v = v.Elem()
		}
	}
	return v, true
}

// column returns the column of a name, or nil.
func (t *table) column(name string) *column {
	for _, c := range t.cols {
		if c.name == name {
			return c
		}
	}
	return nil
}

// names lists the columns that the table takes.
func (t *table) names() []string {
	var all []string
	if t.above != nil {
		all = append(all, t.owner)
	}
	if t.what == factTable {
		return append(all, factName, factValue)
	}
	for _, c := range t.cols {
		if !c.present {
			all = append(all, c.name)
		}
	}
	return all
}

// path is where an entry of the table stands in the fleet file, counted from 0.
func (t *table) path(owner string, i int) string {
	if t.above != nil {
		return fmt.Sprintf("%s.%s[%d]", owner, strings.TrimPrefix(t.name, t.above.name+"."), i)
	}
	return fmt.Sprintf("%s[%d]", t.name, i)
}
