package web

import (
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"underpin/unit"
)

// A field is one thing that a form asks for and a sheet shows.
type field struct {
	Key     string // in the record, and in the form
	Label   string // what people call it
	Doc     string // what it is
	Tape    string // how to take it
	Accept  string // what is accepted, such as 2 t to 60 t
	Sort    sort
	Dim     unit.Dimension // of a quantity
	Unit    unit.Unit      // of a quantity that is stored as a whole number: the number's unit
	Choices []option       // of a choice, without the unknown
	Fields  []field        // of a table, or of each item of a list
	One     string         // what one item of a list is called
	Apart   bool           // the items of a list stand one below the other, not side by side
	Must    bool
	Fixed   bool // never changes once it is added
}

// A sort tells how a field is asked for and written.
type sort int

const (
	textSort     sort = iota
	wordsSort         // text of several lines
	linesSort         // a list of texts, one a line
	quantitySort      // number with unit, kept as it was typed
	wholeSort         // number with unit, kept as a whole number of a unit
	countSort         // whole number without unit
	numberSort        // number without unit
	choiceSort
	yesNoSort
	flagSort // yes or nothing
	tableSort
	listSort
	hiddenSort // carried along and not shown
)

// mostRows is how many items a list may have in a form.
const mostRows = 60

// typed is what stands in a form: texts by path, as the errors of the register
// name them: axle[1].tare.
type typed map[string]string

// read takes what was sent, of the fields that the form has, and closes gaps in
// lists, so that paths are those that the register will use.
func readForm(fields []field, sent url.Values) typed {
	t := typed{}
	readFields(fields, sent, "", "", t)
	return t
}

func readFields(fields []field, sent url.Values, from, to string, t typed) (any bool) {
	for i := range fields {
		f := &fields[i]
		switch f.Sort {
		case tableSort:
			any = readFields(f.Fields, sent, from+f.Key+".", to+f.Key+".", t) || any
		case listSort:
			rows := 0
			for k := range rowsSent(sent, from+f.Key) {
				if readFields(f.Fields, sent, fmt.Sprintf("%s%s[%d].", from, f.Key, k), fmt.Sprintf("%s%s[%d].", to, f.Key, rows), t) {
					rows++
					any = true
				}
			}
		default:
			if v := strings.TrimSpace(sent.Get(from + f.Key)); v != "" {
				t[to+f.Key] = v
				any = true
			}
		}
	}
	return any
}

// rowsSent counts the items of a list in what was sent.
func rowsSent(sent url.Values, path string) int {
	most := -1
	for name := range sent {
		rest, ok := strings.CutPrefix(name, path+"[")
		if !ok {
			continue
		}
		number, _, ok := strings.Cut(rest, "]")
		if n, err := strconv.Atoi(number); ok && err == nil && 0 <= n && n < mostRows {
			most = max(most, n)
		}
	}
	return most + 1
}

// rows counts the items of a list.
func (t typed) rows(path string) int {
	most := -1
	for name := range t {
		if rest, ok := strings.CutPrefix(name, path+"["); ok {
			if number, _, ok := strings.Cut(rest, "]"); ok {
				if n, err := strconv.Atoi(number); err == nil {
					most = max(most, n)
				}
			}
		}
	}
	return most + 1
}

// drop takes an item out of a list.
func (t typed) drop(path string, row int) {
	kept := typed{}
	for name, v := range t {
		rest, in := strings.CutPrefix(name, path+"[")
		if !in {
			kept[name] = v
			continue
		}
		number, after, _ := strings.Cut(rest, "]")
		n, _ := strconv.Atoi(number)
		switch {
		case n < row:
			kept[name] = v
		case n > row:
			kept[fmt.Sprintf("%s[%d]%s", path, n-1, after)] = v
		}
	}
	clear(t)
	for name, v := range kept {
		t[name] = v
	}
}

// A wrong says what cannot be in one place of a form.
type wrong struct{ Where, Found, Expected string }

func (w wrong) String() string { return "found " + w.Found + "; expected " + w.Expected }

// write turns what was typed into members of JSON. What was left empty is not
// there. Quantities that are kept as text are not looked into: the register does.
func writeFields(fields []field, t typed, path string) (map[string]json.RawMessage, []wrong) {
	out := map[string]json.RawMessage{}
	var wrongs []wrong
	for i := range fields {
		f := &fields[i]
		at := path + f.Key
		raw, bad := writeField(f, t, at)
		wrongs = append(wrongs, bad...)
		if raw != nil {
			out[f.Key] = raw
		}
	}
	return out, wrongs
}

