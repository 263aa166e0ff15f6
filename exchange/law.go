package exchange

import (
	"os"
	"path/filepath"
	"slices"
	"strings"

	"underpin/rule"
	"underpin/tomlfile"
)

// OpenLaw returns the rulebook with this name: one that the program carries, or
// NAME.toml beside the fleet file. A path to a rulebook file is taken too.
func OpenLaw(name, besideFleet string) (*rule.Book, error) {
	if slices.Contains(rule.Names(), name) {
		return rule.Open(name)
	}
	for _, path := range []string{name, filepath.Join(filepath.Dir(besideFleet), name+".toml")} {
		if path == name && !strings.HasSuffix(name, ".toml") {
			continue
		}
		if info, err := os.Stat(path); err == nil && !info.IsDir() {
			return ReadLaw(path)
		}
	}
	return nil, &rule.NotFoundError{Name: name, Known: rule.Names()}
}

// ReadLaw reads a user's own rulebook file. Its parent may be a rulebook that
// the program carries, or another file beside it.
func ReadLaw(path string) (*rule.Book, error) {
	data, err := tomlfile.Read(path, "a rulebook")
	if err != nil {
		return nil, err
	}
	return rule.Parse(path, data, func(parent string) (*rule.Book, error) {
		if filepath.Base(path) == parent+".toml" {
			return nil, &rule.NotFoundError{Name: parent, Known: rule.Names()}
		}
		return OpenLaw(parent, path)
	})
}
