package web

import (
	"cmp"
	"net/http"
	"strconv"
	"strings"
)

// spaced turns a key into words: gross-plate into gross plate.
func spaced(key string) string {
	return strings.NewReplacer("-", " ", "_", " ").Replace(key)
}

// slugOf is a text as a part of an id.
func slugOf(text string) string {
	return strings.Trim(strings.Map(func(c rune) rune {
		switch {
		case 'a' <= c && c <= 'z', '0' <= c && c <= '9':
			return c
		case 'A' <= c && c <= 'Z':
			return c + 'a' - 'A'
		}
		return '-'
	}, text), "-")
}

func itoa(n int) string { return strconv.Itoa(n) }

func atoi(s string) (int, error) { return strconv.Atoi(s) }

func compare(a, b string) int { return cmp.Compare(a, b) }

// trimmed is a value of a form without blanks around it.
func trimmed(r *http.Request, name string) string { return strings.TrimSpace(r.PostFormValue(name)) }

// registerTitles are the pages that there are with a register alone, each with the
// part of the program that it belongs to.
var registerTitles = map[string]string{
	"signin": "", "welcome": "", "account": "Account", "accounts": "Account", "person": "Account",
	"overview": "Fleet", "list": "Fleet", "find": "Find", "vehicle": "Fleet", "part": "Fleet", "type": "Fleet", "depot": "Fleet", "notice": "Fleet",
	"due": "Fleet", "outcome": "Fleet", "certificate": "Fleet",
	"catalogue": "Mounting", "retrofit": "Mounting", "kept": "Mounting",
	"form": "Fleet", "entered": "Fleet", "conflict": "Fleet", "records": "Fleet", "record": "Fleet", "import": "Fleet",
}