func writeField(f *field, t typed, at string) (json.RawMessage, []wrong) {
	refuse := func(expected string) (json.RawMessage, []wrong) {
		return nil, []wrong{{at, strconv.Quote(t[at]), expected}}
	}
	switch f.Sort {
	case tableSort:
		inner, bad := writeFields(f.Fields, t, at+".")
		if len(inner) == 0 {
			return nil, bad
		}
		return jsonOf(inner), bad
	case listSort:
		var items []json.RawMessage
		var bad []wrong
		for k := range t.rows(at) {
			inner, b := writeFields(f.Fields, t, fmt.Sprintf("%s[%d].", at, k))
			bad = append(bad, b...)
			items = append(items, jsonOf(inner))
		}
		if len(items) == 0 {
			return nil, bad
		}
		return jsonOf(items), bad
	}
	text := t[at]
	if text == "" {
		return nil, nil
	}
	switch f.Sort {
	case wholeSort:
		si, err := unit.Parse(text, f.Dim)
		if err != nil {
			if e, ok := err.(*unit.ParseError); ok {
				return nil, []wrong{{at, strconv.Quote(e.Found) + ", " + e.Why, e.Expected}}
			}
			return refuse("a quantity with its unit")
		}
		n := math.Round(f.Unit.From(si))
		if !(math.Abs(n) < 1e15) {
			return refuse("a smaller number")
		}
		return jsonOf(int64(n)), nil
	case countSort:
		n, err := strconv.ParseInt(strings.ReplaceAll(text, "\u00a0", ""), 10, 64)
		if err != nil {
			return refuse("a whole number")
		}
		return jsonOf(n), nil
	case numberSort:
		v, err := unit.Parse(text, unit.Number)
		if err != nil {
			return refuse("a number, such as 0.25 or 25%")
		}
		return jsonOf(v), nil
	case linesSort:
		var lines []string
		for line := range strings.Lines(text) {
			if line = strings.TrimSpace(line); line != "" {
				lines = append(lines, line)
			}
		}
		return jsonOf(lines), nil
	case yesNoSort, flagSort:
		if text != "yes" && text != "no" {
			return refuse("yes or no")
		}
		return jsonOf(text == "yes"), nil
	}
	return jsonOf(text), nil
}

// jsonOf is v in JSON without the escapes that only HTML needs. What is written
// here can always be written.
func jsonOf(v any) json.RawMessage {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic("web: " + err.Error())
	}
	return json.RawMessage(strings.TrimSpace(b.String()))
}

// show turns members of JSON into what a form holds, the other way round.
func showFields(fields []field, members map[string]json.RawMessage, path string, t typed) {
	for i := range fields {
		f := &fields[i]
		if raw, have := members[f.Key]; have {
			showField(f, raw, path+f.Key, t)
		}
	}
}

func showField(f *field, raw json.RawMessage, at string, t typed) {
	switch f.Sort {
	case tableSort:
		var inner map[string]json.RawMessage
		if json.Unmarshal(raw, &inner) == nil {
			showFields(f.Fields, inner, at+".", t)
		}
		return
	case listSort:
		var items []json.RawMessage
		if json.Unmarshal(raw, &items) != nil {
			return
		}
		for k, item := range items {
			var inner map[string]json.RawMessage
			if json.Unmarshal(item, &inner) == nil {
				showFields(f.Fields, inner, fmt.Sprintf("%s[%d].", at, k), t)
			}
		}
		return
	}
	if f.Sort == linesSort {
		var lines []string
		if json.Unmarshal(raw, &lines) == nil && len(lines) > 0 {
			t[at] = strings.Join(lines, "\n")
		}
		return
	}
	var s string
	if json.Unmarshal(raw, &s) == nil && string(raw) != "null" {
		if s != "" {
			t[at] = s
		}
		return
	}
	var n float64
	var yes bool
	switch {
	case string(raw) == "null":
	case json.Unmarshal(raw, &yes) == nil:
		t[at] = "no"
		if yes {
			t[at] = "yes"
		}
	case json.Unmarshal(raw, &n) == nil && f.Sort == wholeSort:
		t[at] = unit.Text(f.Unit.ToSI(n), shownUnit(f.Unit, n))
	case json.Unmarshal(raw, &n) == nil:
		t[at] = strconv.FormatFloat(n, 'f', -1, 64)
	default:
		t[at] = string(raw)
	}
}

// shownUnit is the unit of the trade for a whole number of a finer one.
func shownUnit(u unit.Unit, n float64) unit.Unit {
	switch {
	case u == unit.N:
		return unit.KN
	case u == unit.M && n >= 1000:
		return unit.KM
	}
	return u
}

// without returns fields but those with these keys.
func without(fields []field, keys ...string) []field {
	return slices.DeleteFunc(slices.Clone(fields), func(f field) bool { return slices.Contains(keys, f.Key) })
}

// find returns the field at a path, whatever the rows, and the words that lead
// there: Axle 2, tare.
func findField(fields []field, path string) (f *field, words string) {
	var said []string
	for path != "" {
		part, rest, _ := strings.Cut(path, ".")
		path = rest
		key, row, inList := strings.Cut(part, "[")
		i := slices.IndexFunc(fields, func(f field) bool { return f.Key == key })
		if i < 0 {
			return nil, ""
		}
		f = &fields[i]
		switch n, err := strconv.Atoi(strings.TrimSuffix(row, "]")); {
		case inList && err == nil:
			said = append(said, fmt.Sprintf("%s %d", capital(f.One), n+1))
		default:
			said = append(said, f.Label)
		}
		fields = f.Fields
	}
	for i := range said[min(1, len(said)):] {
		said[i+1] = lower(said[i+1])
	}
	return f, strings.Join(said, ", ")
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// lower makes the first letter small, unless a second capital follows: D-value
// stays.
func lower(s string) string {
	if len(s) < 2 || s[1] < 'a' || 'z' < s[1] {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
