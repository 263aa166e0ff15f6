// Package examples holds the fleet files that come with the program: the demo
// fleet, which is invented, and vehicles whose numbers can be looked up or
// worked out elsewhere. README.md beside them says what each shows.
package examples

import "embed"

// Files are the fleet files, and two that are none: expected.toml lists pairs
// with the answer that was worked out for them by hand, parts.toml is a
// catalogue of what couplings are mounted with.
//
//go:embed *.toml
var Files embed.FS
