package exchange

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"underpin/vehicle"
)

// A checker holds what was read against what there can be, and takes out what has
// a problem, so that one bad row does not lose the others.
type checker struct {
	collector
	file   string
	root   reflect.Value
	tables []*table
	bad    map[string]bool // entries of the file with a problem: "tractor[3]"
	wrong  map[place]bool  // of which a problem is told already
	// whole tells that a head, a sheet or a file has a problem. Any entry may then
	// lack what stood there, and none is taken for read.
	whole bool
	// find says where the field of a path stands, and whether anything stands there.
	find func(path string) (Problem, bool)
	was  map[string][]int // where the entries that were kept stood at first, by their list
}

// Places says where in a file the field of a path stands, for whoever finds
// something wrong that the file alone does not tell: part[3].serial.
type Places func(path string) Problem

// places are those of what was kept.
func (c *checker) places() Places {
	return func(path string) Problem {
		top := topOf(path)
		name, number, _ := strings.Cut(strings.TrimSuffix(top, "]"), "[")
		if i, err := strconv.Atoi(number); err == nil && 0 <= i && i < len(c.was[name]) {
			path = fmt.Sprintf("%s[%d]%s", name, c.was[name][i], path[len(top):])
		}
		p, _ := c.find(path)
		return p
	}
}

// A place is where a problem is.
type place struct {
	file, sheet string
	row, col    int
}

func (p *Problem) place() place { return place{p.File, p.Sheet, p.Row, p.Col} }

// tell adds a problem of an entry, which what was read then goes without.
func (c *checker) tell(path string, p *Problem) {
	c.add(p)
	if p.Col > 0 {
		c.wrong[p.place()] = true
	}
	c.bad[topOf(path)] = true
}

// topOf cuts a path to the entry of the file that it lies in: tractor[3].
func topOf(path string) string {
	if i := strings.IndexByte(path, ']'); i >= 0 {
		return path[:i+1]
	}
	return ""
}

// sound is what can tell what is wrong with itself, as a fleet can.
type sound interface{ Validate() []*vehicle.FieldError }

// tellWhole adds a problem that may concern every entry.
func (c *checker) tellWhole(p *Problem) {
	c.add(p)
	c.whole = true
}

// check tells what is wrong with what was read, besides what could not be read.
func (c *checker) check() {
	if c.whole {
		c.root.SetZero()
		return
	}
	fleet, can := c.root.Addr().Interface().(sound)
	if can {
		unread := map[string]bool{}
		for path := range c.bad {
			unread[path] = true
		}
		for _, e := range wrongs(fleet) {
			p, filled := c.find(e.Path)
			// What an entry lacks may stand in the cell that could not be read.
			if unread[topOf(e.Path)] && !filled || p.Col > 0 && c.wrong[p.place()] {
				continue
			}
			p.Found, p.Expected = e.Found, e.Expected
			c.tell(e.Path, &p)
		}
	}
	if can {
		dropFacts(fleet)
	}
	c.takeOut(fleet, can)
}

// takeOut leaves what has a problem out of what was read, and then what referred
// to it.
func (c *checker) takeOut(fleet sound, can bool) {
	was := map[string][]int{}
	c.was = was
	for _, t := range c.tables {
		if t.above == nil && t.what == listTable {
			list := into(c.root, t.at)
			for i := range list.Len() {
				was[t.name] = append(was[t.name], i)
			}
		}
	}
	for delete(c.bad, ""); len(c.bad) > 0; {
		for _, t := range c.tables {
			if t.above == nil && t.what == listTable {
				was[t.name] = c.sift(t, was[t.name])
			}
		}
		clear(c.bad)
		if !can {
			return
		}
		for _, e := range wrongs(fleet) {
			top := topOf(e.Path)
			name, number, isEntry := strings.Cut(strings.TrimSuffix(top, "]"), "[")
			i, err := strconv.Atoi(number)
			if !isEntry || err != nil {
				continue
			}
			p, _ := c.find(fmt.Sprintf("%s[%d]%s", name, was[name][i], e.Path[len(top):]))
			p.Found, p.Expected = e.Found, e.Expected+", and one that has no problem itself"
			c.add(&p)
			c.bad[top] = true
		}
	}
}

// sift keeps the entries of a list that have no problem, and returns where these
// stood at first.
func (c *checker) sift(t *table, was []int) []int {
	list := into(c.root, t.at)
	kept, from := reflect.Zero(list.Type()), was[:0:0]
	for i := range list.Len() {
		if !c.bad[t.path("", i)] {
			kept, from = reflect.Append(kept, list.Index(i)), append(from, was[i])
		}
	}
	list.Set(kept)
	return from
}
