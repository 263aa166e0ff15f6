package exchange

import (
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"underpin/tomlfile"
	"underpin/unit"
)

// # Cells
//
// A quantity is a number whose unit stands in the head of its column
// ("gross-plate, kg"); a text with a unit of its own ("12ft 2in") may stand in any
// cell and is taken as it says. A number that has a unit neither here nor there is
// refused. A text that a spreadsheet would take for something else stands in
// straight quotes, written as JSON writes it: so does one that begins with = + - @
// ("=A1" would be reckoned out), one with blanks around it, and one that begins
// with a quote. An empty cell is unknown.

var textUnmarshaler = reflect.TypeFor[encoding.TextUnmarshaler]()

func isText(t reflect.Type) bool { return reflect.PointerTo(t).Implements(textUnmarshaler) }

// blanks are what may stand around a value.
const blanks = " \t\r\n\u00a0\u2009\u202f\ufeff"

// A cell is what stands in one place.
type cell struct {
	text string
	// shown is what a workbook shows there, where that is not what it holds: a number
	// that it took for a date.
	shown string
	day   string // that the number stands for, as a date is written
	// formula is one whose result is not in the workbook. Read as an empty cell it
	// would make a value unknown that somebody took care to give.
	formula string
}

func (c cell) blank() bool { return strings.Trim(c.text, blanks) == "" && c.formula == "" }

// odd tells what can be no value, whatever belongs there.
func (c cell) odd() *cellError {
	switch {
	case c.formula != "":
		return &cellError{c.found(), "a value, or a workbook that was reckoned out and saved by a spreadsheet program"}
	case c.shown != "":
		return &cellError{c.found(), "a number shown as it is held; the workbook took what was typed for a date, or its format hides the number"}
	}
	return nil
}

func (c cell) found() string {
	if c.formula != "" {
		return "the formula " + quoted(c.formula) + " without its result"
	}
	if c.shown != "" {
		return fmt.Sprintf("%s, which the workbook shows as %q", c.text, c.shown)
	}
	return quoted(strings.Trim(c.text, blanks))
}

// setting is what a cell's meaning depends on besides its text.
type setting struct {
	unit     string // of the head
	thousand bool   // a point may be a thousands mark here, since commas are decimal
}

// errNoUnit marks a number whose unit is nowhere said.
var errNoUnit = errors.New("no unit")

// A cellError says what was found in a cell and what belongs there.
type cellError struct{ found, expected string }

func (e *cellError) Error() string { return "found " + e.found + "; expected " + e.expected }

var (
	bareNumber = regexp.MustCompile(`^[-+−]?[0-9., \x{a0}\x{2009}\x{202f}]+([eE][-+]?[0-9]+)?$`)
	// A point before exactly three digits, which in a file with decimal commas is
	// more likely to group than to divide.
	pointThousands = regexp.MustCompile(`^[-+−]?[1-9][0-9]{0,2}\.[0-9]{3}($|[^0-9])`)
	truths         = map[string]bool{"true": true, "yes": true, "ja": true, "wahr": true, "1": true, "false": false, "no": false, "nein": false, "falsch": false, "0": false}
)

// set reads a cell into the field of a row. The error is errNoUnit or a
// *cellError.
func (c *column) set(row reflect.Value, from cell, s setting) error {
	text := strings.Trim(from.text, blanks)
	if from.shown != "" && c.isDate() {
		text = from.day
	} else if odd := from.odd(); odd != nil {
		return odd
	}
	if c.present {
		if !truths[strings.ToLower(text)] {
			return &cellError{quoted(text), "yes, or nothing"}
		}
		into(row, c.at)
		return nil
	}
	v := reflect.New(fieldType(c.field)).Elem()
	if err := c.parse(v, text, s); err != nil {
		return err
	}
	into(row, c.at).Set(v)
	return nil
}

func (c *column) isDate() bool { return fieldType(c.field) == reflect.TypeFor[tomlfile.Date]() }

func fieldType(f reflect.StructField) reflect.Type {
	if f.Type.Kind() == reflect.Pointer {
		return f.Type.Elem()
	}
	return f.Type
}

