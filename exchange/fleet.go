// Package exchange reads and writes what others keep: the fleet file in TOML
// and its JSON Schema.
package exchange

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"underpin/rule"
	"underpin/tomlfile"
	"underpin/vehicle"
)

// A FleetFile is a fleet as read, with how its derived values were found.
type FleetFile struct {
	vehicle.Fleet
	Derived []vehicle.Derivation
	file    string
	places  *tomlfile.Places
}

// OpenLaw returns the rulebook that the file names as its own. The error says where
// it is named.
func (f *FleetFile) OpenLaw() (*rule.Book, error) {
	book, err := OpenLaw(f.Law, f.file)
	var none *rule.NotFoundError
	if errors.As(err, &none) && none.Name == f.Law {
		return nil, f.places.Error("law", "law = "+strconv.Quote(none.Name), "one of "+strings.Join(none.Known, ", ")+", or the name of a rulebook file beside this one")
	}
	return book, err
}

// An Invalid lists everything wrong with a fleet file that could be read.
type Invalid []*tomlfile.Error

func (e Invalid) Error() string {
	if len(e) == 1 {
		return e[0].Error()
	}
	return fmt.Sprintf("%s (and %d more)", e[0].Error(), len(e)-1)
}

// ReadFleet reads the fleet file at path.
func ReadFleet(path string) (*FleetFile, error) {
	data, err := tomlfile.Read(path, "a fleet file")
	if err != nil {
		return nil, err
	}
	return ParseFleet(path, data)
}

// ParseFleet reads a fleet file's text; name stands in its errors. The error is
// a *tomlfile.Error for text that is not such a file, and an Invalid for values
// that no vehicle has.
func ParseFleet(name string, data []byte) (*FleetFile, error) {
	var f FleetFile
	places, err := tomlfile.Decode(name, data, &f.Fleet)
	if err != nil {
		return nil, err
	}
	if errs := wrongs(&f.Fleet); len(errs) > 0 {
		var bad Invalid
		for _, e := range errs {
			bad = append(bad, places.Error(e.Path, e.Found, e.Expected))
		}
		return nil, bad
	}
	f.Derived, f.file, f.places = f.Derive(), name, places
	return &f, nil
}

// WriteFleet writes a fleet as TOML that ParseFleet reads back unchanged.
func WriteFleet(f *vehicle.Fleet) ([]byte, error) { return writeTOML(f) }
