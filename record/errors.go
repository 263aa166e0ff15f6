package record

import (
	"errors"
	"fmt"
	"strconv"
)

// A RuleError says what in a record is not as the format or its kind demands.
type RuleError struct {
	Field string // the member, such as body.serial
	Found string
	Want  string
}

func (e *RuleError) Error() string {
	return fmt.Sprintf("%s: found %s; expected %s", e.Field, e.Found, e.Want)
}

// ErrClock is wrapped when a record would be entered before the one that stands
// before it in its chain: the clock of this machine was set back.
var ErrClock = errors.New("the clock is behind the last record")

// An UnknownKindError says that a record is of a kind or version that this
// program does not know: a later program wrote it. It is never passed over.
type UnknownKindError struct {
	ID      ID
	Kind    string
	Version int
}

func (e *UnknownKindError) Error() string {
	return fmt.Sprintf("record %s is of kind %s, version %d, which this program does not know; a later one wrote it", e.ID, e.Kind, e.Version)
}

// quote shows text of others in an error, cut to a length that can be read.
func quote(s string) string {
	const most = 80
	if s == "" {
		return "nothing"
	}
	if len(s) > most {
		return strconv.Quote(s[:most]) + " and more"
	}
	return strconv.Quote(s)
}

// inField puts the name of a member before the field that an error names.
func inField(name string, err error) error {
	if rule, ok := errors.AsType[*RuleError](err); ok {
		within := *rule
		if within.Field != "" {
			within.Field = name + "." + within.Field
		} else {
			within.Field = name
		}
		return &within
	}
	return err
}
