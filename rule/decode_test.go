package rule_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"underpin/rule"
	"underpin/tomlfile"
)

// sound is a small book that loads; the cases below each break it.
const sound = `[book]
name = "x"
title = "X"
text-date = "2026"

[instrument.law]
title = "Law"
version = "2026"

[[rule]]
id = "a"
title = "A"
quantity = "mass-group"
sense = "at most"
unit = "t"
by = "spacing"
by-unit = "m"
bands = [
  { to = 1.0, limit = 11 },
  { from = 1.0, to = 1.3, limit = 16 },
]
when = { axles = 2, spacing = { at-least = "0.1 m" } }
evidence = "read"
citation = { instrument = "law", point = "1" }
failed = "Too heavy."

[[rule]]
id = "b"
title = "B"
quantity = "mass-group"
sense = "at most"
unit = "t"
limit = 19
overrides = ["a"]
evidence = "read"
citation = { instrument = "law", point = "2" }
failed = "Too heavy."
`

func TestParseRefuses(t *testing.T) {
	if _, err := rule.Parse("x.toml", []byte(sound), nil); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ old, new, want string }{
		{`name = "x"`, `name = "x`, `x.toml:2:`},
		{`name = "x"`, ``, `x.toml:1:2: found no name; expected name as text`},
		{`name = "x"`, `name = "X y"`, `x.toml:2:1: found "X y"; expected small letters`},
		{`name = "x"`, `name = 3`, `x.toml:2:8: found name = 3, a TOML integer; expected text in quotes`},
		{`text-date = "2026"`, `text-date = "26"`, `x.toml:4:1: found text-date "26"; expected a year`},
		{`title = "X"`, "title = \"X\"\nparent = \"atlantis\"", `x.toml:4:1: found parent "atlantis": no rulebook "atlantis"; expected one of`},
		{`id = "a"`, `ident = "a"`, `x.toml:11:1: found unknown key "ident"; expected one of id, title`},
		{`id = "b"`, `id = "a"`, `x.toml:28:1: found id "a" a second time; expected`},
		{`id = "a"`, `id = ""`, `x.toml:11:1: found no id; expected id as text`},
		{`quantity = "mass-group"`, `quantity = "mass"`, `x.toml:13:1: found unknown quantity "mass"; expected one of length-combination`},
		{`sense = "at most"`, `sense = "under"`, `x.toml:14:1: found sense "under"; expected "at most" or "at least"`},
		{`unit = "t"`, `unit = "m"`, `x.toml:15:1: found unit "m"; expected a unit of mass: kg`},
		{`unit = "t"`, `unit = "stone"`, `x.toml:15:1: found unit "stone"; expected a unit of mass: kg`},
		{`by = "spacing"`, `by = "spacig"`, `x.toml:16:1: found by "spacig"; expected a fact that is a number`},
		{`by-unit = "m"`, ``, `x.toml:10:3: found unit ""; expected a unit of length`},
		{`to = 1.3, limit = 16`, `to = 1.3, limit = nan`, `x.toml:20:27: found limit NaN; expected a finite number`},
		{`to = 1.3, limit = 16`, `to = inf, limit = 16`, `x.toml:20:17: found to +Inf; expected a finite number`},
		{`to = 1.3, limit = 16`, `to = "1.3", limit = 16`, `x.toml:20:22: found to = "1.3", a TOML string; expected a number`},
		{`to = 1.3, limit = 16`, `to = 1.3`, `x.toml:20:5: found no limit; expected limit`},
		{`to = 1.3, limit = 16`, `to = 1.3, limt = 16`, `x.toml:20:27: found unknown key "limt"; expected one of from, to`},
		{`from = 1.0, to = 1.3`, `from = 0.9, to = 1.3`, `x.toml:20:5: found a band from 0.9 that overlaps the one to 1 before it; expected bands in rising order`},
		{`from = 1.0, to = 1.3`, `from = 1.4, to = 1.3`, `x.toml:20:5: found an empty band from 1.4 to 1.3; expected from below to`},
		{`to = 1.0, limit = 11`, `to = 1.0, to-included = true, limit = 11`, `x.toml:20:5: found a band from 1 that overlaps the one to 1 before it`},
		{`axles = 2,`, `axels = 2,`, `x.toml:22:10: found unknown fact "axels"; expected a fact from the table`},
		{`axles = 2,`, `axles = "two",`, `x.toml:22:10: found two for the fact axles; expected a number`},
		{`axles = 2,`, `axles = nan,`, `x.toml:22:10: found NaN for the fact axles; expected a number`},
		{`axles = 2,`, `axles = [],`, `x.toml:22:10: found an empty list; expected at least one value`},
		{`axles = 2,`, `traffic = "global",`, `x.toml:22:10: found global for the fact traffic; expected one of national, international`},
		{`axles = 2,`, `drive = { at-least = true },`, `x.toml:22:10: found a range of drive; expected true or false`},
		{`at-least = "0.1 m"`, `at-least = 0.1`, `0.1 for the fact spacing; expected a length with its unit`},
		{`at-least = "0.1 m"`, `at-least = "0.1 t"`, `"0.1 t"; expected a length with its unit`},
		{`at-least = "0.1 m"`, `over = "0.1 m"`, `unknown key "over"; expected at-least, more-than, at-most or less-than`},
		{`at-least = "0.1 m"`, `at-least = "2 m", less-than = "1 m"`, `a range that holds nothing`},
		{`evidence = "read"`, `evidence = "sure"`, `x.toml:23:1: found evidence "sure"; expected one of read, derived, second-hand, practice, memory`},
		{`citation = { instrument = "law", point = "1" }`, ``, `x.toml:10:3: found no citation; expected citation = {`},
		{`instrument = "law", point = "1"`, `instrument = "lore", point = "1"`, `x.toml:24:14: found unknown instrument "lore"; expected the key of an [instrument] table`},
		{`instrument = "law", point = "1"`, `instrument = "law", point = " "`, `x.toml:24:34: found no point; expected point as text`},
		{`failed = "Too heavy."`, ``, `x.toml:10:3: found no failed; expected failed`},
		{`limit = 19`, `limit = nan`, `x.toml:33:1: found limit NaN; expected a finite number`},
		{`limit = 19`, `limit = -19`, `x.toml:33:1: found limit -19; expected a number that is not negative: mass-group has no negative values`},
		{`limit = 11 }`, `limit = -11 }`, `x.toml:19:15: found limit -11; expected a number that is not negative`},
		{`limit = 19`, `limit = "19"`, `x.toml:33:9: found limit = "19", a TOML string; expected a number`},
		{`limit = 19`, ``, `x.toml:27:3: found no limit; expected limit, bands`},
		{`limit = 19`, "limit = 19\nfunction = { name = \"fr-drive-tandem\" }", `x.toml:27:3: found more than one of limit, bands and function`},
		{`limit = 19`, `function = { name = "magic" }`, `x.toml:33:14: found unknown function "magic"; expected one of axle-spread`},
		{`limit = 19`, `function = { name = "bridge-formula" }`, `function bridge-formula without ties; expected ties`},
		{`limit = 19`, `function = { name = "bridge-formula", ties = "level" }`, `ties "level"; expected "down" or "up"`},
		{`limit = 19`, `function = { name = "fr-drive-tandem", ties = "up" }`, `ties, which the function fr-drive-tandem does not take`},
		{`limit = 19`, `function = { name = "lesser-of", of = "s-dimension", share = 0.5, most = "3 m" }`, `the function lesser-of, which gives a length; expected a function that gives a mass`},
		{`limit = 19`, `function = { name = "axle-spread", of = "axles", per-metre = "5 t", step = "10 kg", most = "44 t" }`, `of "axles"; expected a fact that is a length`},
		{`limit = 19`, "limit = 19\nouter-radius = \"12.5 m\"", `x.toml:34:1: found outer-radius for mass-group`},
		{`limit = 19`, "lifts = true\nlimit = 19", `lifts with a limit`},
		{`limit = 19`, "limit = 19\nvalid-from = 2026-02-01\nvalid-to = 2026-01-01", `valid-to before valid-from`},
		{`overrides = ["a"]`, `overrides = ["c"]`, `x.toml:34:14: found no rule "c"; expected the id of a rule`},
		{`overrides = ["a"]`, `overrides = ["b"]`, `rules that override each other in a circle`},
		{`[instrument.law]`, "[[raise]]\nid = \"r\"\ntitle = \"R\"\nby = \"axles\"\n[instrument.law]", `by "axles"; expected a fact that is a mass or a length`},
		{`[instrument.law]`, "[[assume]]\nfact = \"traffic\"\nvalue = \"global\"\nwhy = \"-\"\n[instrument.law]", `x.toml:8:1: found global for the fact traffic`},
		{`title = "A"`, `title = "Ä" # ü` + "\n" + `"é" = 1`, `x.toml:13:1: found unknown key "é"`},
		{`axles = 2,`, `"é" = 1, axels = 2,`, `unknown fact "axels"`},
		{`evidence = "read"`, `"évidence" = 1`, `x.toml:23:1: found unknown key "évidence"`},
		{`instrument = "law", point = "1"`, `point = "é", instrument = "lore"`, `x.toml:24:27: found unknown instrument`},
		{`[instrument.law]`, "[[drop]]\nrule = \"z\"\nwhy = \"-\"\n[instrument.law]", `x.toml:7:1: found no rule "z" in the parent`},
		{sound, "", `x.toml:1:1: found no name`},
		{sound, "\xff", `x.toml:1:1: found the byte 0xFF; expected text in UTF-8`},
		{`failed = "Too heavy."`, "failed = \"Too heavy.\"\nfailed = \"Far too heavy.\"", `x.toml:26:1: found "failed" a second time; expected it once; it stands in line 25 already`},
		{`[[rule]]`, `[rule]`, `x.toml:10:2: found [rule], a TOML table; expected a list of tables, [[rule]]`},
	} {
		src := strings.Replace(sound, tt.old, tt.new, 1)
		if src == sound {
			t.Fatalf("%q does not stand in the book", tt.old)
		}
		b, err := rule.Parse("x.toml", []byte(src), nil)
		var file *tomlfile.Error
		if !errors.As(err, &file) || !strings.Contains(err.Error(), tt.want) || file.Expected == "" {
			t.Errorf("%q for %q: book %v, error\n%v\nwant\n%s", tt.new, tt.old, b != nil, err, tt.want)
		}
	}
}

