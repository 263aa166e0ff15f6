package tomlfile_test

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"testing"

	"underpin/tomlfile"
	"underpin/unit"
)

// yard is a file with one of each kind of thing.
type yard struct {
	Name  string           `toml:"name"`
	Open  *bool            `toml:"open"`
	Share *float64         `toml:"share"`
	Lanes int              `toml:"lanes"`
	Since *tomlfile.Date   `toml:"since"`
	Tags  []string         `toml:"tags"`
	Facts map[string]any   `toml:"facts"`
	Gate  gate             `toml:"gate"`
	Gates map[string]*gate `toml:"gates"`
	Ramps []ramp           `toml:"ramp"`
	Note  string           // no tag: note
	skip  int
}

type gate struct {
	Height *unit.Length `toml:"height,omitempty"`
	Load   unit.Mass    `toml:"load"`
}

type ramp struct {
	ID    string  `toml:"id"`
	Steps []step  `toml:"step"`
	At    []*gate `toml:"at"`
}

type step struct {
	Rise *unit.Length `toml:"rise"`
}

const sound = `name = "Osiermere"
open = true
share = 0.25
lanes = 3
since = 2024-05-31
tags = ["a", "b"]
note = "Ä"
gate.height = "4 m"
gate.load = "44 t"

[facts]
traffic = "national"
axles = { at-least = 2 }
list = [[1, 2], ["x"]]

[gates.north]
height = "13ft 6in"

[[ramp]]
id = "r1"
step = [
  { rise = "150 mm" }, # first
  { rise = "160 mm" },
]

[[ramp]]
id = "r2"
at = [{ load = "1 t" }]
`

// A mark that an editor puts ahead of UTF-8 is passed over, and moves no place.
func TestByteOrderMark(t *testing.T) {
	var y yard
	if _, err := tomlfile.Decode("f.toml", []byte("\ufeff"+sound), &y); err != nil || y.Name != "Osiermere" {
		t.Errorf("%q, %v", y.Name, err)
	}
	_, err := tomlfile.Decode("f.toml", []byte("\ufeffname = 7\n"), &y)
	var e *tomlfile.Error
	if !errors.As(err, &e) || e.Where() != "f.toml:1:8" {
		t.Errorf("%v, want an error at f.toml:1:8", err)
	}
	if _, err := tomlfile.Decode("f.toml", []byte("name = \"a\"\n\ufeffnote = \"b\"\n"), &y); err == nil {
		t.Error("a mark in the middle is taken")
	}
}

func TestSoundFileIsRead(t *testing.T) {
	var y yard
	y.skip = 1
	if _, err := tomlfile.Decode("y.toml", []byte(sound), &y); err != nil {
		t.Fatal(err)
	}
	got := fmt.Sprintln(y.Name, *y.Open, *y.Share, y.Lanes, y.Since, y.Tags, y.Note, *y.Gate.Height, y.Gate.Load, *y.Gates["north"].Height, len(y.Ramps), *y.Ramps[0].Steps[1].Rise, y.Ramps[1].At[0].Load)
	if want := "Osiermere true 0.25 3 2024-05-31 [a b] Ä 4 44000 4.1148 2 0.16 1000\n"; got != want {
		t.Errorf("read  %s\nwant %s", got, want)
	}
}

