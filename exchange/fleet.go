// Package exchange reads and writes what others keep: the fleet file in TOML
// and its JSON Schema.
package exchange

import (
	"fmt"

	"underpin/tomlfile"
	"underpin/vehicle"
)

// A FleetFile is a fleet as read, with how its derived values were found.
type FleetFile struct {
	vehicle.Fleet
	Derived []vehicle.Derivation
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
	f.Derived = f.Derive()
	return &f, nil
}

// WriteFleet writes a fleet as TOML that ParseFleet reads back unchanged.
func WriteFleet(f *vehicle.Fleet) ([]byte, error) { return writeTOML(f) }
