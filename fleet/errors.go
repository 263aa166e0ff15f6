package fleet

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"underpin/record"
)

// A Problem says what is wrong in one place.
type Problem struct {
	Where    string `json:"where"` // the field, as the form and the fleet file name it: axle[1].tare
	Found    string `json:"found"`
	Expected string `json:"expected"`
}

func (p Problem) String() string {
	if p.Where == "" {
		return fmt.Sprintf("found %s; expected %s", p.Found, p.Expected)
	}
	return fmt.Sprintf("%s: found %s; expected %s", p.Where, p.Found, p.Expected)
}

// An Invalid lists everything that cannot be as it was given. Nothing was entered.
type Invalid struct {
	Of       string // what it is about, in words: vehicle heron-07
	Problems []Problem
}

func (e *Invalid) Error() string {
	var b strings.Builder
	if e.Of != "" {
		b.WriteString(e.Of + ": ")
	}
	b.WriteString(e.Problems[0].String())
	if n := len(e.Problems) - 1; n > 0 {
		fmt.Fprintf(&b, " (and %d more)", n)
	}
	return b.String()
}

// At returns the first problem at a place, or nil; for showing it beside a field.
func (e *Invalid) At(where string) *Problem {
	for i := range e.Problems {
		if e.Problems[i].Where == where {
			return &e.Problems[i]
		}
	}
	return nil
}

func invalid(of, where, found, expected string) error {
	return &Invalid{Of: of, Problems: []Problem{{where, found, expected}}}
}

// fromRecord puts what a record is refused for in this package's words.
func fromRecord(of string, err error) error {
	if rule, ok := errors.AsType[*record.RuleError](err); ok {
		where := strings.TrimPrefix(rule.Field, "body.")
		for _, member := range []string{"set.", "fields."} {
			where = strings.TrimPrefix(where, member)
		}
		return invalid(of, where, rule.Found, rule.Want)
	}
	return err
}

// A Conflict says that somebody changed the asset after the person at hand looked
// at it. Nothing was entered, and nothing that was typed is lost: it is all here.
type Conflict struct {
	Asset record.Asset
	// Version is the one that stands now. Who has seen the fields below sends what
	// was typed once more, with it.
	Version string
	Who     record.Who  // who changed it last
	At      record.Time // when that was entered
	Fields  []Difference
	Typed   Command // the command as it was given
}

// A Difference is one field of which the versions differ.
type Difference struct {
	Field string // as the form names it: registration, or width of the fleet file's fields
	// Was is the value that was looked at, Theirs the one that stands now, Yours the
	// one that was typed; JSON, nil for unknown.
	Was, Theirs, Yours json.RawMessage
	// Clash tells that both changed it, and not to the same.
	Clash bool
}

func (e *Conflict) Error() string {
	var clash []string
	for _, d := range e.Fields {
		if d.Clash {
			clash = append(clash, d.Field)
		}
	}
	s := fmt.Sprintf("%s: %s changed it on %s, after you looked at it", e.Asset, e.Who.Name, e.At.Time().Format("2006-01-02 15:04 UTC"))
	if len(clash) > 0 {
		s += "; both of you changed " + strings.Join(clash, ", ")
	}
	return s
}

// A NotAllowed says that the person's roles do not allow a thing, and which do.
type NotAllowed struct {
	Who   string
	What  string   // in words: change a vehicle
	Roles []string // that may
	Why   string   // when it is not for want of a role
}

func (e *NotAllowed) Error() string {
	s := fmt.Sprintf("%s may not %s", e.Who, e.What)
	if e.Why != "" {
		return s + ": " + e.Why
	}
	return s + "; these may: " + strings.Join(e.Roles, ", ")
}

// A NotFound says that there is no such thing.
type NotFound struct {
	What string // vehicle, part, record, session
	Name string
}

func (e *NotFound) Error() string { return fmt.Sprintf("there is no %s %q", e.What, e.Name) }

// ErrSignIn is all that a failed sign-in tells: not whether the name or the
// password was wrong.
var ErrSignIn = errors.New("name and password do not go together")

// ErrNotSignedIn says that a session or token does not exist, or no longer.
var ErrNotSignedIn = errors.New("not signed in, or not any more")

// A TooMany says that sign-in was tried too often for an account or from an
// address.
type TooMany struct{ Wait time.Duration }

func (e *TooMany) Error() string {
	return fmt.Sprintf("too many tries to sign in; wait %d seconds", int(e.Wait.Seconds())+1)
}