// Each file is wrong in one way; where and in what words was counted and
// written by hand.
func TestDecodeRefuses(t *testing.T) {
	for _, tt := range []struct{ name, text, want string }{
		{"unknown key", "nmae = 1", `y.toml:1:1: found unknown key "nmae"; expected one of name, open, share, lanes, since, tags, facts, gate, gates, ramp, note`},
		{"unknown key below", "gate.height = \"4 m\"\ngate.hight = 3", `y.toml:2:6: found unknown key "hight"; expected one of height, load`},
		{"unknown key in a list", `ramp = [{ step = [{ rise = "1 cm", run = 1 }] }]`, `y.toml:1:36: found unknown key "run"; expected one of rise`},
		{"unknown table", "[gate.post]", `y.toml:1:7: found unknown key "post"; expected one of height, load`},
		{"unknown key after letters of two bytes", "facts.\"ä\" = \"ö\"\ngate = { \"hähe\" = 1 }", `y.toml:2:10: found unknown key "hähe"; expected one of height, load`},
		{"another case of letters", `Name = "x"`, `y.toml:1:1: found unknown key "Name"; expected one of name,`},
		{"a field nobody fills", "skip = 1", `y.toml:1:1: found unknown key "skip"; expected one of`},

		{"number for text", "name = 3", `y.toml:1:8: found name = 3, a TOML integer; expected text in quotes`},
		{"date for text", "name = 2024-05-31", `y.toml:1:8: found name = 2024-05-31, a TOML date; expected text in quotes`},
		{"text for a number", `share = "0.25"`, `y.toml:1:9: found share = "0.25", a TOML string; expected a number`},
		{"a long text for a number", `share = "` + strings.Repeat("ü", 50) + `"`, `y.toml:1:9: found share = "` + strings.Repeat("ü", 40) + `"…, a TOML string; expected a number`},
		{"fraction for a whole number", "lanes = 2.5", `y.toml:1:9: found lanes = 2.5, a TOML float; expected a whole number`},
		{"number for a switch", "open = 1", `y.toml:1:8: found open = 1, a TOML integer; expected true or false`},
		{"time for a date", "since = 12:30:00", `y.toml:1:9: found since = 12:30:00, a TOML time; expected a date such as 2024-05-31`},
		{"no date", `since = "May"`, `y.toml:1:9: found since = "May" (`},
		{"one for a list", `tags = "a"`, `y.toml:1:8: found tags = "a", a TOML string; expected a list in square brackets, each entry text in quotes`},
		{"number in a list of text", "tags = [\n  'a',\n  2,\n]", `y.toml:3:3: found 2 in tags, a TOML integer; expected text in quotes`},
		{"list in a list of text", "tags = ['a', [2]]", `y.toml:1:1: found […] in tags, a TOML array; expected text in quotes`},
		{"table for text", "name = { x = 1 }", `y.toml:1:8: found name = {…}, a TOML table; expected text in quotes`},
		{"keys below text", "name.x = 1", `y.toml:1:1: found name with keys of its own, a TOML table; expected text in quotes`},
		{"text for a table", "gate = 'high'", `y.toml:1:8: found gate = "high", a TOML string; expected a table with the keys height, load`},
		{"text for a map", "facts = 'high'", `y.toml:1:9: found facts = "high", a TOML string; expected a table`},
		{"text for a list of tables", "ramp = 'r1'", `y.toml:1:8: found ramp = "r1", a TOML string; expected a list of tables, [[ramp]]`},
		{"text in a list of tables", "ramp = ['r1']", `y.toml:1:9: found "r1" in ramp, a TOML string; expected a table with the keys id, step, at`},
		{"single brackets for a list", "[ramp]\nid = 'r1'", `y.toml:1:2: found [ramp], a TOML table; expected a list of tables, [[ramp]]`},
		{"single brackets below a list", "[ramp.step]", `y.toml:1:2: found [ramp], a TOML table; expected a list of tables, [[ramp]]`},
		{"double brackets for a table", "[[gate]]", `y.toml:1:3: found [[gate]], a TOML array of tables; expected a table with the keys height, load`},
		{"header of a text", "[name]", `y.toml:1:2: found [name], a TOML table; expected text in quotes`},

		{"bare number", "gate.load = 44", `y.toml:1:13: found load = 44, a TOML integer; expected a mass in quotes with its unit, such as "7500kg", "18t" or "33500lb"`},
		{"bare fraction", "[gate]\nheight = 4.0", `y.toml:2:10: found height = 4.0, a TOML float; expected a length in quotes with its unit, such as "3700mm", "3.7m" or "12ft 2in"`},
		{"NaN", "gate.height = nan", `y.toml:1:15: found height = nan, a TOML float; expected a length in quotes`},
		{"list for a quantity", "gate.height = ['4 m']", `y.toml:1:6: found height = […], a TOML array; expected a length in quotes`},
		{"quantity of another kind", "gate.height = '4 t'", `y.toml:1:15: found height = "4 t", where t is a unit of mass; expected a length with its unit`},
		{"quantity without unit", "gate.height = '4'", `y.toml:1:15: found height = "4", the unit is missing; expected a length with its unit`},

		{"key twice", "name = 'a'\nlanes = 1\nname = 'b'", `y.toml:3:1: found "name" a second time; expected it once; it stands in line 1 already`},
		{"key twice in a table", "gate = { load = '1 t', load = '1 t' }", `y.toml:1:24: found "load" a second time; expected it once; it stands in line 1 already`},
		{"dotted key twice", "gate.load = '1 t'\ngate.load = '1 t'", `y.toml:2:6: found "load" a second time; expected it once; it stands in line 1 already`},
		{"table twice", "[gate]\n[facts]\n[gate]", `y.toml:3:2: found [gate] a second time; expected it once; it stands in line 1 already`},
		{"list twice", "ramp = []\n[[ramp]]", `y.toml:2:3: found [[ramp]] a second time; expected it once; it stands in line 1 already`},
		{"table that dotted keys made", "facts.x.a = 1\n[facts.x]", `y.toml:2:2: found text that is not TOML (table x already exists`},
		{"table that is a value", "name = 'ä'\nfacts = { \"ü\" = { a = 1, a.b = 2 } }", `y.toml:2:1: found text that is not TOML (`},
		{"number too large", "gates.\"ü\" = {}\nfacts = { \"ü\" = 99999999999999999999 }", `y.toml:2:17: found text that is not TOML (decimal number is too large`},
		{"a day that does not exist", "facts.\"ä\" = 2024-13-01", `y.toml:1:18: found text that is not TOML (`},
		{"a key out of the plain letters", "facts.x = 1\nfacts.ä = 2", `y.toml:2:7: found 'ä' where no quotes are open; expected letters a to z, digits, hyphens, or straight quotes (") around it`},
		{"typographic quotes", "name = “x”", `y.toml:1:8: found '“' where no quotes are open; expected letters`},
		{"broken header", "[gate", `y.toml:1:5: found text that is not TOML (`},
		{"broken text", "\n\nname = \"x", `y.toml:3:9: found text that is not TOML (`},
		{"broken UTF-8", "name = 'ää\xff'", `y.toml:1:11: found the byte 0xFF; expected text in UTF-8`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var y yard
			_, err := tomlfile.Decode("y.toml", []byte(tt.text), &y)
			var e *tomlfile.Error
			if !errors.As(err, &e) || !strings.HasPrefix(e.Error(), tt.want) || e.Expected == "" {
				t.Errorf("error\n%v\nwant\n%s", err, tt.want)
			}
		})
	}
}

