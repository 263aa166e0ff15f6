package web

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"underpin/assess"
	"underpin/fleet"
	"underpin/formula"
	"underpin/record"
	"underpin/rule"
	"underpin/store"
	"underpin/unit"
)

// A failure is how an error is told to programs, the same as on the command line.
type failure struct {
	Exit     int      `json:"exit" doc:"The exit code of the same failure on the command line: 2 bad input, 3 cannot tell, 4 the server failed."`
	Where    string   `json:"where" doc:"The field, or the address."`
	Found    string   `json:"found"`
	Expected string   `json:"expected"`
	Missing  []string `json:"missing" nullable:"false" doc:"What would have to be known."`
	// Problems are all of them, where more than one thing is wrong.
	Problems []fleet.Problem `json:"problems,omitempty" doc:"Everything that is wrong, where that is more than one thing."`
	Conflict *conflictOut    `json:"conflict,omitempty" doc:"Where somebody was quicker: what was looked at, what stands and what was sent, field by field."`
}

// conflictOut puts the three versions side by side.
type conflictOut struct {
	Version string          `json:"version" doc:"The version that stands now; sent as If-Match it lets the change through."`
	Who     record.Who      `json:"who"`
	At      record.Time     `json:"at" format:"date-time"`
	Fields  []differenceOut `json:"fields"`
}

type differenceOut struct {
	Field  string          `json:"field"`
	Was    json.RawMessage `json:"was,omitempty"`
	Theirs json.RawMessage `json:"theirs,omitempty"`
	Yours  json.RawMessage `json:"yours,omitempty"`
	Clash  bool            `json:"clash" doc:"Both changed it, and not to the same."`
}

// An apiError is a failure with its status.
type apiError struct {
	status int
	head   http.Header
	Failed failure `json:"error"`
}

func (e *apiError) Error() string           { return e.Failed.Where + ": " + e.Failed.Found }
func (e *apiError) GetStatus() int          { return e.status }
func (e *apiError) GetHeaders() http.Header { return e.head }

// The library asks for the form of its own errors in this way only.
func init() {
	huma.NewError = func(status int, msg string, errs ...error) huma.StatusError {
		return newAPIError(nil, status, msg, errs...)
	}
	huma.NewErrorWithContext = newAPIError
}

// newAPIError puts an error of the library in the form for programs.
func newAPIError(ctx huma.Context, status int, msg string, errs ...error) huma.StatusError {
	e := &apiError{status: status, Failed: failure{Exit: 2, Found: msg, Missing: []string{}}}
	if ctx != nil {
		u := ctx.URL()
		e.Failed.Where = u.Path
	}
	if status >= 500 {
		e.Failed.Exit = 4
	}
	var all []fleet.Problem
	for _, err := range errs {
		d, ok := err.(huma.ErrorDetailer)
		if !ok {
			all = append(all, fleet.Problem{Where: e.Failed.Where, Found: err.Error(), Expected: "what the document of the interface says"})
			continue
		}
		detail := d.ErrorDetail()
		where := strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(strings.TrimPrefix(detail.Location, "body"), "query"), "path"), ".")
		found := "nothing"
		if detail.Value != nil && detail.Value != "" {
			found = shown(detail.Value)
		}
		all = append(all, fleet.Problem{Where: cmp.Or(where, e.Failed.Where), Found: found, Expected: detail.Message})
	}
	e.Failed.tell(all)
	return e
}

// shown prints a value as far as an error has room for it.
func shown(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Sprint(v)
	}
	if text := []rune(string(b)); len(text) > 80 {
		return string(text[:80]) + "…"
	}
	return string(b)
}

// tell takes over what is wrong.
func (f *failure) tell(all []fleet.Problem) {
	if len(all) == 0 {
		return
	}
	f.Where, f.Found, f.Expected = cmp.Or(all[0].Where, f.Where), all[0].Found, all[0].Expected
	if len(all) > 1 {
		f.Problems = all
	}
}

