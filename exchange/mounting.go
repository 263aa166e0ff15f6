package exchange

import (
	"strconv"
	"time"

	"underpin/mounting"
	"underpin/tomlfile"
)

// ReadParts reads the parts file at path: chassis, catalogue, briefs and chosen
// mountings.
func ReadParts(path string) (*mounting.File, error) {
	data, err := tomlfile.Read(path, "a parts file")
	if err != nil {
		return nil, err
	}
	return ParseParts(path, data)
}

// ParseParts reads a parts file's text; name stands in its errors. The error is
// a *tomlfile.Error for text that is not such a file, and an Invalid for parts
// and stacks that cannot be.
func ParseParts(name string, data []byte) (*mounting.File, error) {
	var f mounting.File
	places, err := tomlfile.Decode(name, data, &f)
	if err != nil {
		return nil, err
	}
	if errs := f.Validate(); len(errs) > 0 {
		var bad Invalid
		for _, e := range errs {
			bad = append(bad, places.Error(e.Path, e.Found, e.Expected))
		}
		return nil, bad
	}
	return &f, nil
}

// ReadBuilt reads the file at path in which is entered what was measured and done
// when a mounting was fitted.
func ReadBuilt(path string) (*mounting.AsBuilt, error) {
	data, err := tomlfile.Read(path, "a file of what was built")
	if err != nil {
		return nil, err
	}
	return ParseBuilt(path, data)
}

// ParseBuilt reads such a file's text; name stands in its errors.
func ParseBuilt(name string, data []byte) (*mounting.AsBuilt, error) {
	var a mounting.AsBuilt
	places, err := tomlfile.Decode(name, data, &a)
	if err != nil {
		return nil, err
	}
	if _, err := time.Parse(time.DateOnly, a.Date); a.Date != "" && err != nil {
		return nil, places.Error("date", strconv.Quote(a.Date), "the day of the fitting, such as 2026-11-25")
	}
	return &a, nil
}

// WriteParts writes a parts file as TOML that ParseParts reads back unchanged.
func WriteParts(f *mounting.File) ([]byte, error) { return writeTOML(f) }
