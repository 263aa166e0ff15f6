package tomlfile

import (
	"encoding"
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A walker goes through a file once, notes where everything stands, and holds
// each key and value against the type that waits for it. A type that is nil
// takes anything.
type walker struct {
	*Places
	parser unstable.Parser
}

func (w *walker) walk(root reflect.Type) error {
	w.parser.Reset(w.data)
	table, t := w.root, plain(root)
	for w.parser.NextExpression() {
		var err error
		switch e := w.parser.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			table, t, err = w.header(e, root)
		case unstable.KeyValue:
			err = w.keyValue(table, t, e)
		}
		if err != nil {
			return err
		}
	}
	if err := w.parser.Error(); err != nil {
		what, at := err.Error(), len(w.data)
		var pe *unstable.ParserError
		if errors.As(err, &pe) {
			what = pe.Message
			if len(pe.Highlight) > 0 {
				at = int(w.parser.Range(pe.Highlight).Offset)
			}
		}
		if r, _ := utf8.DecodeRune(w.data[at:]); at < len(w.data) && r >= utf8.RuneSelf {
			return w.at(at, strconv.QuoteRune(r)+" where no quotes are open", `letters a to z, digits, hyphens, or straight quotes (") around it`)
		}
		return w.at(at, notTOML(what), "valid TOML")
	}
	return nil
}

// header follows [a.b] or [[a.b]] and returns the table that it opens.
func (w *walker) header(e *unstable.Node, root reflect.Type) (*node, reflect.Type, error) {
	n, t := w.root, plain(root)
	list := e.Kind == unstable.ArrayTable
	for it := e.Key(); it.Next(); {
		key, at := string(it.Node().Data), int(it.Node().Raw.Offset)
		var err error
		if t, err = w.fieldType(t, key, at); err != nil {
			return nil, nil, err
		}
		n = n.field(key, at)
		switch last := it.IsLast(); {
		case last && list:
			if !isTable(element(t)) || !isList(t) {
				return nil, nil, w.at(at, "[["+key+"]], a TOML array of tables", wanted(key, t))
			}
			if n.given {
				return nil, nil, w.again(n, at, "[["+key+"]]")
			}
			n, t = n.add(&node{key: at, value: -1, given: true}), element(t)
		case !last && len(n.items) > 0 && isList(t): // goes on inside the newest entry
			n, t = n.items[len(n.items)-1], element(t)
		case !isTable(t):
			return nil, nil, w.at(at, "["+key+"], a TOML table", wanted(key, t))
		case last:
			if n.given {
				return nil, nil, w.again(n, at, "["+key+"]")
			}
			n.given = true
		}
	}
	return n, t, nil
}

// keyValue follows a key, dotted or not, from a table on to its value.
func (w *walker) keyValue(n *node, t reflect.Type, e *unstable.Node) error {
	for it := e.Key(); it.Next(); {
		key, at := string(it.Node().Data), int(it.Node().Raw.Offset)
		var err error
		if t, err = w.fieldType(t, key, at); err != nil {
			return err
		}
		n = n.field(key, at)
		switch last := it.IsLast(); {
		case !last && !isTable(t):
			return w.at(at, key+" with keys of its own, a TOML table", wanted(key, t))
		case last && n.given:
			return w.again(n, at, strconv.Quote(key))
		case last:
			n.given = true
			return w.value(n, key, false, t, e.Value())
		}
	}
	return nil
}

// value notes the places inside one value and checks its kind. A value in a list
// goes by the list's name.
func (w *walker) value(n *node, name string, inList bool, t reflect.Type, v *unstable.Node) error {
	if v.Raw.Length > 0 {
		n.value = int(v.Raw.Offset)
	}
	if err := w.kind(n, name, inList, t, v); err != nil {
		return err
	}
	switch v.Kind {
	case unstable.Array:
		for it := v.Children(); it.Next(); {
			if it.Node().Kind == unstable.Comment {
				continue
			}
			// A list in a list has no place of its own; that of the list around it stands.
			item := n.add(&node{key: -1, value: max(n.value, n.key)})
			if err := w.value(item, name, true, element(t), it.Node()); err != nil {
				return err
			}
		}
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			if it.Node().Kind == unstable.Comment {
				continue
			}
			if key := it.Node().Key(); n.key < 0 && key.Next() {
				n.key = int(key.Node().Raw.Offset)
			}
			if err := w.keyValue(n, t, it.Node()); err != nil {
				return err
			}
		}
	}
	return nil
}

// kind refuses a value of another kind than the type takes, and text that a
// quantity cannot read.
func (w *walker) kind(n *node, name string, inList bool, t reflect.Type, v *unstable.Node) error {
	shown := func(value string) string {
		if inList {
			return value + " in " + name
		}
		return name + " = " + value
	}
	at := max(n.value, n.key) // a value stands behind its key
	if !takes(t, v.Kind) {
		return w.at(at, shown(show(v))+", "+kindWords[v.Kind], wanted(name, t))
	}
	if t == nil || v.Kind != unstable.String || !isText(t) {
		return nil
	}
	err := reflect.New(t).Interface().(encoding.TextUnmarshaler).UnmarshalText(v.Data)
	if err == nil {
		return nil
	}
	found, expected, worded := wording(err)
	if !worded {
		return w.at(at, shown(show(v))+" ("+strings.TrimPrefix(found, "toml: ")+")", wanted(name, t))
	}
	return w.at(at, shown(found), expected)
}

// again refuses what the file gives a second time.
func (w *walker) again(n *node, at int, what string) *Error {
	line, _ := lineCol(w.data, n.key)
	return w.at(at, what+" a second time", fmt.Sprintf("it once; it stands in line %d already", line))
}

// fieldType returns the type that waits for a key of a table.
func (w *walker) fieldType(t reflect.Type, key string, at int) (reflect.Type, error) {
	switch {
	case t == nil:
		return nil, nil
	case t.Kind() == reflect.Map:
		return plain(t.Elem()), nil
	}
	var waits reflect.Type
	known := false
	fieldsOf(t, func(f reflect.StructField) {
		if !known && key != "" && keyOf(f) == key {
			waits, known = plain(f.Type), true
		}
	})
	if known {
		return waits, nil
	}
	return nil, w.at(at, fmt.Sprintf("unknown key %q", key), "one of "+keysOf(t))
}
