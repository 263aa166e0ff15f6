package exchange

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"underpin/unit"
)

// A sheet is a table as it will be written.
type sheet struct {
	table *table
	heads []head
	rows  [][]value
}

// A head is the head of a column to be written.
type head struct {
	text string
	col  *column // nil for the owner and for facts
}

// A value is what will stand in a cell: a number where one is set, else text;
// neither is an empty cell.
type value struct {
	text   string
	number string
}

func (v value) String() string { return v.text + v.number }

// sheetsOf makes the tables of a file. A type that no table can hold is an error.
func sheetsOf(root reflect.Value) ([]*sheet, error) {
	var all []*sheet
	for _, t := range tablesOf(root.Type()) {
		s, err := sheetOf(t, root)
		if err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, nil
}

// An entry is what fills a row.
type entry struct {
	owner string
	v     reflect.Value
	fact  [2]value
}

func sheetOf(t *table, root reflect.Value) (*sheet, error) {
	entries, err := entriesOf(t, root)
	if err != nil {
		return nil, err
	}
	s := &sheet{table: t, rows: make([][]value, len(entries))}
	if t.above != nil {
		s.heads = append(s.heads, head{text: t.owner})
		for i, e := range entries {
			s.rows[i] = append(s.rows[i], value{text: written(e.owner)})
		}
	}
	if t.what == factTable {
		s.heads = append(s.heads, head{text: factName}, head{text: factValue})
		for i, e := range entries {
			s.rows[i] = append(s.rows[i], e.fact[0], e.fact[1])
		}
		return s, nil
	}
	for _, c := range t.cols {
		values := make([]reflect.Value, len(entries))
		some := false
		for i, e := range entries {
			v, known := reach(e.v, c.at)
			if c.present {
				known = known && empty(v)
			}
			if known {
				values[i], some = v, true
			}
		}
		if c.present && !some {
			continue // nearly always
		}
		u := c.unitOf(values)
		text := c.name
		if u.Symbol != "" {
			text += ", " + u.Symbol
		}
		s.heads = append(s.heads, head{text, c})
		for i, v := range values {
			s.rows[i] = append(s.rows[i], c.write(v, u))
		}
	}
	return s, nil
}

// entriesOf lists what fills the rows of a table.
func entriesOf(t *table, root reflect.Value) ([]entry, error) {
	owners := []entry{{v: root}}
	if t.above != nil {
		owners = nil
		list, _ := reach(root, t.above.at)
		for i := range list.Len() {
			name, _ := reach(list.Index(i), t.above.cols[0].at)
			owners = append(owners, entry{owner: name.String(), v: list.Index(i)})
		}
	}
	if t.what == oneRow {
		return owners, nil
	}
	var all []entry
	for _, o := range owners {
		list, known := reach(o.v, t.at)
		if !known {
			continue
		}
		if t.what == factTable {
			facts, err := factsOf(list, t.path(o.owner, 0))
			if err != nil {
				return nil, err
			}
			for _, f := range facts {
				all = append(all, entry{owner: o.owner, fact: f})
			}
			continue
		}
		for i := range list.Len() {
			all = append(all, entry{owner: o.owner, v: list.Index(i)})
		}
	}
	return all, nil
}

// factsOf lists the facts of a map in the order of their names.
func factsOf(m reflect.Value, where string) ([][2]value, error) {
	var all [][2]value
	for _, name := range sortedKeys(m) {
		v := m.MapIndex(reflect.ValueOf(name)).Interface()
		text, ok := writtenFact(v)
		if !ok {
			return nil, fmt.Errorf("%s: the fact %s is %v, which no cell can hold; expected true, false, a number or a word", where, name, v)
		}
		pair := [2]value{{text: written(name)}, {text: text}}
		if n, whole := v.(int64); whole { // as a number 40.0 would come back as 40
			pair[1] = wholeValue(n)
		}
		all = append(all, pair)
	}
	return all, nil
}

// empty tells that nothing is known in a table.
func empty(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if !empty(v.Field(i)) {
				return false
			}
		}
		return true
	case reflect.Slice, reflect.Map:
		return v.Len() == 0
	}
	return v.IsZero()
}