func TestPlaces(t *testing.T) {
	var y yard
	p, err := tomlfile.Decode("y.toml", []byte(sound), &y)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ path, value, key string }{
		{"", "1:1", "1:1"},
		{"name", "1:8", "1:1"},
		{"tags[1]", "6:14", "6:14"},
		{"tags", "6:1", "6:1"}, // a list has no place besides its key
		{"note", "7:8", "7:1"},
		{"gate", "8:1", "8:1"},
		{"gate.load", "9:13", "9:6"},
		{"gate.width", "8:1", "8:1"}, // not there: the table
		{"facts", "11:2", "11:2"},
		{"facts.axles", "13:9", "13:1"},
		{"facts.axles.at-least", "13:22", "13:11"},
		{"facts.list[0][1]", "14:13", "14:13"},
		{"facts.list[1]", "14:1", "14:1"}, // a list in a list: the key
		{"gates.north", "16:8", "16:8"},
		{"gates.north.height", "17:10", "17:1"},
		{"ramp", "19:3", "19:3"},
		{"ramp[0]", "19:3", "19:3"},
		{"ramp[0].step[1]", "23:3", "23:5"}, // its brace, or its first key
		{"ramp[0].step[1].rise", "23:12", "23:5"},
		{"ramp[0].step[2].rise", "21:1", "21:1"}, // not there: the list
		{"ramp[1]", "26:3", "26:3"},
		{"ramp[1].id", "27:6", "27:1"},
		{"ramp[1].at[0].load", "28:16", "28:9"},
		{"ramp[7].id", "19:3", "19:3"},
		{"nothing.here[3]", "1:1", "1:1"},
	} {
		if got, want := p.Error(tt.path, "a", "b").Error(), "y.toml:"+tt.value+": found a; expected b"; got != want {
			t.Errorf("Error(%q) is %q, want %q", tt.path, got, want)
		}
		if got, want := p.KeyError(tt.path, "a", "b").Error(), "y.toml:"+tt.key+": found a; expected b"; got != want {
			t.Errorf("KeyError(%q) is %q, want %q", tt.path, got, want)
		}
	}
}

