package web

import (
	"encoding/json"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"underpin/fleet"
)

// conflictView is what templates/conflict.html shows: two people changed the same
// thing, and nothing of either is lost.
type conflictView struct {
	Head, Action, Back string
	Who, At            string
	Hidden             []hiddenView
	Rows               []conflictRow
	Clashes            int
	Again              bool // a choice was left out
}

type conflictRow struct {
	Key, Label          string
	Was, Theirs, Yours  []string
	Clash, OnlyTheirs   bool
	TakeTheirs, TakeOwn bool
}

// Names of what the page of a conflict carries.
const (
	clashName = ".clash" // fields that both changed: one must be chosen
	seenName  = ".seen"  // the version that the typing began with
)

func (s *site) conflictPage(w http.ResponseWriter, r *http.Request, a *action, in *sent, e *fleet.Conflict) {
	v := conflictView{Head: a.head, Action: r.URL.RequestURI(), Back: a.back, Who: e.Who.Name, At: when(e.At), Again: in.form.Has(clashName)}
	seen := in.version
	if had := in.form.Get(seenName); had != "" {
		seen = had
	}
	for _, name := range slices.Sorted(maps.Keys(in.form)) {
		if name == versionName || name == seenName || name == clashName || strings.HasPrefix(name, takeName+".") {
			continue
		}
		for _, value := range in.form[name] {
			v.Hidden = append(v.Hidden, hiddenView{name, value})
		}
	}
	v.Hidden = append(v.Hidden, hiddenView{versionName, e.Version}, hiddenView{seenName, seen})
	for _, d := range e.Fields {
		f, words := findField(a.spec.fields, d.Field)
		if f == nil {
			f, words = &field{Key: d.Field}, spaced(d.Field)
		}
		row := conflictRow{Key: d.Field, Label: words, Was: sayValue(f, d.Was), Theirs: sayValue(f, d.Theirs), Yours: sayValue(f, d.Yours), Clash: d.Clash}
		take := in.form.Get(takeName + "." + d.Field)
		switch {
		case d.Clash:
			v.Clashes++
			v.Hidden = append(v.Hidden, hiddenView{clashName, d.Field})
			row.TakeTheirs, row.TakeOwn = take == "theirs", take == "yours"
		case slices.Equal(row.Yours, row.Was):
			row.OnlyTheirs, row.TakeTheirs = true, true
		default:
			row.TakeOwn = true
		}
		v.Rows = append(v.Rows, row)
	}
	s.render(w, r, http.StatusConflict, "conflict", "Changed meanwhile", v)
}

// settle carries out what was chosen on the page of a conflict: where it was the
// other's value, that is what now stands. Where a choice is missing the form goes
// back to the version it began with, so that the page comes again.
func (in *sent) settle(a *action) {
	for _, key := range in.form[clashName] {
		if in.form.Get(takeName+"."+key) == "" {
			in.version = in.form.Get(seenName)
		}
	}
	for name := range in.form {
		key, is := strings.CutPrefix(name, takeName+".")
		if is && in.form.Get(name) == "theirs" {
			in.typed.replace(key, a.typed)
		}
	}
}

// replace makes one field, with all that is in it, what it is elsewhere.
func (t typed) replace(key string, by typed) {
	of := func(path string) bool {
		rest, is := strings.CutPrefix(path, key)
		return is && (rest == "" || rest[0] == '.' || rest[0] == '[')
	}
	maps.DeleteFunc(t, func(path, _ string) bool { return of(path) })
	for path, value := range by {
		if of(path) {
			t[path] = value
		}
	}
}

// formOf writes what was typed as a form would send it.
func (t typed) formOf() url.Values {
	v := url.Values{}
	for path, text := range t {
		v.Set(path, text)
	}
	return v
}

// sayValue puts a value of a field in words, one line each where it holds several.
func sayValue(f *field, raw json.RawMessage) []string {
	if len(raw) == 0 || string(raw) == "null" {
		return nil
	}
	t := typed{}
	showField(f, raw, f.Key, t)
	if text, single := t[f.Key]; single {
		return strings.Split(f.said(text), "\n")
	}
	var lines []string
	for _, path := range slices.SortedFunc(maps.Keys(t), comparePaths) {
		leaf, words := findField([]field{*f}, path)
		text := t[path]
		if leaf == nil {
			continue
		}
		if _, inner, nested := strings.Cut(words, ", "); nested && f.Sort == tableSort {
			words = inner
		}
		lines = append(lines, words+": "+leaf.said(text))
	}
	return lines
}

// said is a value in the words of its choices.
func (f *field) said(text string) string {
	for _, o := range f.Choices {
		if o.Value == text {
			return o.Text
		}
	}
	return text
}

// comparePaths orders paths so that axle[10] comes behind axle[9].
func comparePaths(a, b string) int {
	return compare(naturalPath(a), naturalPath(b))
}

func naturalPath(p string) string {
	var b strings.Builder
	for {
		before, rest, ok := strings.Cut(p, "[")
		b.WriteString(before)
		if !ok {
			return b.String()
		}
		number, after, _ := strings.Cut(rest, "]")
		b.WriteString("[" + strings.Repeat("0", max(0, 3-len(number))) + number + "]")
		p = after
	}
}
