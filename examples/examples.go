// Package examples holds the fleet files that come with the program: the demo
// fleet, which is invented, and vehicles whose numbers can be looked up or
// worked out elsewhere. README.md beside them says what each shows.
package examples

import "embed"

// Files are the fleet files, and expected.toml, which is no fleet file: it lists
// pairs with the answer that was worked out for them by hand.
//
//go:embed *.toml
var Files embed.FS
