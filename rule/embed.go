package rule

import (
	"embed"
	"fmt"
	"strings"
)

//go:embed book/*.toml
var books embed.FS

// A NotFoundError says that no embedded rulebook has the name.
type NotFoundError struct {
	Name  string
	Known []string
}

func (e *NotFoundError) Error() string {
	return fmt.Sprintf("no rulebook %q; expected one of %s", e.Name, strings.Join(e.Known, ", "))
}

// Names lists the embedded rulebooks in alphabetical order.
//
// Valid for the books that the program carries; users add their own by Parse.
//
// Source: the files embedded at build time.
func Names() []string {
	entries, err := books.ReadDir("book")
	if err != nil {
		return nil // the folder is embedded, so this cannot happen
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), ".toml"))
	}
	return names
}

// Open reads an embedded rulebook, its parents included. An unknown name is a
// *NotFoundError.
//
// Valid for the names that Names lists.
//
// Source: the book's own rules, each of which carries its citation.
func Open(name string) (*Book, error) {
	known := Names()
	for _, k := range known {
		if k == name {
			src, err := books.ReadFile("book/" + name + ".toml")
			if err != nil {
				return nil, err
			}
			return Parse(name+".toml", src, Open)
		}
	}
	return nil, &NotFoundError{name, known}
}