func (c *column) parse(v reflect.Value, text string, s setting) error {
	if number := c.dim != unit.Number || v.Kind() == reflect.Float64; number && s.thousand && pointThousands.MatchString(text) {
		return &cellError{quoted(text) + ", where the point may be a thousands mark", "a decimal comma as elsewhere in this file, and no mark between thousands"}
	}
	switch {
	case c.dim != unit.Number:
		if bareNumber.MatchString(text) {
			if s.unit == "" {
				return errNoUnit
			}
			text += " " + s.unit
		}
		x, err := unit.Parse(text, c.dim)
		if err != nil {
			return parseError(err)
		}
		v.SetFloat(x)
		return nil
	case isText(v.Type()):
		if err := v.Addr().Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(text)); err != nil {
			found, expected := textError(text, err)
			return &cellError{found, expected}
		}
		return nil
	}
	switch v.Kind() {
	case reflect.String:
		plain, err := unquoted(text)
		if err != nil {
			return err
		}
		v.SetString(plain)
	case reflect.Bool:
		b, ok := truths[strings.ToLower(text)]
		if !ok {
			return &cellError{quoted(text), "true or false"}
		}
		v.SetBool(b)
	case reflect.Float64:
		x, err := unit.Parse(text, unit.Number)
		if err != nil {
			return parseError(err)
		}
		v.SetFloat(x)
	case reflect.Int64:
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return &cellError{quoted(text), "a whole number"}
		}
		v.SetInt(n)
	case reflect.Slice:
		words := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;\n\t", r) })
		v.Set(reflect.ValueOf(words).Convert(v.Type()))
	}
	return nil
}

// textError words what is wrong with a date or an instant.
func textError(text string, err error) (found, expected string) {
	if ce, is := errors.AsType[*cellError](err); is {
		return ce.found, ce.expected
	}
	if q, is := errors.AsType[*question](err); is {
		return q.found + ", " + quoted(text), q.expected
	}
	return quoted(text), "a date such as 2026-05-31"
}

// parseError puts what package unit says into a cell's words.
func parseError(err error) error {
	if pe, ok := errors.AsType[*unit.ParseError](err); ok {
		return &cellError{quoted(pe.Found) + ", " + pe.Why, pe.Expected}
	}
	return &cellError{err.Error(), "a quantity"}
}

// unquoted takes the quotes off a text that was written in quotes.
func unquoted(text string) (string, error) {
	if len(text) < 2 || text[0] != '"' || text[len(text)-1] != '"' {
		return text, nil
	}
	var plain string
	if json.Unmarshal([]byte(text), &plain) != nil {
		return "", &cellError{quoted(text), `text; within straight quotes, a quote is written \" and a backslash \\`}
	}
	return plain, nil
}

// A mark that office software uses for characters that its files cannot hold.
var escapeMark = regexp.MustCompile(`_x[0-9a-fA-F]{4}_`)

// written is a text as it stands in a cell.
func written(text string) string {
	if text == "" {
		return ""
	}
	plain := strings.Trim(text, blanks) == text && !strings.ContainsRune("=+-@\"'", rune(text[0])) && !escapeMark.MatchString(text)
	for _, r := range text {
		plain = plain && (r >= ' ' && r != 0x7f || r == '\n') && r != '\ufffe' && r != '\uffff'
	}
	if plain {
		return text
	}
	return inJSON(text)
}

// inJSON is a text in quotes, with nothing escaped but what has to be; what XML
// cannot hold is escaped too.
func inJSON(text string) string {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	_ = enc.Encode(text) // a string can be encoded
	return strings.NewReplacer("\u007f", `\u007f`, "\ufffe", `\ufffe`, "\uffff", `\uffff`, "_x", `\u005fx`).Replace(strings.TrimSuffix(b.String(), "\n"))
}

// parseFact reads the value of a fact: true, false, a number, or text. Text that
// looks like one of these stands in quotes.
func parseFact(text string, s setting) (any, error) {
	switch strings.ToLower(text) {
	case "true":
		return true, nil
	case "false":
		return false, nil
	case "nan":
		return math.NaN(), nil
	}
	if bareNumber.MatchString(text) {
		if s.thousand && pointThousands.MatchString(text) {
			return nil, &cellError{quoted(text) + ", where the point may be a thousands mark", "a decimal comma as elsewhere in this file, and no mark between thousands"}
		}
		if n, err := strconv.ParseInt(text, 10, 64); err == nil {
			return n, nil
		}
		x, err := unit.Parse(text, unit.Number)
		if err != nil {
			return nil, parseError(err)
		}
		return x, nil
	}
	plain, err := unquoted(text)
	return plain, err
}

// writtenFact is the value of a fact as it stands in a cell; false for one that
// no cell can hold.
func writtenFact(v any) (string, bool) {
	switch v := v.(type) {
	case bool:
		return strconv.FormatBool(v), true
	case int64:
		return strconv.FormatInt(v, 10), true
	case int:
		return strconv.Itoa(v), true
	case float64:
		return decimal(v), !math.IsInf(v, 0)
	case string:
		text := written(v)
		if back, err := parseFact(text, setting{}); err == nil && back == any(v) {
			return text, true
		}
		return inJSON(v), true
	}
	return "", false
}

// decimal writes a number so that it is not taken for a whole one.
func decimal(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if !strings.ContainsAny(s, ".NI") {
		s += ".0"
	}
	return strings.ToLower(s)
}
