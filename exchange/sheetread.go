package exchange

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"underpin/tomlfile"
	"underpin/unit"
)

// A grid is a table as it stands in a sheet or a CSV file: a head and rows.
type grid struct {
	file, sheet string
	table       *table
	head        line
	rows        []line
	thousand    bool   // see setting
	broken      []line // rows that could not be parted into cells, as well as they could
}

// A line is one row of a grid.
type line struct {
	row   int // from 1
	cells []cell
	at    []spot // where the cells stand in a text; nil in a sheet, where their number says it
}

type spot struct{ row, col int }

func (l *line) cell(i int) cell {
	if i < len(l.cells) {
		return l.cells[i]
	}
	return cell{}
}

// problem makes a problem at a cell, or at the whole row below 0.
func (g *grid) problem(l *line, i int, name, found, expected string) *Problem {
	p := &Problem{File: g.file, Sheet: g.sheet, Row: l.row, Column: name, Found: found, Expected: expected}
	switch {
	case i < 0:
	case l.at == nil:
		p.Col = i + 1
	case i < len(l.at):
		p.Row, p.Col = l.at[i].row, l.at[i].col
	}
	return p
}

// A gridColumn is a column of a grid that is read.
type gridColumn struct {
	index int
	name  string
	unit  string
	col   *column // nil for the owner and for facts
	asked bool    // its missing unit is told
}

var brackets = strings.NewReplacer("(", ",", "[", ",", ")", "", "]", "")

// splitHead parts "gross-plate, kg" into name and unit; the unit may stand in
// brackets too.
func splitHead(text string) (name, unit string) {
	name, unit, _ = strings.Cut(brackets.Replace(text), ",")
	name = strings.Join(strings.Fields(strings.ToLower(strings.Trim(name, blanks))), "-")
	return name, strings.Trim(unit, blanks)
}

// A filler reads grids into the struct that a file is.
type filler struct {
	checker
	tables  []*table
	rows    map[string]rowAt          // by the path of the entry that the row fills
	entries map[*table]map[string]int // by what names a row that owns others
	owns    map[*table]bool
	unread  map[*table]bool            // tables with a problem, whose rows nobody need miss
	lost    map[*table]map[string]bool // what names a row that is told already
	orphans int
}

// mostOrphans is for how many rows without an owner the owner is looked for that
// was probably meant. With more of them, any entry may lack a row.
const mostOrphans = 100

// A rowAt is the row that filled an entry.
type rowAt struct {
	grid  *grid
	line  *line
	heads []*gridColumn
}

func newFiller(root reflect.Value) *filler {
	f := &filler{tables: tablesOf(root.Type()), rows: map[string]rowAt{}, entries: map[*table]map[string]int{}, owns: map[*table]bool{}, unread: map[*table]bool{}, lost: map[*table]map[string]bool{}}
	for _, t := range f.tables {
		f.owns[t.above] = true
	}
	f.checker = checker{root: root, tables: f.tables, bad: map[string]bool{}, wrong: map[place]bool{}, find: f.find}
	return f
}

func (f *filler) table(name string) *table {
	for _, t := range f.tables {
		if t.name == name {
			return t
		}
	}
	return nil
}

func (f *filler) tableNames() []string {
	names := make([]string, len(f.tables))
	for i, t := range f.tables {
		names[i] = t.name
	}
	return names
}

// fill reads the grids in the order of the tables, so that owners come first.
func (f *filler) fill(grids []*grid) {
	for _, t := range f.tables {
		f.entries[t], f.lost[t] = map[string]int{}, map[string]bool{}
		for _, g := range grids {
			if g.table == t {
				f.read(g)
			}
		}
	}
}

// heads reads the head of a grid; false when its rows cannot be placed.
func (f *filler) heads(g *grid) ([]*gridColumn, bool) {
	t := g.table
	var heads []*gridColumn
	taken, owned := map[string]bool{}, t.above == nil
	for i, c := range g.head.cells {
		name, symbol := splitHead(c.text)
		if name == "" || strings.HasPrefix(name, ownSheet) {
			continue
		}
		h := &gridColumn{index: i, name: name, unit: symbol, col: t.column(name)}
		switch {
		case taken[name]:
			f.tellWhole(g.problem(&g.head, i, name, "the column "+name+" a second time", "each column once"))
			continue
		case t.above != nil && name == t.owner:
			owned = true
		case t.what == factTable && (name == factName || name == factValue):
		case h.col == nil:
			f.tellWhole(g.problem(&g.head, i, "", quoted(strings.Trim(c.text, blanks)), perhaps(name, t.names())+"; a column of your own begins with "+ownSheet))
			continue
		case symbol != "" && h.col.dim == unit.Number:
			f.tellWhole(g.problem(&g.head, i, name, "the unit "+quoted(symbol), name+", which has no unit"))
			continue
		case symbol != "":
			if u, known := unit.Lookup(symbol); !known || u.Dim != h.col.dim {
				f.tellWhole(g.problem(&g.head, i, name, "the unit "+quoted(symbol), "a unit of "+h.col.dim.String()+": "+strings.Join(unit.Symbols(h.col.dim), ", ")))
				continue
			}
		}
		taken[name] = true
		heads = append(heads, h)
	}
	if !owned && len(g.rows) > 0 {
		f.tellWhole(g.problem(&g.head, -1, "", "no column "+t.owner, "a column "+t.owner+", which says whose row it is"))
		return nil, false
	}
	if f.owns[t] && !taken[t.cols[0].name] && len(g.rows) > 0 {
		f.tellWhole(g.problem(&g.head, -1, "", "no column "+t.cols[0].name, "a column "+t.cols[0].name+", which names the rows"))
		f.unread[t] = true
	}
	return heads, true
}

