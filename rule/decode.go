package rule

import (
	"fmt"
	"strings"

	"underpin/tomlfile"
)

// The file format, as the package comment describes it.
type (
	file struct {
		Book       rawBook                  `toml:"book"`
		Instrument map[string]rawInstrument `toml:"instrument"`
		Assume     []rawAssume              `toml:"assume"`
		Drop       []rawDrop                `toml:"drop"`
		Rule       []rawRule                `toml:"rule"`
		Raise      []rawRaise               `toml:"raise"`
	}
	rawBook struct {
		Name     string `toml:"name"`
		Title    string `toml:"title"`
		Parent   string `toml:"parent"`
		TextDate string `toml:"text-date"`
		Note     string `toml:"note"`
	}
	rawInstrument struct {
		Title   string `toml:"title"`
		Version string `toml:"version"`
		Address string `toml:"address"`
	}
	rawAssume struct {
		Fact  string `toml:"fact"`
		Value any    `toml:"value"`
		Why   string `toml:"why"`
	}
	rawDrop struct {
		Rule string `toml:"rule"`
		Why  string `toml:"why"`
	}
	rawRule struct {
		ID          string         `toml:"id"`
		Title       string         `toml:"title"`
		Quantity    string         `toml:"quantity"`
		Sense       string         `toml:"sense"`
		Unit        string         `toml:"unit"`
		Limit       *float64       `toml:"limit"`
		By          string         `toml:"by"`
		ByUnit      string         `toml:"by-unit"`
		And         string         `toml:"and"`
		Bands       []rawBand      `toml:"bands"`
		Function    *rawFunction   `toml:"function"`
		OuterRadius string         `toml:"outer-radius"`
		When        map[string]any `toml:"when"`
		ValidFrom   *tomlfile.Date `toml:"valid-from"`
		ValidTo     *tomlfile.Date `toml:"valid-to"`
		Overrides   []string       `toml:"overrides"`
		Evidence    string         `toml:"evidence"`
		Citation    *rawCitation   `toml:"citation"`
		Failed      string         `toml:"failed"`
		NotCovered  string         `toml:"not-covered"`
		Lifts       bool           `toml:"lifts"`
		Note        string         `toml:"note"`
	}
	rawBand struct {
		From         *float64 `toml:"from"`
		To           *float64 `toml:"to"`
		FromIncluded *bool    `toml:"from-included"`
		ToIncluded   bool     `toml:"to-included"`
		And          *float64 `toml:"and"`
		Limit        *float64 `toml:"limit"`
	}
	rawFunction struct {
		Name          string   `toml:"name"`
		Ties          string   `toml:"ties"`
		Outer         string   `toml:"outer"`
		Inner         string   `toml:"inner"`
		FittingRadius string   `toml:"fitting-radius"`
		WholeGroup    *bool    `toml:"whole-group"`
		Of            string   `toml:"of"`
		Share         *float64 `toml:"share"`
		Most          string   `toml:"most"`
		PerMetre      string   `toml:"per-metre"`
		Step          string   `toml:"step"`
	}
	rawCitation struct {
		Instrument string `toml:"instrument"`
		Point      string `toml:"point"`
		Remark     string `toml:"remark"`
	}
	rawRaise struct {
		ID       string         `toml:"id"`
		Title    string         `toml:"title"`
		Rules    []string       `toml:"rules"`
		By       string         `toml:"by"`
		Most     *float64       `toml:"most"`
		Unit     string         `toml:"unit"`
		When     map[string]any `toml:"when"`
		Evidence string         `toml:"evidence"`
		Citation *rawCitation   `toml:"citation"`
	}
)

// Parse decodes and checks a rulebook. The name is the file's, for messages. A
// parent that the book names is asked of the function; nil stands for Open,
// the embedded books. What is wrong comes back as one *tomlfile.Error.
//
// Valid for rulebooks in the format of the package comment.
//
// Source: the file, whose every rule names its own.
func Parse(name string, src []byte, parent func(name string) (*Book, error)) (*Book, error) {
	if parent == nil {
		parent = Open
	}
	var raw file
	places, err := tomlfile.Decode(name, src, &raw)
	if err != nil {
		return nil, err
	}
	r := &reader{places: places}
	b := r.build(&raw, src, parent)
	if r.err != nil {
		return nil, r.err
	}
	return b, nil
}

// reader turns the raw file into a book, keeping the first error.
type reader struct {
	places *tomlfile.Places
	err    *tomlfile.Error
	made   *Book
}

// fail records what is wrong at a path, unless something was wrong before. It
// points at the key, since as often as not it is what is missing there.
func (r *reader) fail(path, found, expected string) {
	if r.err == nil {
		r.err = r.places.KeyError(path, found, expected)
	}
}

// need refuses an empty text.
func (r *reader) need(path, key, text string) {
	if strings.TrimSpace(text) == "" {
		r.fail(tomlfile.Join(path, key), fmt.Sprintf("no %s", key), key+" as text")
	}
}
