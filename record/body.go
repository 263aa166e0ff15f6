package record

import (
	"fmt"
	"slices"
	"strings"

	"underpin/unit"
)

// Bounds of the texts in a body.
const (
	maxWord = 200
	maxText = 20_000
)

// A text is one member to be checked.
type text struct {
	name, value string
	must        bool
}

func checkTexts(texts ...text) error {
	for _, t := range texts {
		if err := checkText(t.name, t.value, maxWord, t.must); err != nil {
			return err
		}
	}
	return nil
}

func checkAsset(name string, a Asset, kind string, must bool) error {
	if a == "" && !must || a.is(kind) {
		return nil
	}
	return &RuleError{Field: name, Found: quote(string(a)), Want: "a " + kind}
}

func checkOneOf(name, value string, must bool, of ...string) error {
	if value == "" && !must || slices.Contains(of, value) {
		return nil
	}
	return &RuleError{Field: name, Found: quote(value), Want: "one of " + strings.Join(of, ", ")}
}

// checkWhole refuses a number outside its range; a nil number is unknown.
func checkWhole(name string, n *int64, least, most int64) error {
	if n == nil || least <= *n && *n <= most {
		return nil
	}
	return &RuleError{Field: name, Found: fmt.Sprint(*n), Want: fmt.Sprintf("from %d to %d", least, most)}
}

// checkQuantity refuses a text that is not a number with a unit.
func checkQuantity(name, value string, must bool) error {
	if value == "" && !must {
		return nil
	}
	for d := unit.LengthDim; d <= unit.PressureDim; d++ {
		if _, err := unit.Parse(value, d); err == nil {
			return nil
		}
	}
	return &RuleError{Field: name, Found: quote(value), Want: "a number with its unit, such as 17.5 mm or 270 N.m"}
}

// first returns the first error.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// A Source says where a value was copied from.
type Source struct {
	Document string  `json:"document,omitempty"`
	Edition  string  `json:"edition,omitempty"`
	Page     string  `json:"page,omitempty"`
	Blob     *Digest `json:"blob,omitempty"` // the document itself, where it is kept
}

func (s Source) check(must bool) error {
	return checkTexts(text{"document", s.Document, must}, text{"edition", s.Edition, false}, text{"page", s.Page, false})
}

func (s Source) blobs() []Digest {
	if s.Blob == nil {
		return nil
	}
	return []Digest{*s.Blob}
}

// The meters that give a vehicle's distance.
const (
	Odometer = "odometer" // of a tractor
	HubMeter = "hub"      // on a trailer's axle
	Brake    = "brake"    // a trailer's brake controller
)

// The largest reading that can be written: ten million kilometres, in metres.
const maxMetres = 10_000_000_000

// A MeterReading is a distance read off as something happened, not changed in
// any way; nil metres were not read.
type MeterReading struct {
	Meter  string `json:"meter,omitempty"`
	Metres *int64 `json:"metres,omitempty"`
}

func (m MeterReading) check(name string) error {
	must := m.Metres != nil
	return inField(name, first(
		checkOneOf("meter", m.Meter, must, Odometer, HubMeter, Brake),
		checkWhole("metres", m.Metres, 0, maxMetres)))
}

// A DocumentAttached puts a photo or paper beside an asset.
type DocumentAttached struct {
	Title string `json:"title"`
	Sort  string `json:"sort"`            // photo, certificate, instructions, plate, other
	Name  string `json:"name,omitempty"`  // of the file
	Media string `json:"media,omitempty"` // media type, such as image/jpeg
	Bytes int64  `json:"bytes"`
	Blob  Digest `json:"blob"`
}

func (DocumentAttached) Kind() string      { return "document-attached" }
func (d DocumentAttached) blobs() []Digest { return []Digest{d.Blob} }

func (d DocumentAttached) check() error {
	if d.Blob.Zero() {
		return &RuleError{Field: "blob", Found: "nothing", Want: "the digest of the document"}
	}
	return first(
		checkTexts(text{"title", d.Title, true}, text{"name", d.Name, false}, text{"media", d.Media, false}),
		checkOneOf("sort", d.Sort, true, "photo", "certificate", "instructions", "plate", "other"),
		checkWhole("bytes", &d.Bytes, 0, 1<<40))
}