// failed puts an error of the program in the form for programs.
func (s *site) failed(ctx context.Context, err error) *apiError {
	if e, ok := errors.AsType[*apiError](err); ok {
		return e
	}
	e := &apiError{status: http.StatusInternalServerError, Failed: failure{Exit: 2, Missing: []string{}}}
	f := &e.Failed
	set := func(status, exit int, where, found, expected string) {
		e.status, f.Exit, f.Where, f.Found, f.Expected = status, exit, where, found, expected
	}
	if x, ok := errors.AsType[*fleet.Invalid](err); ok {
		set(http.StatusUnprocessableEntity, 2, x.Of, "", "")
		f.tell(x.Problems)
	} else if x, ok := errors.AsType[*fleet.Conflict](err); ok {
		set(http.StatusPreconditionFailed, 2, "If-Match", "a version that "+x.Who.Name+" changed on "+x.At.String(), "the version that stands now, "+x.Version)
		f.Conflict = &conflictOut{Version: x.Version, Who: x.Who, At: x.At}
		for _, d := range x.Fields {
			f.Conflict.Fields = append(f.Conflict.Fields, differenceOut(d))
		}
	} else if x, ok := errors.AsType[*fleet.NotAllowed](err); ok {
		set(http.StatusForbidden, 2, "token", x.Error(), "one whose scopes and roles allow it")
	} else if x, ok := errors.AsType[*fleet.NotFound](err); ok {
		set(http.StatusNotFound, 2, x.What, x.Name, "a "+x.What+" that there is")
	} else if x, ok := errors.AsType[*fleet.TooMany](err); ok {
		set(http.StatusTooManyRequests, 4, "", x.Error(), "fewer tries")
		e.head = http.Header{"Retry-After": {itoa(waitSeconds(x))}}
	} else if errors.Is(err, fleet.ErrNotSignedIn) {
		set(http.StatusUnauthorized, 2, "Authorization", "no token that is in force", "Bearer and a token, made on the page of one's account")
		e.head = http.Header{"Www-Authenticate": {"Bearer"}}
	} else if x, ok := errors.AsType[*store.Unavailable](err); ok {
		set(http.StatusServiceUnavailable, 4, x.Doing, x.Why, "a register that can be reached; nothing was entered")
		s.Log.Error("store failed", "error", err)
	} else if errors.Is(err, record.ErrClock) {
		set(http.StatusServiceUnavailable, 4, "clock", err.Error(), "a server whose clock is right; nothing was entered")
		s.Log.Error("clock", "error", err)
	} else if x, ok := errors.AsType[*assess.UnknownNameError](err); ok {
		set(http.StatusNotFound, 2, x.Kind, x.Name, "one of "+strings.Join(x.Known, ", "))
	} else if x, ok := errors.AsType[*rule.NotFoundError](err); ok {
		set(http.StatusNotFound, 2, "law", x.Name, "one of "+strings.Join(x.Known, ", "))
	} else if x, ok := errors.AsType[*formula.UnknownError](err); ok {
		set(http.StatusNotFound, 2, "name", x.Name, x.Expected())
	} else if x, ok := errors.AsType[*badInput](err); ok {
		set(http.StatusBadRequest, 2, x.Where, x.Found, x.Expected)
	} else if x, ok := errors.AsType[formula.Invalid](err); ok {
		set(http.StatusUnprocessableEntity, 2, "", "", "")
		var all []fleet.Problem
		for _, p := range x {
			all = append(all, fleet.Problem{Where: p.Where(), Found: p.Found, Expected: p.Expected})
		}
		f.tell(all)
		f.Missing = append(f.Missing, x.Missing()...)
	} else if x, ok := errors.AsType[*unit.NoAnswerError](err); ok {
		set(http.StatusUnprocessableEntity, 3, x.Formula, x.Why, "a case that has an answer")
	} else {
		set(http.StatusInternalServerError, 4, "", "a fault of the program; it is in the log", "")
		s.Log.Error("request failed", "error", err)
	}
	return e
}

// failJSON answers a program that its request failed.
func (s *site) failJSON(w http.ResponseWriter, r *http.Request, err error) {
	e := s.failed(r.Context(), err)
	if e.Failed.Where == "" {
		e.Failed.Where = r.URL.Path
	}
	for name, values := range e.head {
		w.Header()[name] = values
	}
	writeJSON(w, e.status, e)
}
