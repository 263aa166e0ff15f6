package web

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"underpin/fleet"
	"underpin/record"
)

// An action is one form and what sending it does. Its address is served by GET,
// which shows the form, and by POST.
type action struct {
	head, lead string
	save       string // words of the button
	back       string // where to go without doing it
	spec       spec
	typed      typed  // what stands in it at first
	version    string // of the details that are changed
	when       bool   // asks when it happened
	reason     string // what is asked about the reason; empty: nothing
	must       bool   // the reason must be given
	file       bool   // a file is sent along
	accept     string // which files; left out: photos and papers
	fileDoc    string
	link       bool // what it makes is a one-time link
	do         func(ctx context.Context, sent *sent) (*fleet.Done, error)
	after      func(d *fleet.Done) string // where to go then; left out: the page of the asset
}

// sent is what came with a form.
type sent struct {
	fleet.Meta
	version string
	typed   typed
	values  map[string]json.RawMessage
	form    url.Values
	file    io.Reader // nil: none
	name    string    // of the file
}

// Names of what a form carries besides its fields.
const (
	idName      = ".id"
	versionName = ".version"
	whenName    = ".when"
	reasonName  = ".reason"
	addName     = ".add"  // a button: one more item of a list
	dropName    = ".drop" // a button: this item away
	takeName    = ".take" // of a conflict: whose value of a field
)

// mostForm is the most that a form without a file may be, in bytes.
const mostForm = 2 << 20

// parse reads a form that was sent, within bounds.
func (s *site) parse(w http.ResponseWriter, r *http.Request) error {
	most := int64(mostForm)
	if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/") {
		most += fleet.MaxDocument
		// A photo over a slow line takes its time.
		_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(5 * time.Minute))
	}
	r.Body = http.MaxBytesReader(w, r.Body, most)
	err := r.ParseMultipartForm(1 << 20)
	if errors.Is(err, http.ErrNotMultipart) {
		err = nil
	}
	if err == nil {
		return nil
	}
	if tooLarge, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return &badInput{"form", itoa(int(tooLarge.Limit>>20)) + " MB and more", "at most " + itoa(int((tooLarge.Limit-mostForm)>>20)) + " MB in one file"}
	}
	return &badInput{"form", err.Error(), "a whole form"}
}

// newID makes the id under which a form is entered, so that sending it twice is
// the same as sending it once.
func newID() record.ID {
	var chance [10]byte
	if _, err := rand.Read(chance[:]); err != nil {
		return ""
	}
	return record.NewID(time.Now(), chance)
}

