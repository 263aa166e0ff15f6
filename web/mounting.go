package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"underpin/assess"
	"underpin/examples"
	"underpin/exchange"
	"underpin/mounting"
	"underpin/rule"
	"underpin/unit"
)

// partsName is the file with chassis, catalogue and briefs. It lies beside the
// fleet file.
const partsName = "parts.toml"

// demoParts is the invented catalogue that goes with the demo fleet.
var demoParts = sync.OnceValues(func() (*mounting.File, error) {
	data, err := examples.Files.ReadFile(partsName)
	if err != nil {
		return nil, err
	}
	return exchange.ParseParts(partsName, data)
})

// partsFile is the catalogue in force: the register's, or the parts file beside
// the fleet file, read anew since it may have changed; nil where there is none.
func (s *site) partsFile(ctx context.Context) (*mounting.File, error) {
	switch {
	case s.Demo && s.Register == nil:
		return demoParts()
	case s.Register != nil:
		c, err := s.Register.Catalogue(ctx)
		if c == nil || err != nil {
			return nil, err
		}
		return c.File, nil
	}
	path := filepath.Join(filepath.Dir(s.Path), partsName)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	return exchange.ReadParts(path)
}

// mountingAsk is the question of the mounting pages as it stands in the address.
type mountingAsk struct {
	Brief, Tractor, Aim, Law string
	Own                      bool // the semi-trailers are those of the address, not the brief's
	Trailers, Wished         []string
	Height, Within           string // mm

	// What is specified: a chosen mounting of the file, or a stack.
	Fitting       string
	Base          string
	Parts         []string
	At, Tolerance string // mm

	// The title block.
	Number, Revision, Date, Author, Checked, By, On string
}

func readMountingAsk(q url.Values) mountingAsk {
	get := func(name string) string { return strings.TrimSpace(q.Get(name)) }
	return mountingAsk{
		Brief: get("brief"), Tractor: get("tractor"), Aim: get("aim"), Law: get("law"), Own: q.Has("own"), Trailers: q["trailer"], Wished: q["wished"],
		Height: get("height"), Within: get("within"), Fitting: get("fitting"), Base: get("base"), Parts: q["part"], At: get("at"), Tolerance: get("tolerance"),
		Number: get("number"), Revision: get("revision"), Date: get("date"), Author: get("author"), Checked: get("checked"), By: get("by"), On: get("on"),
	}
}

// query writes the question back into an address.
func (a mountingAsk) query() string {
	v := url.Values{}
	for name, text := range map[string]string{"brief": a.Brief, "tractor": a.Tractor, "aim": a.Aim, "law": a.Law, "height": a.Height, "within": a.Within,
		"fitting": a.Fitting, "base": a.Base, "at": a.At, "tolerance": a.Tolerance,
		"number": a.Number, "revision": a.Revision, "date": a.Date, "author": a.Author, "checked": a.Checked, "by": a.By, "on": a.On} {
		if text != "" {
			v.Set(name, text)
		}
	}
	if a.Own {
		v.Set("own", "1")
		v["trailer"], v["wished"] = a.Trailers, a.Wished
	}
	v["part"] = a.Parts
	return v.Encode()
}

// hidden are the fields of the question that a form carries along.
func (a mountingAsk) hidden(but ...string) []option {
	v, _ := url.ParseQuery(a.query())
	var out []option
	for name, texts := range v {
		if slices.Contains(but, name) {
			continue
		}
		for _, t := range texts {
			out = append(out, option{Value: t, Text: name})
		}
	}
	slices.SortStableFunc(out, func(x, y option) int { return strings.Compare(x.Text, y.Text) })
	return out
}

// millimetres reads a length in whole or broken millimetres, or with a unit;
// empty is nil.
func millimetres(name, text string) (*unit.Length, error) {
	if text == "" {
		return nil, nil
	}
	if v, err := strconv.ParseFloat(text, 64); err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) {
		return new(unit.Length(v * 1e-3)), nil
	}
	v, err := unit.Parse(text, unit.LengthDim)
	if err != nil {
		return nil, &badInput{name, text, "a length, such as 1150 or 1150mm"}
	}
	return new(unit.Length(v)), nil
}

