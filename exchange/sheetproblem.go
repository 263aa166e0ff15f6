package exchange

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"
)

// A Problem is one thing wrong in what was read, and where.
type Problem struct {
	File   string `json:"file"`
	Sheet  string `json:"sheet,omitempty"` // of a workbook
	Row    int    `json:"row,omitempty"`   // from 1: row of a sheet, line of a text; 0: the whole file or sheet
	Col    int    `json:"-"`               // from 1: column of a sheet, character of a line; 0: the whole row
	Column string `json:"name,omitempty"`  // what stands there: the field, as the fleet file calls it

	Found    string `json:"found"`
	Expected string `json:"expected"`
	// Ask names what the reader has to be told, where nothing is wrong but one thing
	// is not said: unit, zone, meter.
	Ask string `json:"ask,omitempty"`
}

// Where says where the problem is: "fleet.xlsx: sheet tractor, row 7, column E
// (gross-plate)", "fleet/tractor.csv:7:31 (gross-plate)".
func (p *Problem) Where() string {
	var b strings.Builder
	b.WriteString(p.File)
	switch {
	case p.Sheet != "":
		b.WriteString(": sheet " + p.Sheet)
		if p.Row > 0 {
			fmt.Fprintf(&b, ", row %d", p.Row)
		}
		if p.Col > 0 {
			b.WriteString(", column " + p.Letter())
		}
	case p.Row > 0:
		fmt.Fprintf(&b, ":%d:%d", p.Row, max(p.Col, 1))
	}
	if p.Column != "" {
		b.WriteString(" (" + p.Column + ")")
	}
	return b.String()
}

// Letter is the column of a sheet as it is headed: E; empty in a text.
func (p *Problem) Letter() string {
	if p.Sheet == "" || p.Col < 1 {
		return ""
	}
	name, err := excelize.ColumnNumberToName(p.Col)
	if err != nil {
		return ""
	}
	return name
}

func (p *Problem) Error() string {
	return fmt.Sprintf("%s: found %s; expected %s", p.Where(), p.Found, p.Expected)
}

// MarshalJSON writes the column as people see it: the letter in a sheet, the
// character in a line.
func (p *Problem) MarshalJSON() ([]byte, error) {
	type plain Problem
	var column any
	switch {
	case p.Letter() != "":
		column = p.Letter()
	case p.Col > 0:
		column = p.Col
	}
	return json.Marshal(struct {
		Where  string `json:"where"`
		Column any    `json:"column,omitempty"`
		*plain
	}{p.Where(), column, (*plain)(p)})
}

// Problems is everything wrong in what was read.
type Problems []*Problem

func (p Problems) Error() string {
	switch len(p) {
	case 0:
		return "no problem"
	case 1:
		return p[0].Error()
	}
	return fmt.Sprintf("%s (and %d more)", p[0].Error(), len(p)-1)
}

// orNil is an error where there is a problem.
func (p Problems) orNil() error {
	if len(p) == 0 {
		return nil
	}
	return p
}

// mostProblems is how many are told one by one. Who has more has another file
// than they think.
const mostProblems = 1000

// A collector keeps the problems of one file.
type collector struct {
	list Problems
	more int
}

func (c *collector) add(p *Problem) {
	if len(c.list) < mostProblems {
		c.list = append(c.list, p)
	} else {
		c.more++
	}
}

func (c *collector) problems() Problems {
	if c.more == 0 {
		return c.list
	}
	last := c.list[len(c.list)-1]
	return append(c.list, &Problem{File: last.File, Found: fmt.Sprintf("%d more problems", c.more), Expected: "fewer; only the first are told"})
}

// quoted prints a text as far as an error has room for it.
func quoted(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		return fmt.Sprintf("%q…", string(r[:most]))
	}
	return fmt.Sprintf("%q", s)
}

// oneOf lists what is accepted.
func oneOf(names []string) string { return "one of " + strings.Join(names, ", ") }

// perhaps adds to what is expected the name that was probably meant.
func perhaps(found string, names []string) string {
	best, least := "", len(found)/3+2
	for _, n := range names {
		if d := distance(strings.ToLower(found), n); d < least {
			best, least = n, d
		}
	}
	if best == "" {
		return oneOf(names)
	}
	return oneOf(names) + "; perhaps " + best
}

// distance counts the letters to be put in, taken out or replaced to turn one
// word into another.
func distance(a, b string) int {
	if len(a) > 64 {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		last := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := last
			if a[i] != b[j] {
				cost = 1 + min(last, row[j], row[j+1])
			}
			last, row[j+1] = row[j+1], cost
		}
	}
	return row[len(b)]
}
