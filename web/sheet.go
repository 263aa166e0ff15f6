package web

import (
	"fmt"
	"strings"

	"underpin/unit"
)

// A sheetView is the data of an asset as its page shows it: the form's parts, to be
// read. What is not known says so.
type sheetView struct {
	Parts   []sheetPart
	Unknown int // fields that are not known
	All     int
}

type sheetPart struct {
	Head string
	Rows []sheetRow
}

// A sheetRow is one field, a head above those of a table, or a list as a table.
type sheetRow struct {
	Label, Doc string
	Value      string
	Href       string
	Unknown    bool
	Head       bool
	Columns    []string
	Cells      [][]sheetCell // of a list: one row a field that is known of any item
	Labels     []string
}

type sheetCell struct {
	Value   string
	Unknown bool
}

// sheet reads what stands in the fields of an asset.
func (sp spec) sheet(t typed, sys unit.System) *sheetView {
	v := &sheetView{}
	for _, p := range sp.parts {
		part := sheetPart{Head: p.Head}
		for _, key := range p.Keys {
			f, _ := findField(sp.fields, key)
			if f == nil {
				continue
			}
			rows := v.rows(f, t, "", sys)
			if len(p.Keys) == 1 && len(rows) > 0 { // the part's head says it already
				switch {
				case rows[0].Head:
					rows = rows[1:]
				case rows[0].Columns != nil:
					rows[0].Label = ""
				}
			}
			part.Rows = append(part.Rows, rows...)
		}
		v.Parts = append(v.Parts, part)
	}
	return v
}

func (v *sheetView) rows(f *field, t typed, path string, sys unit.System) []sheetRow {
	at := path + f.Key
	switch f.Sort {
	case hiddenSort:
		return nil
	case tableSort:
		if !t.has(at) {
			v.All++
			v.Unknown++
			return []sheetRow{{Label: f.Label, Doc: f.Doc, Unknown: true}}
		}
		rows := []sheetRow{{Label: f.Label, Doc: f.Doc, Head: true}}
		for i := range f.Fields {
			rows = append(rows, v.rows(&f.Fields[i], t, at+".", sys)...)
		}
		return rows
	case listSort:
		return []sheetRow{v.list(f, t, at, sys)}
	}
	v.All++
	text, known := t[at]
	if !known {
		v.Unknown++
		return []sheetRow{{Label: f.Label, Doc: f.Doc, Unknown: true}}
	}
	return []sheetRow{{Label: f.Label, Doc: f.Doc, Value: f.shown(text, sys)}}
}

// has tells whether anything in a table is known.
func (t typed) has(path string) bool {
	for at := range t {
		if strings.HasPrefix(at, path+".") || strings.HasPrefix(at, path+"[") {
			return true
		}
	}
	return false
}

func (v *sheetView) list(f *field, t typed, at string, sys unit.System) sheetRow {
	row := sheetRow{Label: f.Label, Doc: f.Doc}
	n := t.rows(at)
	v.All++
	if n == 0 {
		v.Unknown++
		row.Unknown = true
		return row
	}
	for k := range n {
		row.Columns = append(row.Columns, fmt.Sprintf("%s %d", f.One, k+1))
	}
	var walk func(fields []field, inner, before string)
	walk = func(fields []field, inner, before string) {
		for i := range fields {
			g := &fields[i]
			if g.Sort == tableSort {
				walk(g.Fields, inner+g.Key+".", before+g.Label+", ")
				continue
			}
			if g.Sort == listSort || g.Sort == hiddenSort {
				continue
			}
			var cells []sheetCell
			any := false
			for k := range n {
				text, known := t[fmt.Sprintf("%s[%d].%s%s", at, k, inner, g.Key)]
				any = any || known
				cells = append(cells, sheetCell{g.shown(text, sys), !known})
			}
			if !any {
				continue // a line of nothing but unknown says little
			}
			v.All += n
			for _, c := range cells {
				if c.Unknown {
					v.Unknown++
				}
			}
			row.Labels = append(row.Labels, before+lowerUnless(before, g.Label))
			row.Cells = append(row.Cells, cells)
		}
	}
	walk(f.Fields, "", "")
	return row
}

func lowerUnless(before, label string) string {
	if before == "" {
		return label
	}
	return lower(label)
}

// shown is a value in the units that were asked for.
func (f *field) shown(text string, sys unit.System) string {
	if text == "" {
		return ""
	}
	if f.Sort == quantitySort || f.Sort == wholeSort {
		si, err := unit.Parse(text, f.Dim)
		if err != nil {
			return text
		}
		return quantity(si, f.Dim, sys)
	}
	return f.said(text)
}

// quantity prints a value in the trade's unit of a system, with no more digits than
// it needs.
func quantity(si float64, d unit.Dimension, sys unit.System) string {
	us := sys == unit.USCustomary
	switch {
	case d == unit.LengthDim && (si >= 1000 || si <= -1000):
		return unit.Format(si, unit.KM, 0)
	case d == unit.LengthDim && us:
		return unit.Format(si, unit.In, 1)
	case d == unit.LengthDim:
		return trimZeros(unit.Format(si, unit.MM, 1))
	case d == unit.MassDim && us:
		return unit.Format(si, unit.Lb, 0)
	case d == unit.MassDim:
		return unit.Format(si, unit.KG, 0)
	case d == unit.ForceDim && us:
		return unit.Format(si, unit.Lbf, 0)
	case d == unit.ForceDim:
		return trimZeros(unit.Format(si, unit.KN, 1))
	}
	return unit.Digits(si, 3)
}

// trimZeros takes off a decimal that says nothing: 3 700.0 mm.
func trimZeros(s string) string { return strings.Replace(s, ".0\u00a0", "\u00a0", 1) }