// mountingRequest turns the question into one that package mounting answers,
// still without a fitting.
func (s *site) mountingRequest(r *http.Request, parts *mounting.File) (mountingAsk, *mounting.Request, error) {
	a := readMountingAsk(r.URL.Query())
	file, err := s.fleet(r.Context())
	if err != nil {
		return a, nil, err
	}
	f := &file.Fleet
	if a.Brief == "" && len(parts.Briefs) > 0 {
		a.Brief = parts.Briefs[0].ID
	}
	given := parts.Brief(a.Brief)
	if given == nil {
		return a, nil, &assess.UnknownNameError{Kind: "brief", Name: a.Brief, Known: briefIDs(parts)}
	}
	b := *given
	if a.Tractor == "" {
		a.Tractor = b.Tractor
	}
	b.Tractor = a.Tractor
	if a.Aim == "" {
		a.Aim = b.Aim
	}
	if a.Aim == "" {
		a.Aim = mounting.AimMargin
	}
	if !slices.Contains(mountingAims, a.Aim) {
		return a, nil, &badInput{"aim", a.Aim, "one of " + strings.Join(mountingAims, ", ")}
	}
	b.Aim = a.Aim
	if a.Own {
		b.Trailers, b.Wished = a.Trailers, slices.DeleteFunc(slices.Clone(a.Wished), func(id string) bool { return slices.Contains(a.Trailers, id) })
	}
	height, err := millimetres("height", a.Height)
	if err != nil {
		return a, nil, err
	}
	within, err := millimetres("within", a.Within)
	if err != nil {
		return a, nil, err
	}
	if len(b.Heights) < 2 && height != nil {
		w := mounting.Wanted{Unladen: height, Tolerance: within}
		if len(b.Heights) == 1 {
			old := b.Heights[0]
			w.Name = old.Name
			if within == nil {
				w.Tolerance = old.Tolerance
			}
			if old.Unladen != nil && *old.Unladen == *height {
				w.Laden = old.Laden
			}
		}
		if w.Tolerance == nil {
			w.Tolerance = new(unit.Length)
		}
		b.Heights = []mounting.Wanted{w}
	}
	t, ok := f.Tractor(b.Tractor)
	if !ok {
		return a, nil, &assess.UnknownNameError{Kind: "tractor", Name: b.Tractor, Known: tractorIDs(f.Tractors)}
	}
	law := a.Law
	for _, name := range []string{b.Law, f.Law, "eu"} {
		if law == "" {
			law = name
		}
	}
	a.Law = law
	book, err := s.law(law)
	if err != nil {
		return a, nil, err
	}
	day := today()
	for name, text := range map[string]string{"date": a.Date, "on": a.On} {
		if _, err := time.Parse(time.DateOnly, text); text != "" && err != nil {
			return a, nil, &badInput{name, text, "a day such as 2026-11-25"}
		}
	}
	if a.Date != "" {
		day = a.Date
	}
	return a, &mounting.Request{File: parts,
		Task:  mounting.Task{Fleet: f, Tractor: t, Chassis: parts.ChassisOf(t.ID), Brief: &b, Parts: parts.Parts, Law: book, Day: day},
		Title: mounting.Title{Number: a.Number, Revision: a.Revision, Date: day, Subject: or(b.Name, b.ID), Fleet: f.Name, Author: a.Author, Checked: a.Checked}}, nil
}

var mountingAims = []string{mounting.AimMargin, mounting.AimMass, mounting.AimTrailers, mounting.AimHeadroom}

var aimWords = map[string]string{mounting.AimMargin: "largest least margin", mounting.AimMass: "least mass", mounting.AimTrailers: "most semi-trailers served", mounting.AimHeadroom: "most height left under bridges"}

