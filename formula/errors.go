package formula

import (
	"fmt"
	"strings"
)

// An InputError says what is wrong with one input: what was found and what was
// expected.
type InputError struct {
	Calc     string
	Key      string // "" where it belongs to no single key
	Found    string
	Expected string
	Missing  []string // the keys that were not given, all of them at once
}

func (e *InputError) Error() string {
	return fmt.Sprintf("%s: found %s; expected %s", e.Where(), e.Found, e.Expected)
}

// Where names the calculation and the key.
func (e *InputError) Where() string {
	if e.Key == "" {
		return e.Calc
	}
	return e.Calc + ", " + e.Key
}

// Invalid is everything that is wrong with a set of inputs, in the order of the
// keys as given; what is missing comes last. It is never empty.
type Invalid []*InputError

func (e Invalid) Error() string {
	lines := make([]string, len(e))
	for i, one := range e {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

// Missing lists the keys that were not given.
func (e Invalid) Missing() []string {
	missing := []string{}
	for _, one := range e {
		missing = append(missing, one.Missing...)
	}
	return missing
}

// An UnknownError says that no calculation has this name.
type UnknownError struct {
	Name    string
	Nearest string // "" if none is near
	Known   []string
}

func (e *UnknownError) Error() string {
	return fmt.Sprintf("found %q; expected %s", e.Name, e.Expected())
}

// Expected proposes the nearest name, or says where the names are listed.
func (e *UnknownError) Expected() string {
	if e.Nearest != "" {
		return "a calculation, perhaps " + e.Nearest
	}
	return "a calculation of the list"
}

// nearest returns the known name that is fewest letters away, if it is at most a
// third of its length away.
func nearest(name string, known []string) string {
	best, least := "", 0
	for _, k := range known {
		d := distance(name, k)
		if 3*d > len(k)+2 {
			continue
		}
		if best == "" || d < least {
			best, least = k, d
		}
	}
	return best
}

// distance counts the letters to be put in, taken out or changed. Words longer
// than any name are not compared letter by letter.
func distance(a, b string) int {
	const longest = 60
	if len(a) > longest {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diagonal
			if a[i] != b[j] {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
