package rule

import (
	"bytes"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A FileError tells where a rulebook is wrong, what stands there, and what was
// expected.
type FileError struct {
	File            string
	Line, Column    int
	Found, Expected string
}

func (e *FileError) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s; expected %s", e.File, e.Line, e.Column, e.Found, e.Expected)
}

// places maps "rule[2].when.spacing" to the offset in the file where its key
// stands.
type places map[string]int

// index walks a document that is known to parse. It also returns the reverse:
// the path of the key or of the value that begins at an offset.
func index(src []byte) (places, map[int]string) {
	p := unstable.Parser{}
	p.Reset(src)
	at, there := places{}, map[int]string{}
	counts := map[string]int{} // arrays of tables, by path
	table := ""
	mark := func(path string, n *unstable.Node) {
		here := int(n.Raw.Offset)
		if _, marked := at[path]; !marked {
			at[path] = here
		}
		there[here] = path
	}
	var walk func(n *unstable.Node, path string)
	walk = func(n *unstable.Node, path string) {
		switch n.Kind {
		case unstable.KeyValue:
			var last *unstable.Node
			for it := n.Key(); it.Next(); {
				last = it.Node()
				path = join(path, string(last.Data))
				mark(path, last)
			}
			walk(n.Value(), path)
		case unstable.Array:
			i := 0
			for it := n.Children(); it.Next(); i++ {
				walk(it.Node(), path+"["+strconv.Itoa(i)+"]")
			}
		case unstable.InlineTable:
			first := true
			for it := n.Children(); it.Next(); first = false {
				// In a list an inline table has no key; its first one stands for it.
				if key := it.Node().Key(); first && key.Next() {
					if _, marked := at[path]; !marked {
						at[path] = int(key.Node().Raw.Offset)
					}
				}
				walk(it.Node(), path)
			}
		default:
			if n.Raw.Length > 0 {
				mark(path, n)
			}
		}
	}
	for p.NextExpression() {
		n := p.Expression()
		if n.Kind != unstable.Table && n.Kind != unstable.ArrayTable {
			walk(n, table)
			continue
		}
		table = ""
		it := n.Key()
		for more := it.Next(); more; {
			key := it.Node()
			table = join(table, string(key.Data))
			more = it.Next()
			if !more && n.Kind == unstable.ArrayTable {
				counts[table]++
			}
			if c := counts[table]; c > 0 {
				table += "[" + strconv.Itoa(c-1) + "]"
			}
			mark(table, key)
		}
	}
	return at, there
}

// steps splits a path into keys, places in lists left out.
func steps(path string) []string {
	keys := strings.Split(path, ".")
	for i, k := range keys {
		keys[i], _, _ = strings.Cut(k, "[")
	}
	return keys
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// of returns the offset of a path, or of the nearest thing that encloses it.
func (at places) of(path string) int {
	for path != "" {
		if p, ok := at[path]; ok {
			return p
		}
		path = path[:max(strings.LastIndexAny(path, ".["), 0)]
	}
	return 0
}

// lineColumn turns an offset into a line and a column of characters, from 1.
func lineColumn(src []byte, offset int) (line, column int) {
	before := src[:min(offset, len(src))]
	start := bytes.LastIndexByte(before, '\n') + 1
	return bytes.Count(before, []byte{'\n'}) + 1, utf8.RuneCount(before[start:]) + 1
}

// offsetOf turns a line and a column of bytes, from 1, into an offset.
func offsetOf(src []byte, line, column int) int {
	offset := 0
	for ; line > 1; line-- {
		next := bytes.IndexByte(src[offset:], '\n')
		if next < 0 {
			break
		}
		offset += next + 1
	}
	return min(offset+column-1, len(src))
}

// typeAt follows a key path through the file's types, to say in an error what
// may stand there.
func typeAt(t reflect.Type, path []string) reflect.Type {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if len(path) == 0 {
		return t
	}
	switch t.Kind() {
	case reflect.Map:
		return typeAt(t.Elem(), path[1:])
	case reflect.Struct:
		for i := range t.NumField() {
			if t.Field(i).Tag.Get("toml") == path[0] {
				return typeAt(t.Field(i).Type, path[1:])
			}
		}
	}
	return nil
}

// keysOf lists the keys a table takes.
func keysOf(t reflect.Type) string {
	if t == nil || t.Kind() != reflect.Struct {
		return "another key"
	}
	names := make([]string, 0, t.NumField())
	for i := range t.NumField() {
		names = append(names, t.Field(i).Tag.Get("toml"))
	}
	return "one of " + strings.Join(names, ", ")
}

// kindOf says in words what a TOML value of a type is.
func kindOf(t reflect.Type) string {
	switch {
	case t == nil:
		return "a value of another type"
	case t.Name() == "LocalDate":
		return "a date such as 2024-05-31"
	}
	switch t.Kind() {
	case reflect.String:
		return "text in quotes"
	case reflect.Float64:
		return "a number"
	case reflect.Bool:
		return "true or false"
	}
	return "a table"
}