// act shows a form, or does what it is for.
func (s *site) act(w http.ResponseWriter, r *http.Request, a *action) {
	if r.Method != http.MethodPost {
		s.showForm(w, r, http.StatusOK, a, &sent{Meta: fleet.Meta{ID: newID()}, version: a.version, typed: a.typed}, nil)
		return
	}
	if err := s.parse(w, r); err != nil {
		s.fail(w, r, err)
		return
	}
	in := &sent{Meta: fleet.Meta{ID: record.ID(r.PostFormValue(idName)), Reason: trimmed(r, reasonName)},
		version: r.PostFormValue(versionName), typed: readForm(a.spec.fields, r.PostForm), form: r.PostForm}
	if path := r.PostFormValue(addName); path != "" {
		s.showForm(w, r, http.StatusOK, a, in, &change{add: path})
		return
	}
	if path := r.PostFormValue(dropName); path != "" {
		in.drop(path)
		s.showForm(w, r, http.StatusOK, a, in, &change{dropped: path})
		return
	}
	in.settle(a)
	var wrongs []wrong
	in.values, wrongs = writeFields(a.spec.fields, in.typed, "")
	for _, f := range a.spec.fields {
		if f.Must && in.values[f.Key] == nil && !hasWrong(wrongs, f.Key) {
			wrongs = append(wrongs, wrong{f.Key, "nothing", lower(f.Label) + ", which must be known"})
		}
	}
	if a.when {
		at, err := readWhen(r.PostFormValue(whenName))
		if err != nil {
			wrongs = append(wrongs, wrong{whenName, `"` + r.PostFormValue(whenName) + `"`, "a day and a time, such as 2026-11-25 14:05, or nothing for now"})
		}
		in.Happened = at
	}
	if a.must && in.Reason == "" {
		wrongs = append(wrongs, wrong{reasonName, "nothing", "the reason, for whoever reads it in years"})
	}
	if a.file {
		file, head, err := r.FormFile("file")
		switch {
		case err == nil:
			defer file.Close()
			in.file, in.name = file, head.Filename
		case !errors.Is(err, http.ErrMissingFile) && !errors.Is(err, http.ErrNotMultipart):
			s.fail(w, r, err)
			return
		default:
			wrongs = append(wrongs, wrong{"file", "nothing", a.files()})
		}
	}
	if len(wrongs) > 0 {
		s.showForm(w, r, http.StatusUnprocessableEntity, a, in, &change{wrong: wrongs})
		return
	}
	done, err := a.do(r.Context(), in)
	if e, ok := errors.AsType[*fleet.Invalid](err); ok {
		for _, p := range e.Problems {
			wrongs = append(wrongs, wrong{p.Where, p.Found, p.Expected})
		}
		s.showForm(w, r, http.StatusUnprocessableEntity, a, in, &change{wrong: wrongs})
		return
	}
	if e, ok := errors.AsType[*fleet.Conflict](err); ok {
		s.conflictPage(w, r, a, in, e)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.entered(w, r, a, done)
}

// files says which files a form takes.
func (a *action) files() string {
	if a.fileDoc != "" {
		return lower(strings.TrimSuffix(a.fileDoc, "."))
	}
	return "a photo (JPEG, PNG, WebP, HEIC) or a paper (PDF), at most " + itoa(fleet.MaxDocument>>20) + " MB"
}

func hasWrong(all []wrong, where string) bool {
	for _, w := range all {
		if w.Where == where || strings.HasPrefix(w.Where, where+".") || strings.HasPrefix(w.Where, where+"[") {
			return true
		}
	}
	return false
}

// drop takes an item of a list out of what was typed.
func (in *sent) drop(path string) {
	i := strings.LastIndexByte(path, '[')
	if i < 0 {
		return
	}
	row, err := atoi(strings.TrimSuffix(path[i+1:], "]"))
	if err == nil {
		in.typed.drop(path[:i], row)
	}
}

// change is what is other about a form that is shown again.
type change struct {
	add, dropped string
	wrong        []wrong
}

func (s *site) showForm(w http.ResponseWriter, r *http.Request, status int, a *action, in *sent, c *change) {
	if c == nil {
		c = &change{}
	}
	m := &formMaker{fields: a.spec.fields, typed: in.typed, wrong: map[string]string{}, more: map[string]int{}, seen: map[string]bool{}}
	for _, w := range c.wrong {
		if _, have := m.wrong[w.Where]; !have {
			m.wrong[w.Where] = w.String()
		}
	}
	v := formView{Head: a.head, Lead: a.lead, Action: r.URL.RequestURI(), Back: a.back, Save: a.save, File: a.file,
		Hidden: []hiddenView{{idName, string(in.ID)}, {versionName, in.version}}}
	if c.add != "" {
		m.more[c.add] = 1
		if f, _ := findField(a.spec.fields, c.add); f != nil {
			v.Note = "There is room for one more " + f.One + " now. Nothing is saved yet."
		}
	}
	if c.dropped != "" {
		v.Note = "It is taken out of the form. Nothing is saved yet."
	}
	for _, p := range a.spec.parts {
		part := partView{ID: "part-" + slugOf(p.Head), Head: p.Head, Doc: p.Doc}
		for _, key := range p.Keys {
			if f, _ := findField(a.spec.fields, key); f != nil {
				in := m.input(f, "")
				in.Bare = len(p.Keys) == 1 && p.Head != "" && (f.Sort == tableSort || f.Sort == listSort)
				part.Inputs = append(part.Inputs, in)
			}
		}
		v.Parts = append(v.Parts, part)
	}
	if a.when {
		v.When = &inputView{Path: whenName, ID: "f-when", Label: "When it happened", Doc: "Left out: now.", Help: "Day and time on this server’s clock, " + zone() + ".", Value: whenValue(r.PostFormValue(whenName)), Wrong: m.takeWrong(whenName)}
	}
	if a.reason != "" {
		v.Reason = &inputView{Path: reasonName, ID: "f-reason", Label: a.reason, Doc: "Stands in the records.", Value: in.Reason, Must: a.must, Wrong: m.takeWrong(reasonName)}
	}
	if a.file {
		v.Upload = &inputView{Path: "file", ID: "f-file", Label: "File", Doc: capital(a.files()) + ".", Help: or(a.accept, "image/jpeg,image/png,image/webp,image/heic,application/pdf"), Must: true, Wrong: m.takeWrong("file")}
	}
	m.fields = append(m.fields[:len(m.fields):len(m.fields)], field{Key: whenName, Label: "When it happened"}, field{Key: reasonName, Label: "Reason"})
	v.Wrong = m.wrongs(c.wrong)
	s.render(w, r, status, "form", a.head, v)
}

// enteredView is what templates/entered.html shows: an entry that a person should
// look at again.
type enteredView struct {
	Href     string
	Warnings []wrong
	Link     string // a one-time link, told once
	Secret   string // a token, told once
}

// entered goes on to where the entry shows; with something to look at it says so
// first.
func (s *site) entered(w http.ResponseWriter, r *http.Request, a *action, d *fleet.Done) {
	to := ""
	if a.after != nil {
		to = a.after(d)
	}
	if to == "" {
		to = hrefOf(d.Asset)
	}
	if to == "" {
		to = a.back
	}
	if len(d.Warnings) == 0 && d.Secret == "" {
		q := "?done=entered"
		switch {
		case d.Repeated:
			q = "?done=repeated"
		case d.Record == "":
			q = "?done=same"
		}
		if strings.Contains(to, "?") {
			q = "&" + q[1:]
		}
		http.Redirect(w, r, to+q, http.StatusSeeOther)
		return
	}
	v := enteredView{Href: to}
	for _, p := range d.Warnings {
		w := wrong{p.Where, p.Found, p.Expected}
		if _, words := findField(a.spec.fields, p.Where); words != "" {
			w.Where = words
		}
		v.Warnings = append(v.Warnings, w)
	}
	switch {
	case d.Secret == "":
	case a.link:
		v.Link = welcomeLink(s.origin(r), d.Secret)
	default:
		v.Secret = d.Secret
	}
	s.render(w, r, http.StatusOK, "entered", "Entered", v)
}

// welcomeLink is the address with which a one-time link is used.
func welcomeLink(origin, secret string) string {
	return origin + "/welcome?" + url.Values{"link": {secret}}.Encode()
}

// origin is the address that people use, for links that are passed on.
func (s *site) origin(r *http.Request) string {
	if s.URL != "" {
		return strings.TrimSuffix(s.URL, "/")
	}
	if r.TLS != nil {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// doneWords say what came of a form, on the page that follows it.
var doneWords = map[string]string{
	"entered": "Entered.", "same": "Nothing was different, so nothing was entered.", "repeated": "This was entered already; it stands once.",
	"ended": "The session was ended.", "revoked": "The token is taken back.", "password": "The password is changed. Your other sessions are ended.", "sealed": "Sealed.",
}

// Instants are read and shown by the server's clock.
const whenLayout = "2006-01-02T15:04"

func readWhen(text string) (record.Time, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0, nil
	}
	var err error
	for _, layout := range []string{whenLayout, "2006-01-02T15:04:05", "2006-01-02 15:04", "2006-01-02"} {
		var t time.Time
		if t, err = time.ParseInLocation(layout, text, time.Local); err == nil {
			return record.At(t), nil
		}
	}
	return 0, err
}

func whenValue(text string) string {
	t, err := readWhen(text)
	if err != nil || t == 0 {
		return text
	}
	return t.Time().Local().Format(whenLayout)
}

// zone names the zone of the server's clock.
func zone() string {
	name, offset := time.Now().Zone()
	if name == "UTC" || offset == 0 && name == "" {
		return "UTC"
	}
	return name
}