// The units in which a quantity may be headed, the usual one first.
var headUnits = map[unit.Dimension][]unit.Unit{
	unit.LengthDim: {unit.MM, unit.In, unit.Ft}, unit.MassDim: {unit.KG, unit.Lb},
	unit.ForceDim: {unit.KN, unit.Lbf}, unit.TorqueDim: {unit.NM}, unit.AngleDim: {unit.Deg},
	unit.AccelDim: {unit.MS2}, unit.AreaDim: {unit.MM2}, unit.PressureDim: {unit.MPa},
}

// unitOf picks the unit for the head of a column: the usual one, unless another
// takes fewer digits by far, so that a fleet in pounds is written in pounds.
func (c *column) unitOf(values []reflect.Value) unit.Unit {
	units := headUnits[c.dim]
	if symbol := c.field.Tag.Get("unit"); symbol != "" {
		u, _ := unit.Lookup(symbol)
		units = []unit.Unit{u}
	}
	if len(units) == 0 {
		return unit.One
	}
	cost := func(u unit.Unit) (digits int) {
		for _, v := range values {
			if v.IsValid() {
				text, exact := inUnit(v.Float(), u)
				digits += len(text)
				if !exact {
					digits += sheetDigits
				}
				if u != units[0] {
					digits += 2
				}
			}
		}
		return digits
	}
	best, least := units[0], cost(units[0])
	for _, u := range units[1:] {
		if c := cost(u); c < least {
			best, least = u, c
		}
	}
	return best
}

// sheetDigits is how many digits a spreadsheet keeps of a number.
const sheetDigits = 15

// inUnit writes a quantity in a unit, without it; false where that would not read
// back as the same value.
func inUnit(si float64, u unit.Unit) (string, bool) {
	text := unit.Text(si, u)
	digits, exact := strings.CutSuffix(text, " "+u.Symbol)
	if u.Symbol == "" {
		exact = true
	}
	n := 0
	for _, r := range strings.TrimLeft(digits, "-0.") {
		if r != '.' {
			n++
		}
	}
	return digits, exact && n <= sheetDigits
}

// write writes the field of a row; an invalid value is unknown.
func (c *column) write(v reflect.Value, u unit.Unit) value {
	switch {
	case !v.IsValid():
		return value{}
	case c.present:
		return value{text: "yes"}
	case c.dim != unit.Number:
		if digits, exact := inUnit(v.Float(), u); exact {
			return value{number: digits}
		}
		return value{text: unit.Text(v.Float(), u)}
	case isText(v.Type()):
		return value{text: textOf(v)}
	}
	switch v.Kind() {
	case reflect.String:
		return value{text: written(v.String())}
	case reflect.Bool:
		if c.field.Type.Kind() == reflect.Bool && !v.Bool() {
			return value{} // as the fleet file leaves it out
		}
		return value{text: strconv.FormatBool(v.Bool())}
	case reflect.Float64:
		digits, exact := inUnit(v.Float(), unit.One)
		if !exact {
			return value{text: digits}
		}
		return value{number: digits}
	case reflect.Int64:
		return wholeValue(v.Int())
	}
	words := make([]string, v.Len())
	for i := range words {
		words[i] = v.Index(i).String()
	}
	return value{text: strings.Join(words, ", ")}
}

// wholeValue is a number, or text where a spreadsheet would lose digits of it.
func wholeValue(n int64) value {
	text := strconv.FormatInt(n, 10)
	if len(strings.TrimPrefix(text, "-")) > sheetDigits {
		return value{text: text}
	}
	return value{number: text}
}

// textOf writes a value that has a text of its own.
func textOf(v reflect.Value) string {
	if m, ok := v.Interface().(interface{ MarshalText() ([]byte, error) }); ok {
		if b, err := m.MarshalText(); err == nil && !v.IsZero() {
			return string(b)
		}
	}
	return ""
}

// cellLimit is how many UTF-16 units a cell of a workbook holds.
const cellLimit = 32_767

func tooLong(text string) bool {
	if len(text) <= cellLimit {
		return false
	}
	n := utf8.RuneCountInString(text)
	for _, r := range text {
		if r > 0xffff {
			n++
		}
	}
	return n > cellLimit
}

func sortedKeys(m reflect.Value) []string {
	var keys []string
	for _, k := range m.MapKeys() {
		keys = append(keys, k.String())
	}
	slices.Sort(keys)
	return keys
}
