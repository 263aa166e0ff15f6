package yard

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"underpin/record"
	"underpin/unit"
)

// Edition is that of the cards and of the way a check is judged. It rises when a
// step is added or changes its meaning, and stands in each check.
const Edition = 1

// CannotSee is the answer of who could not see it: dark, dirt, out of reach.
const CannotSee YesNo = "cannot-see"

// A Vehicle of a check is one of the register, or a guest.
type Vehicle struct {
	Asset record.Asset `json:"asset,omitempty"`
	Guest *Guest       `json:"guest,omitempty"`
}

// A Guest is a hired or unlabelled vehicle, as far as the driver entered it.
type Guest struct {
	Registration string          `json:"registration"`
	Plates       []record.Digest `json:"plates,omitempty"` // photos of the maker's and the coupling's plate
	Pin          *int64          `json:"pin_mm,omitempty"`
	Wedge        YesNo           `json:"wedge,omitempty"`
	Plate        *int64          `json:"plate_mm,omitempty"` // underside of the trailer's plate above ground
}

// Fill puts what the driver entered of a guest trailer into what a card is built
// from. What he did not enter stays unknown.
func (g *Guest) Fill(p Pair) Pair {
	if g.Pin != nil {
		p.Facts.Pin = *g.Pin
	}
	if g.Wedge != "" {
		p.Facts.Wedge = g.Wedge
	}
	if g.Plate != nil {
		l := unit.Length(*g.Plate) * unit.Millimetre
		p.Plate = &l
	}
	return p
}

// A Clock is what is known of a phone's clock: how far the true time was ahead of
// it when the two last met, in milliseconds; nil never met.
type Clock struct {
	Ahead *int64 `json:"ahead_ms,omitempty"`
}

// True is the time in truth of what the phone's clock showed, and whether it is
// known.
func (c Clock) True(at record.Time) (record.Time, bool) {
	if c.Ahead == nil || at == 0 {
		return at, false
	}
	return at + record.Time(*c.Ahead)*1000, true
}

// An Answer is one tap, number or photo. All are kept; the last one to a step
// counts.
type Answer struct {
	Step string      `json:"step"` // key on the card
	At   record.Time `json:"at"`   // by the phone's clock
	// Tick is milliseconds since the check began by a clock that nobody can set;
	// nil where the phone has none or was started anew.
	Tick   *int64          `json:"tick_ms,omitempty"`
	Seen   YesNo           `json:"seen,omitempty"`
	Number *int64          `json:"number,omitempty"` // in the unit that the step asks for
	Words  string          `json:"words,omitempty"`
	Choice Key             `json:"choice,omitempty"`
	Photos []record.Digest `json:"photos,omitempty"`
}

// A Signature says who answers for a check.
type Signature struct {
	Account record.Asset   `json:"account,omitempty"`
	Name    string         `json:"name"`
	At      record.Time    `json:"at"`
	Image   *record.Digest `json:"image,omitempty"` // the drawn signature
}

// A Check is the record of one flow done with one pair.
type Check struct {
	ID       record.ID `json:"id"`
	Edition  int       `json:"edition"`
	Flow     Flow      `json:"flow"`
	Country  string    `json:"country,omitempty"`
	Language Language  `json:"language,omitempty"` // in which the steps were read
	Tractor  Vehicle   `json:"tractor"`
	Trailer  Vehicle   `json:"trailer"`

	// What the card was built from.
	Facts      Facts    `json:"facts"`
	Travelling *int64   `json:"travelling_mm,omitempty"`
	Coupling   *int64   `json:"coupling_mm,omitempty"`
	Plate      *int64   `json:"plate_mm,omitempty"`
	Setting    *Setting `json:"setting,omitempty"`
	Allowed    Allowed  `json:"allowed,omitzero"` // what the card said of the pair

	Phone   string      `json:"phone"`
	Clock   Clock       `json:"clock,omitzero"`
	Began   record.Time `json:"began"`
	Place   string      `json:"place,omitempty"` // if the driver allowed it
	Answers []Answer    `json:"answers"`
	Signed  *Signature  `json:"signed,omitempty"`
}

// Bounds of what a check holds.
const (
	MaxAnswers = 500
	MaxPhotos  = 20
	MaxWords   = 500 // characters of a free text
	maxName    = 100
)

// Pair is what the card of the check was built from.
func (c *Check) Pair() Pair {
	length := func(n *int64) *unit.Length {
		if n == nil {
			return nil
		}
		l := unit.Length(*n) * unit.Millimetre
		return &l
	}
	return Pair{Facts: c.Facts, Country: c.Country, Setting: c.Setting,
		Travelling: length(c.Travelling), Coupling: length(c.Coupling), Plate: length(c.Plate)}
}