func briefIDs(f *mounting.File) []string {
	var out []string
	for i := range f.Briefs {
		out = append(out, f.Briefs[i].ID)
	}
	return out
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// fit chooses what is specified: the mounting that was chosen in the file, or the
// stack of the address.
func (a *mountingAsk) fit(r *mounting.Request) error {
	if a.Fitting != "" {
		g := r.File.Fitting(a.Fitting)
		if g == nil {
			var known []string
			for i := range r.File.Fittings {
				known = append(known, r.File.Fittings[i].ID)
			}
			return &assess.UnknownNameError{Kind: "fitting", Name: a.Fitting, Known: known}
		}
		r.Fitting = g
		if c := r.File.ChassisNamed(g.Chassis); c != nil {
			r.Chassis = c
		}
		return nil
	}
	if a.Base == "" || len(a.Parts) == 0 {
		return &badInput{"base and part", strings.Join(append([]string{a.Base}, a.Parts...), " "), "a mounting chosen in the parts file (fitting), or base, part and at"}
	}
	at, err := millimetres("at", a.At)
	if err != nil {
		return err
	}
	tolerance, err := millimetres("tolerance", a.Tolerance)
	if err != nil {
		return err
	}
	r.Fitting = &mounting.Fitting{ID: "proposal", Brief: r.Brief.ID, Base: a.Base, Parts: a.Parts, At: at, Tolerance: tolerance}
	if r.Chassis != nil {
		r.Fitting.Chassis = r.Chassis.ID
	}
	return nil
}

// mountingPage answers a brief with ranked proposals.
func (s *site) mountingPage(w http.ResponseWriter, r *http.Request) {
	parts, err := s.partsFile(r.Context())
	if err != nil || parts == nil || len(parts.Briefs) == 0 {
		s.noParts(w, r, err)
		return
	}
	a, req, err := s.mountingRequest(r, parts)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v := newMountingView(a, req)
	found, err := req.Search(proposalsShown)
	var place *mounting.NoPlaceError
	switch {
	case errors.As(err, &place):
		v.Word, v.Lead, v.State, v.Shape = "Cannot tell.", upperFirst(place.Why)+".", stateOf(rule.CannotTell), shapeOf(rule.CannotTell)
	case err != nil:
		s.fail(w, r, err)
		return
	default:
		v.found(a, req, found)
	}
	s.render(w, r, http.StatusOK, "mounting", "Mounting for "+req.Tractor.Title(), v)
}

// proposalsShown is how many proposals a page shows; the count of all is told.
const proposalsShown = 6

// specified makes the specification that an address asks for; with others, what
// else was possible stands on it.
func (s *site) specified(r *http.Request, parts *mounting.File, others bool) (a mountingAsk, req *mounting.Request, sp *mounting.Specification, refused error, err error) {
	if a, req, err = s.mountingRequest(r, parts); err != nil {
		return a, nil, nil, nil, err
	}
	if err = a.fit(req); err != nil {
		return a, nil, nil, nil, err
	}
	if sp, err = mounting.Specify(req); err != nil {
		return a, nil, nil, nil, a.refused(err)
	}
	if others {
		if found, err := req.Search(proposalsShown); err == nil {
			sp.AddOthers(found, 5)
		}
	}
	// With a register an approval is a record of a person who is signed in; a
	// name in an address is none.
	if a.By != "" && s.Register == nil {
		refused = sp.Approve(a.By, or(a.On, req.Title.Date))
	}
	return a, req, sp, refused, nil
}

func fileName(parts ...string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case 'a' <= r && r <= 'z', 'A' <= r && r <= 'Z', '0' <= r && r <= '9', r == '-', r == '.':
			return r
		}
		return '-'
	}, strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), "-"))
}

// sendFile serves a file under a name of its own.
func sendFile(w http.ResponseWriter, mime, name string, data []byte) {
	w.Header().Set("Content-Type", mime)
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", name))
	w.Write(data)
}
