package tomlfile

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"pgregory.net/rapid"
)

// A writer writes a file and keeps book of where it put each thing.
type writer struct {
	t          *rapid.T
	text       strings.Builder
	value, key map[string]string // path to "line:column"
}

// here is counted the plain way, character by character.
func (w *writer) here() string {
	line, col := 1, 1
	for _, c := range w.text.String() {
		col++
		if c == '\n' {
			line, col = line+1, 1
		}
	}
	return fmt.Sprintf("%d:%d", line, col)
}

var keys = rapid.SampledFrom([]string{"a", "b-2", "C_3", "4", "ä ö", "x.y", "n[0]", `"`, ""})

// writeKey writes one part of a key as TOML may have it.
func (w *writer) writeKey(key string) {
	if isBare(key) && rapid.Bool().Draw(w.t, "bare") {
		w.text.WriteString(key)
	} else {
		w.text.WriteString(strconv.Quote(key))
	}
}

// table writes entries with different keys, each after its lead and before its
// tail, and returns where its first key stands.
func (w *writer) table(path string, depth int, lead, tail string) (first string) {
	for i, key := range rapid.SliceOfNDistinct(keys, 0, 3, rapid.ID).Draw(w.t, "keys") {
		if i > 0 || lead == "" {
			w.text.WriteString(lead)
		}
		sub := Join(path, key)
		w.key[sub] = w.here()
		if first == "" {
			first = w.here()
		}
		w.writeKey(key)
		for n := rapid.IntRange(0, 1).Draw(w.t, "dots"); n > 0; n-- {
			w.text.WriteString(rapid.SampledFrom([]string{".", " . "}).Draw(w.t, "dot"))
			w.value[sub] = w.key[sub] // a table that dotted keys make has its key alone
			sub = Join(sub, "inner")
			w.key[sub] = w.here()
			w.writeKey("inner")
		}
		w.text.WriteString(rapid.SampledFrom([]string{"=", " = "}).Draw(w.t, "equals"))
		w.element(sub, w.key[sub], depth)
		w.text.WriteString(tail)
	}
	return first
}

// element writes a value; around is the place that stands for one that has none.
func (w *writer) element(path, around string, depth int) {
	w.value[path] = w.here()
	switch pick := rapid.IntRange(0, 5).Draw(w.t, "kind"); {
	case pick == 0 && depth > 0:
		w.value[path] = around
		w.text.WriteString("[")
		for i := range rapid.IntRange(0, 3).Draw(w.t, "length") {
			w.text.WriteString(rapid.SampledFrom([]string{"", " ", "\n", " # ü\n  "}).Draw(w.t, "space"))
			entry := fmt.Sprintf("%s[%d]", path, i)
			w.element(entry, around, depth-1)
			if w.key[entry] == "" {
				w.key[entry] = w.value[entry]
			}
			w.text.WriteString(",")
		}
		w.text.WriteString("]")
	case pick == 1 && depth > 0:
		w.text.WriteString("{ ")
		if first := w.table(path, depth-1, ", ", ""); first != "" && w.key[path] == "" {
			w.key[path] = first
		}
		w.text.WriteString(" }")
	default:
		w.text.WriteString(rapid.SampledFrom([]string{`"ä"`, "'x\"'", "\"\"\"\nö\n\"\"\"", "-1", "1e3", "nan", "true", "2024-05-31", "2024-05-31T01:02:03Z", "12:00:00"}).Draw(w.t, "value"))
	}
}