// Validate refuses a check that no card can have led to. The order in which
// clocks ran is not refused: a clock may be set while a check is under way.
func (c *Check) Validate() error {
	if err := first(
		must("id", string(c.ID), c.ID.Valid(), "a version 7 UUID"),
		c.edition(),
		oneOf("language", c.Language, Languages()...),
		c.Tractor.validate("tractor"), c.Trailer.validate("trailer"),
		plain("country", c.Country, 20, false), plain("phone", c.Phone, maxName, true), plain("place", c.Place, MaxWords, false),
		must("began", c.Began.String(), c.Began.Valid(), "an instant"),
		c.Allowed.validate(),
	); err != nil {
		return err
	}
	if len(c.Answers) > MaxAnswers {
		return &record.RuleError{Field: "answers", Found: fmt.Sprint(len(c.Answers)), Want: "at most " + strconv.Itoa(MaxAnswers)}
	}
	card, err := NewCard(c.Flow, c.Pair())
	if err != nil {
		return err
	}
	photos := 0
	for i, a := range c.Answers {
		field := fmt.Sprintf("answers[%d]", i)
		s, there := card.Step(a.Step)
		if !there && c.Edition == Edition {
			return &record.RuleError{Field: field + ".step", Found: short(a.Step), Want: "a step of this card"}
		}
		if err := first(
			must(field+".at", a.At.String(), a.At.Valid(), "an instant"),
			must(field+".tick_ms", "a negative time", a.Tick == nil || *a.Tick >= 0, "milliseconds since the check began"),
			plain(field+".words", a.Words, MaxWords, false), plain(field+".step", a.Step, maxName, true)); err != nil {
			return err
		}
		if there {
			if err := a.answers(field, s.Ask); err != nil {
				return err
			}
		}
		photos += len(a.Photos)
	}
	if photos > MaxPhotos {
		return &record.RuleError{Field: "photos", Found: fmt.Sprint(photos), Want: "at most " + strconv.Itoa(MaxPhotos)}
	}
	if s := c.Signed; s != nil {
		return first(
			must("signed.account", string(s.Account), s.Account == "" || s.Account.Valid() && s.Account.Kind() == record.AccountAsset, "an account"),
			plain("signed.name", s.Name, maxName, true),
			must("signed.at", s.At.String(), s.At.Valid(), "an instant"))
	}
	return nil
}

func (c *Check) edition() error {
	if 1 <= c.Edition && c.Edition <= Edition {
		return nil
	}
	return &record.RuleError{Field: "edition", Found: fmt.Sprint(c.Edition), Want: "from 1 to " + strconv.Itoa(Edition)}
}

// answers refuses an answer of another kind than the step asks for.
func (a *Answer) answers(field string, ask Ask) error {
	wrong := func(found, want string) error {
		return &record.RuleError{Field: field, Found: found, Want: want}
	}
	is := func(k Kind) bool { return ask.Kind == k }
	switch {
	case !is(Seen) && a.Seen != "":
		return wrong("yes or no", "an answer of kind "+string(ask.Kind))
	case !is(Number) && a.Number != nil:
		return wrong("a number", "an answer of kind "+string(ask.Kind))
	case !is(Words) && a.Words != "":
		return wrong("words", "an answer of kind "+string(ask.Kind))
	case !is(Choice) && a.Choice != "":
		return wrong("a choice", "an answer of kind "+string(ask.Kind))
	case is(Seen) && a.Seen != Yes && a.Seen != No && a.Seen != CannotSee:
		return wrong(short(string(a.Seen)), "yes, no or cannot-see")
	case is(Number) && a.Number == nil, is(Words) && strings.TrimSpace(a.Words) == "", is(Photo) && len(a.Photos) == 0:
		return wrong("nothing", "an answer of kind "+string(ask.Kind))
	case is(Number) && !(ask.Least <= *a.Number && *a.Number <= ask.Most):
		return wrong(fmt.Sprint(*a.Number), fmt.Sprintf("from %d to %d %s", ask.Least, ask.Most, ask.Unit))
	case is(Choice) && !slices.Contains(ask.Choices, a.Choice):
		return wrong(short(string(a.Choice)), "one of the choices")
	}
	return nil
}

func (v Vehicle) validate(field string) error {
	switch {
	case v.Guest != nil && v.Asset != "":
		return &record.RuleError{Field: field, Found: "an asset and a guest", Want: "one of the two"}
	case v.Guest == nil:
		return must(field+".asset", string(v.Asset), v.Asset.Valid() && v.Asset.Kind() == record.VehicleAsset, "a vehicle, or a guest")
	}
	g := v.Guest
	return first(
		plain(field+".registration", g.Registration, 30, true),
		between(field+".pin_mm", g.Pin, 20, 200), oneOf(field+".wedge", g.Wedge, Yes, No), between(field+".plate_mm", g.Plate, 500, 2000),
		must(field+".plates", fmt.Sprint(len(g.Plates)), len(g.Plates) <= MaxPhotos, "at most "+strconv.Itoa(MaxPhotos)))
}

func between(field string, n *int64, least, most int64) error {
	if n == nil || least <= *n && *n <= most {
		return nil
	}
	return &record.RuleError{Field: field, Found: fmt.Sprint(*n), Want: fmt.Sprintf("from %d to %d", least, most)}
}

func must(field, found string, ok bool, want string) error {
	if ok {
		return nil
	}
	return &record.RuleError{Field: field, Found: short(found), Want: want}
}

// plain refuses text that is too long, is no UTF-8 or holds control characters.
func plain(field, s string, most int, needed bool) error {
	bad := func(r rune) bool { return unicode.IsControl(r) && r != '\n' }
	switch {
	case needed && strings.TrimSpace(s) == "":
		return &record.RuleError{Field: field, Found: "nothing", Want: "a text"}
	case !utf8.ValidString(s) || strings.ContainsFunc(s, bad):
		return &record.RuleError{Field: field, Found: short(s), Want: "plain text"}
	case utf8.RuneCountInString(s) > most:
		return &record.RuleError{Field: field, Found: fmt.Sprintf("%d characters", utf8.RuneCountInString(s)), Want: fmt.Sprintf("at most %d", most)}
	}
	return nil
}