// Keys that hold the signs of a path still have one place each.
func TestPlacesOfQuotedKeys(t *testing.T) {
	text := "[facts]\n\"a.b\" = 1\na.b = 2\n\"x[0]\" = 3\nx = [4]\n\"\" = 5\n\"q\\\"\" = 6\n\"é\" = 7\n"
	var y yard
	p, err := tomlfile.Decode("y.toml", []byte(text), &y)
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		keys []string
		line int
	}{
		{[]string{"a.b"}, 2}, {[]string{"a", "b"}, 3}, {[]string{"x[0]"}, 4}, {[]string{"x"}, 5}, {[]string{""}, 6}, {[]string{`q"`}, 7}, {[]string{"é"}, 8},
	} {
		path := "facts"
		for _, key := range tt.keys {
			path = tomlfile.Join(path, key)
		}
		if e := p.Error(path, "", ""); e.Line != tt.line {
			t.Errorf("%s is in line %d, want %d", path, e.Line, tt.line)
		}
	}
}

func TestTooLarge(t *testing.T) {
	line := "# filler\n"
	fits := []byte(strings.Repeat(line, tomlfile.MaxSize/len(line)))
	var y yard
	if _, err := tomlfile.Decode("y.toml", fits, &y); err != nil {
		t.Errorf("%d bytes are refused: %v", len(fits), err)
	}
	_, err := tomlfile.Decode("y.toml", append(fits, line...), &y)
	if want := "y.toml: found a file of more than 8388608 bytes; expected a file of at most 8 MB"; err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
}

func TestRead(t *testing.T) {
	dir := t.TempDir()
	write := func(name string, size int) string {
		path := dir + "/" + name
		if err := os.WriteFile(path, make([]byte, size), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	if data, err := tomlfile.Read(write("fits", tomlfile.MaxSize), "a list"); err != nil || len(data) != tomlfile.MaxSize {
		t.Errorf("read %d bytes, error %v", len(data), err)
	}
	for _, tt := range []struct{ path, found, expected string }{
		{write("large", 10<<20), "a file of 10.0 MB", "a list of at most 8 MB"},
		{write("just", tomlfile.MaxSize+1), "a file of more than 8388608 bytes", "a list of at most 8 MB"},
		{dir + "/absent", "no file that can be opened (", "a list"},
		{dir, "a file that cannot be read (", "a list"},
	} {
		_, err := tomlfile.Read(tt.path, "a list")
		var e *tomlfile.Error
		if !errors.As(err, &e) || e.Where() != tt.path || !strings.HasPrefix(e.Found, tt.found) || e.Expected != tt.expected {
			t.Errorf("%s: error %v, want found %s; expected %s", tt.path, err, tt.found, tt.expected)
		}
	}
}

func Example() {
	var file struct {
		Gates []struct {
			Name   string       `toml:"name"`
			Height *unit.Length `toml:"height"`
		} `toml:"gate"`
	}
	places, err := tomlfile.Decode("gates.toml", []byte("[[gate]]\nname = \"north\"\nheight = \"40 m\"\n"), &file)
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, g := range file.Gates {
		if g.Height != nil && *g.Height > 10 {
			fmt.Println(places.Error(fmt.Sprintf("gate[%d].height", i), "height = 40 m", "at most 10 m"))
		}
	}
	_, err = tomlfile.Decode("gates.toml", []byte("[[gate]]\nheight = 4\n"), &file)
	fmt.Println(err)
	// Output:
	// gates.toml:3:10: found height = 40 m; expected at most 10 m
	// gates.toml:2:10: found height = 4, a TOML integer; expected a length in quotes with its unit, such as "3700mm", "3.7m" or "12ft 2in"
}