// A rulebook larger than any is refused before it is read.
func TestParseRefusesWhatIsTooLarge(t *testing.T) {
	src := append([]byte(sound), bytes.Repeat([]byte("# filler\n"), tomlfile.MaxSize/9)...)
	_, err := rule.Parse("x.toml", src, nil)
	var e *tomlfile.Error
	if !errors.As(err, &e) || e.Where() != "x.toml" || !strings.Contains(e.Expected, "at most 8 MB") {
		t.Errorf("error %v, want one that names the 8 MB accepted", err)
	}
}

func ExampleParse() {
	_, err := rule.Parse("fleet.toml", []byte(strings.Replace(sound, "limit = 19", "limit = nan", 1)), nil)
	fmt.Println(err)
	// Output: fleet.toml:33:1: found limit NaN; expected a finite number
}

// FuzzParse: whatever the bytes, the parser ends without a panic, and its error
// has a place. A book that loads can be asked.
func FuzzParse(f *testing.F) {
	f.Add([]byte(sound))
	files, _ := filepath.Glob("testdata/*.toml")
	for _, name := range files {
		src, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	f.Add([]byte("[book]\nname = \"x\"\n[[rule]]\nwhen.a.b = 1\nbands = [[{}]]"))
	at := regexp.MustCompile(`(?s)^f\.toml:[1-9]\d*:[1-9]\d*: found .+; expected .+`)
	f.Fuzz(func(t *testing.T, src []byte) {
		b, err := rule.Parse("f.toml", src, nil)
		if err != nil {
			if !at.MatchString(err.Error()) {
				t.Fatalf("error without a place: %v", err)
			}
			return
		}
		for _, q := range rule.Vocabulary() {
			for _, l := range b.Limits(q.Name, rule.Facts{"axles": 2, "spacing": 1.2}) {
				if f := l.Check("fuzz", 1); f.Answer == rule.FitsIf || f.Source == "" {
					t.Fatalf("%+v", f)
				}
			}
		}
	})
}
