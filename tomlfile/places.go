package tomlfile

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Places tells where in a file each value stands, by its path:
// tractor[0].axle[1].tare. Lists count from 0.
type Places struct {
	file string
	data []byte
	root *node
}

// A node is a place in the tree of keys that a file is.
type node struct {
	key, value int  // offsets in the file, -1 where there is none
	given      bool // the file gives it a value or a header, and may do so once
	fields     map[string]*node
	items      []*node
}

// field returns the node of a key, making it at this offset when it is new.
func (n *node) field(key string, at int) *node {
	if f := n.fields[key]; f != nil {
		return f
	}
	if n.fields == nil {
		n.fields = map[string]*node{}
	}
	f := &node{key: at, value: -1}
	n.fields[key] = f
	return f
}

func (n *node) add(item *node) *node {
	n.items = append(n.items, item)
	return item
}

// Join adds a key to a path. A key that TOML would have to quote is quoted here
// too, so that a path names one place.
func Join(path, key string) string {
	if !isBare(key) {
		key = strconv.Quote(key)
	}
	if path == "" {
		return key
	}
	return path + "." + key
}

func isBare(key string) bool {
	for _, c := range key {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_') {
			return false
		}
	}
	return key != ""
}

// Error makes an error at the value of a path, or at the nearest thing around it
// when the value itself is not in the file.
func (p *Places) Error(path, found, expected string) *Error {
	return p.at(p.offset(path, func(n *node) int {
		if n.value >= 0 {
			return n.value
		}
		return n.key
	}), found, expected)
}

// KeyError makes an error at the key of a path, for what is missing or does not
// belong there. An inline table in a list has no key, and its first one stands
// for it; any other thing in a list stands for itself.
func (p *Places) KeyError(path, found, expected string) *Error {
	return p.at(p.offset(path, func(n *node) int {
		if n.key >= 0 {
			return n.key
		}
		return n.value
	}), found, expected)
}

// offset follows a path as far as the file has it.
func (p *Places) offset(path string, of func(*node) int) int {
	n, at := p.root, 0
	for n != nil {
		if here := of(n); here >= 0 {
			at = here
		}
		if path == "" {
			break
		}
		var step string
		step, path = firstStep(path)
		if key, isKey := strings.CutPrefix(step, "."); isKey {
			n = n.fields[key]
		} else if i, err := strconv.Atoi(step); err == nil && 0 <= i && i < len(n.items) {
			n = n.items[i]
		} else {
			n = nil
		}
	}
	return at
}

// firstStep cuts one step off a path: a key with a point before it, or the
// number of an entry of a list.
func firstStep(path string) (step, rest string) {
	if strings.HasPrefix(path, "[") {
		step, rest, _ = strings.Cut(path[1:], "]")
		return step, rest
	}
	path = strings.TrimPrefix(path, ".")
	if quoted, err := strconv.QuotedPrefix(path); err == nil {
		key, err := strconv.Unquote(quoted)
		if err == nil {
			return "." + key, path[len(quoted):]
		}
	}
	end := strings.IndexAny(path, ".[")
	if end < 0 {
		end = len(path)
	}
	return "." + path[:end], path[end:]
}

func (p *Places) at(offset int, found, expected string) *Error {
	line, col := lineCol(p.data, offset)
	return &Error{p.file, line, col, found, expected}
}

// lineCol turns an offset into a line and a column of characters, from 1.
func lineCol(data []byte, at int) (line, col int) {
	before := data[:min(at, len(data))]
	start := bytes.LastIndexByte(before, '\n') + 1
	return bytes.Count(before, []byte{'\n'}) + 1, utf8.RuneCount(before[start:]) + 1
}