// TestPlacesAreWhereTheyWereWritten writes files of every shape and asks for each
// thing's place.
func TestPlacesAreWhereTheyWereWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := &writer{t: t, value: map[string]string{}, key: map[string]string{}}
		for i := range rapid.IntRange(1, 3).Draw(t, "tables") {
			w.text.WriteString(rapid.SampledFrom([]string{"", "# é\n", "\r\n"}).Draw(t, "before") + "[[")
			w.key["list"] = first(w.key["list"], w.here())
			w.text.WriteString("list]]\n")
			w.table(fmt.Sprintf("list[%d]", i), 3, "", "\n")
		}
		var dst struct {
			List []map[string]any `toml:"list"`
		}
		p, err := Decode("f", []byte(w.text.String()), &dst)
		if err != nil {
			t.Fatalf("%v\n%s", err, w.text.String())
		}
		for path, want := range w.value {
			if got := p.Error(path, "", "").Where(); got != "f:"+want {
				t.Fatalf("the value of %s is said to stand at %s, and stands at %s\n%s", path, got, want, w.text.String())
			}
		}
		for path, want := range w.key {
			if got := p.KeyError(path, "", "").Where(); got != "f:"+want {
				t.Fatalf("the key of %s is said to stand at %s, and stands at %s\n%s", path, got, want, w.text.String())
			}
		}
	})
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// FuzzDecode: whatever the bytes, reading ends without a panic, an error has a
// place that the text has, and what is read agrees with the decoder's own view:
// each key and value that it finds has its place, and its letters stand there.
func FuzzDecode(f *testing.F) {
	f.Add([]byte("name = \"ä\"\nany.x = [1, { y = 2 }, []]\n[[list]]\nname = 'x'\n[list.sub.\"é\"]\nz = nan\n[[list]]\n[any.t]\n"))
	f.Add([]byte("any = { \"a.b\" = 1, a.b = \"\"\"\n\"\"\" }\nwhen = 2024-05-31\n[list]\n"))
	f.Add([]byte("any.\"\\u00e4\" = 1\nany.'' = 2\nName = 1"))
	f.Add([]byte("name = 1\n[[any]]\n[[any.b]]\n[any.b.c]\nd=[[[]]]"))
	f.Fuzz(func(t *testing.T, data []byte) {
		var dst struct {
			Name string         `toml:"name"`
			Any  any            `toml:"any"`
			Map  map[string]any `toml:"map"`
			When *Date          `toml:"when"`
			List []struct {
				Name string `toml:"name"`
				Sub  map[string]any
			} `toml:"list"`
		}
		p, err := Decode("f", data, &dst)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Found == "" || e.Expected == "" || e.File != "f" {
				t.Fatalf("error %#v", err)
			}
			lines := strings.Split(string(data), "\n")
			if e.Line < 1 || e.Line > len(lines) || e.Col < 1 || e.Col > utf8.RuneCountInString(lines[e.Line-1])+2 {
				t.Fatalf("a place that the text does not have: %v", e)
			}
			return
		}
		var plain map[string]any
		if err := toml.Unmarshal(data, &plain); err != nil {
			t.Fatalf("accepted, and yet: %v", err)
		}
		agree(t, p, p.root, plain)
	})
}

// agree walks the decoder's values and the places side by side.
func agree(t *testing.T, p *Places, n *node, v any) {
	if at := n.value; at >= len(p.data) || n.key >= len(p.data) && len(p.data) > 0 {
		t.Fatalf("a place behind the end: %+v", n)
	}
	switch v := v.(type) {
	case map[string]any:
		if len(v) != len(n.fields) {
			t.Fatalf("%d places for the %d keys of %v", len(n.fields), len(v), v)
		}
		for key, x := range v {
			f := n.fields[key]
			if f == nil {
				t.Fatalf("no place for the key %q", key)
			}
			if at := string(p.data[f.key:]); !strings.HasPrefix(at, key) && at[0] != '"' && at[0] != '\'' {
				t.Fatalf("the key %q is said to stand at %.20q", key, at)
			}
			agree(t, p, f, x)
		}
	case []any:
		if len(v) != len(n.items) {
			t.Fatalf("%d places for %d entries", len(n.items), len(v))
		}
		for i, x := range v {
			agree(t, p, n.items[i], x)
		}
	case bool:
		if !strings.HasPrefix(string(p.data[n.value:]), fmt.Sprint(v)) {
			t.Fatalf("%v is said to stand at %.20q", v, p.data[n.value:])
		}
	case string:
		if c := p.data[n.value]; c != '"' && c != '\'' {
			t.Fatalf("the text %q is said to stand at %.20q", v, p.data[n.value:])
		}
	}
}