// read reads one grid.
func (f *filler) read(g *grid) {
	heads, ok := f.heads(g)
	if !ok {
		return
	}
	headed := map[int]bool{}
	for i, c := range g.head.cells {
		headed[i] = !c.blank() // with what is not ours and what is told already
	}
	owner := "" // of the row above
	for i := range g.broken {
		f.lose(g, &g.broken[i], heads)
	}
	for i := range g.rows {
		l := &g.rows[i]
		for k, c := range l.cells {
			if !c.blank() && !headed[k] {
				f.tellWhole(g.problem(l, k, "", c.found(), "nothing, since this column has no head"))
			}
		}
		if slices.ContainsFunc(heads, func(h *gridColumn) bool { return !l.cell(h.index).blank() }) {
			owner = f.row(g, l, heads, owner)
		}
	}
}

// lose takes the entry for incomplete that a row belonged to which could not be
// read; when that is not known, it may be any.
func (f *filler) lose(g *grid, l *line, heads []*gridColumn) {
	t := g.table
	name := func(h *gridColumn) string { return strings.Trim(l.cell(h.index).text, blanks) }
	if t.what == listTable && t.above == nil {
		for _, h := range heads {
			if h.col == t.cols[0] {
				f.lost[t][name(h)] = true
			}
		}
		return
	}
	i, known := 0, false
	if t.above != nil {
		i, known = f.entries[t.above][name(f.ownerColumn(t, heads))]
	}
	if !known {
		f.whole = true
		return
	}
	f.bad[t.above.path("", i)] = true
}

func (f *filler) ownerColumn(t *table, heads []*gridColumn) *gridColumn {
	return heads[slices.IndexFunc(heads, func(h *gridColumn) bool { return h.name == t.owner && h.col == nil })]
}

// row reads one row and returns the path of its owner.
func (f *filler) row(g *grid, l *line, heads []*gridColumn, above string) (ownerPath string) {
	t := g.table
	owner := f.root
	if t.above != nil {
		i, ok := f.ownerOf(g, l, heads, above)
		if !ok {
			return above
		}
		ownerPath = t.above.path("", i)
		owner = into(f.root, t.above.at).Index(i)
	}
	switch t.what {
	case oneRow:
		if _, had := f.rows[""]; had {
			f.tellWhole(g.problem(l, -1, "", "a second row", "one row, for there is one fleet"))
			return ""
		}
		f.rows[""] = rowAt{g, l, heads}
		f.cells(g, l, heads, f.root, "")
	case factTable:
		f.fact(g, l, heads, into(owner, t.at), ownerPath)
	default:
		list := into(owner, t.at)
		path := t.path(ownerPath, list.Len())
		list.Set(reflect.Append(list, reflect.Zero(t.elem)))
		f.rows[path] = rowAt{g, l, heads}
		entry := list.Index(list.Len() - 1)
		f.cells(g, l, heads, entry, path)
		if f.owns[t] {
			f.enter(g, l, heads, entry, list.Len()-1)
		}
	}
	return ownerPath
}

// enter notes what names an entry, for the rows that belong to it.
func (f *filler) enter(g *grid, l *line, heads []*gridColumn, entry reflect.Value, i int) {
	t, name := g.table, ""
	if v, known := reach(entry, g.table.cols[0].at); known {
		name = v.String()
	}
	if name == "" {
		return
	}
	first, twice := f.entries[t][name]
	if !twice {
		f.entries[t][name] = i
		return
	}
	f.bad[t.path("", first)] = true // it may have got the rows of the other
	column := heads[slices.IndexFunc(heads, func(h *gridColumn) bool { return h.col == t.cols[0] })]
	f.tell(t.path("", i), g.problem(l, column.index, column.name, column.name+" = "+quoted(name)+" a second time", "each "+column.name+" once, since rows of other tables name it"))
}

// ownerOf finds the entry that a row belongs to. A row that belongs to none is
// told, and the entry that was probably meant is not taken for whole.
func (f *filler) ownerOf(g *grid, l *line, heads []*gridColumn, above string) (int, bool) {
	t := g.table
	h := f.ownerColumn(t, heads)
	text := strings.Trim(l.cell(h.index).text, blanks)
	entries := f.entries[t.above]
	if i, ok := entries[text]; ok {
		return i, true
	}
	if f.unread[t.above] || f.lost[t.above][text] {
		return 0, false
	}
	expected := "what the table " + t.above.name + " has in its column " + t.above.cols[0].name
	if text == "" {
		f.bad[above] = true
		f.tell("", g.problem(l, h.index, h.name, "no "+t.owner, expected))
		return 0, false
	}
	if f.orphans++; f.orphans > mostOrphans {
		f.tellWhole(g.problem(l, h.index, h.name, quoted(text), expected))
		return 0, false
	}
	best, least := "", len(text)/3+2
	for name := range entries {
		if d := distance(text, name); d < least || d == least && name < best {
			best, least = name, d
		}
	}
	if best != "" {
		f.bad[t.above.path("", entries[best])] = true
		expected += "; perhaps " + best
	}
	f.tell("", g.problem(l, h.index, h.name, quoted(text), expected))
	return 0, false
}

// cells reads the cells of a row into an entry.
func (f *filler) cells(g *grid, l *line, heads []*gridColumn, entry reflect.Value, path string) {
	for _, h := range heads {
		c := l.cell(h.index)
		if h.col == nil || c.blank() {
			continue
		}
		err := h.col.set(entry, c, setting{h.unit, g.thousand})
		if err == nil {
			continue
		}
		if errors.Is(err, errNoUnit) {
			f.bad[topOf(path)] = true
			if !h.asked {
				h.asked = true
				p := g.problem(&g.head, h.index, h.name, fmt.Sprintf("numbers without a unit, the first %s in row %d", c.found(), l.row),
					fmt.Sprintf("%q, or another unit of %s, as the head; or a unit in each cell", h.name+", "+unit.Symbols(h.col.dim)[0], h.col.dim))
				p.Ask = "unit"
				f.add(p)
			}
			continue
		}
		ce, _ := errors.AsType[*cellError](err)
		f.tell(path, g.problem(l, h.index, h.name, ce.found, ce.expected))
	}
}

// fact reads one fact into the map of its owner.
func (f *filler) fact(g *grid, l *line, heads []*gridColumn, into reflect.Value, path string) {
	name, value, at := "", cell{}, [2]int{-1, -1}
	for _, h := range heads {
		switch h.name {
		case factName:
			name, at[0] = strings.Trim(l.cell(h.index).text, blanks), h.index
		case factValue:
			value, at[1] = l.cell(h.index), h.index
		}
	}
	wrong := func(i int, column, found, expected string) { f.tell(path, g.problem(l, i, column, found, expected)) }
	name, err := unquoted(name)
	switch {
	case err != nil:
		wrong(at[0], factName, quoted(name), "the name of a fact")
		return
	case name == "":
		wrong(at[0], factName, "a value without a name", "the name of a fact")
		return
	case value.blank():
		wrong(at[1], factValue, "no value", "true, false, a number or a word")
		return
	case value.odd() != nil:
		wrong(at[1], factValue, value.found(), "the value as text or as a plain number")
		return
	case into.IsNil():
		into.Set(reflect.MakeMap(into.Type()))
	}
	v, err := parseFact(strings.Trim(value.text, blanks), setting{thousand: g.thousand})
	if ce, bad := errors.AsType[*cellError](err); bad {
		wrong(at[1], factValue, ce.found, ce.expected)
		return
	}
	key := reflect.ValueOf(name)
	if into.MapIndex(key).IsValid() {
		wrong(at[0], factName, "the fact "+name+" a second time", "each fact once")
		return
	}
	into.SetMapIndex(key, reflect.ValueOf(v))
	f.rows[tomlfile.Join(tomlfile.Join(path, lastKey(g.table.name)), name)] = rowAt{g, l, heads}
}

// lastKey is the field that a table fills: facts of load.facts.
func lastKey(table string) string { return table[strings.LastIndexByte(table, '.')+1:] }

// find says which cell holds the field of a path, and whether it is filled.
func (f *filler) find(path string) (Problem, bool) {
	entry := path
	for {
		if at, ok := f.rows[entry]; ok {
			return at.find(strings.TrimPrefix(path[len(entry):], "."))
		}
		if entry == "" {
			return Problem{File: f.file}, false
		}
		entry = entry[:max(strings.LastIndexAny(entry, ".["), 0)]
	}
}

func (at rowAt) find(field string) (Problem, bool) {
	field, _, _ = strings.Cut(field, "[")
	if at.grid.table.what == factTable {
		field = factValue
	}
	for _, h := range at.heads {
		if h.name == field && (h.col != nil || at.grid.table.what == factTable) {
			return *at.grid.problem(at.line, h.index, h.name, "", ""), !at.line.cell(h.index).blank()
		}
	}
	return *at.grid.problem(at.line, -1, field, "", ""), false
}
