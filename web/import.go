package web

import (
	"cmp"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"underpin/exchange"
	"underpin/fleet"
	"underpin/record"
)

// mostUpload is the most that a page takes of files at once: they travel to the
// browser and back, so that what is entered is what was looked at, whichever copy of
// the program is asked. Larger ones come in on the command line.
const mostUpload = 8 << 20

// A delivered is what came of files that somebody brings.
type delivered struct {
	Read   exchange.Problems // of what could not be read; it is not in the report
	Report *fleet.DeliveryReport
	tables *fleet.Tables
	at     exchange.Places
}

// A feedAsk says how files are read that hold readings of meters only.
type feedAsk struct{ Unit, Meter string }

// bringIn reads files and says what they would change, or changes it.
func (s *site) bringIn(ctx context.Context, files map[string][]byte, feed *feedAsk, how fleet.How, reason string) (*delivered, error) {
	d := &delivered{at: func(string) exchange.Problem { return exchange.Problem{} }}
	if err := d.read(files, feed); err != nil {
		return nil, err
	}
	delivery := d.tables.Delivery(strings.Join(slices.Sorted(maps.Keys(files)), ", "))
	delivery.Reason = reason
	if how == fleet.AllGood && len(d.Read) > 0 { // some of it is not even in the delivery
		how = fleet.DryRun
	}
	var err error
	d.Report, err = s.Register.Import(ctx, delivery, how)
	return d, err
}

// read reads files into tables: readings of meters, one file of any form, or CSV
// files that belong together.
func (d *delivered) read(files map[string][]byte, feed *feedAsk) error {
	d.tables = &fleet.Tables{}
	if feed != nil {
		var from []string // the file of each reading
		for _, name := range slices.Sorted(maps.Keys(files)) {
			f := exchange.ParseFeed(name, files[name], exchange.FeedOptions{Unit: feed.Unit, Meter: feed.Meter, Zone: time.Local, Now: time.Now()})
			d.tables.Readings = append(d.tables.Readings, f.Readings...)
			d.Read = append(d.Read, f.Problems...)
			from = append(from, slices.Repeat([]string{name}, len(f.Readings))...)
		}
		d.at = func(path string) exchange.Problem {
			var i int
			if _, err := fmt.Sscanf(path, "reading[%d]", &i); err != nil || i < 0 || i >= len(from) {
				return exchange.Problem{}
			}
			return exchange.Problem{File: from[i], Sheet: d.tables.Readings[i].Sheet, Row: d.tables.Readings[i].Row}
		}
		return nil
	}
	dir, err := os.MkdirTemp("", "underpin-import-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	path := dir
	for name, data := range files {
		at := filepath.Join(dir, safeName(filepath.Base(name)))
		if len(files) == 1 && !strings.EqualFold(filepath.Ext(name), ".csv") {
			path = at
		}
		if err := os.WriteFile(at, data, 0o600); err != nil {
			return err
		}
	}
	tables, places, problems := exchange.OpenTables[fleet.Tables](path)
	d.tables = tables
	for _, p := range problems {
		named(p, dir)
	}
	d.Read = problems
	if places != nil {
		d.at = func(path string) exchange.Problem {
			p := places(path)
			named(&p, dir)
			return p
		}
	}
	return nil
}

// named calls a file as whoever brought it does.
func named(p *exchange.Problem, dir string) {
	if p.File = strings.TrimPrefix(strings.TrimPrefix(p.File, dir), string(filepath.Separator)); p.File == "" {
		p.File = "the files"
	}
}

// problem is where in the files a row's problem stands.
func (d *delivered) problem(p fleet.RowProblem) *exchange.Problem {
	at := d.at(d.tables.Path(p))
	at.Found, at.Expected = p.Found, p.Expected
	if at.Column == "" {
		at.Column = p.Where
	}
	if at.File == "" {
		at.File = p.Place.String()
	}
	return &at
}

// wrong lists everything that is wrong, where it stands in the files.
func (d *delivered) wrong() exchange.Problems {
	all := slices.Clone(d.Read)
	if d.Report != nil {
		for _, p := range d.Report.Wrong() {
			all = append(all, d.problem(p))
		}
	}
	return all
}

// importView is what templates/import.html shows.
type importView struct {
	Hidden  []hiddenView
	Reason  string
	Unit    string
	Meter   string
	Feed    bool
	Wrong   string // of the form itself
	Looked  bool   // a delivery was looked at
	Entered bool
	Files   string
	Counts  []importCount
	Problem []importProblem
	Rows    []importRow
	More    int // rows that are not shown
	Doubts  []doubtView
	Told    string // of readings
	Good    bool   // everything is right
	Some    bool   // something would change
}

type importCount struct {
	N    int
	Word string
}

type importProblem struct{ Where, Column, Found, Expected string }

type importRow struct {
	Place, Kind, Title, Href string
	Shape, State, Word       string
	Changes                  []importChange
	Warnings                 []string
}

type importChange struct{ Field, Was, Now string }

// rowsShown is how many rows of a delivery a page shows.
const rowsShown = 500

func (s *site) importPage(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodPost {
		s.render(w, r, http.StatusOK, "import", "Bring in a file", &importView{})
		return
	}
	r.Body = http.MaxBytesReader(w, r.Body, 2*mostUpload)
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(5 * time.Minute))
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(5 * time.Minute))
	v := &importView{}
	if err := r.ParseMultipartForm(2 * mostUpload); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		if _, large := errors.AsType[*http.MaxBytesError](err); !large {
			s.fail(w, r, &badInput{"form", err.Error(), "a whole form"})
			return
		}
		v.Wrong = "Found more than " + itoa(mostUpload>>20) + " MB; expected less on this page. Larger files come in with underpin import, on the machine this runs on."
		s.render(w, r, http.StatusRequestEntityTooLarge, "import", "Bring in a file", v)
		return
	}
	v.Reason, v.Unit, v.Meter, v.Feed = trimmed(r, reasonName), r.PostFormValue("unit"), r.PostFormValue("meter"), r.PostFormValue("what") == "readings"
	files, err := filesOf(r)
	if err != nil || len(files) == 0 {
		v.Wrong = "Found no file; expected a workbook (.xlsx), a fleet file (.toml), JSON or CSV files, at most " + itoa(mostUpload>>20) + " MB."
		s.render(w, r, http.StatusUnprocessableEntity, "import", "Bring in a file", v)
		return
	}
	how := map[string]fleet.How{"all": fleet.AllGood, "good": fleet.OnlyGood}[r.PostFormValue("do")]
	var feed *feedAsk
	if v.Feed {
		feed = &feedAsk{v.Unit, v.Meter}
	}
	d, err := s.bringIn(r.Context(), files, feed, how, v.Reason)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if err := s.lookAt(r.Context(), v, d, files); err != nil {
		s.fail(w, r, err)
		return
	}
	head := "What would change"
	if v.Entered {
		head = "What was brought in"
	}
	s.render(w, r, http.StatusOK, "import", head, v)
}

// filesOf are the files that came with a form, or those that an earlier one brought.
func filesOf(r *http.Request) (map[string][]byte, error) {
	files := map[string][]byte{}
	if held := r.PostFormValue("held"); held != "" {
		raw, err := base64.StdEncoding.DecodeString(held)
		if err != nil {
			return nil, err
		}
		return files, json.Unmarshal(raw, &files)
	}
	if r.MultipartForm == nil {
		return files, nil
	}
	for _, head := range r.MultipartForm.File["file"] {
		data, err := wholeFile(head)
		if err != nil {
			return nil, err
		}
		if head.Filename != "" && len(data) > 0 {
			files[filepath.Base(head.Filename)] = data
		}
	}
	return files, nil
}

func wholeFile(head *multipart.FileHeader) ([]byte, error) {
	f, err := head.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(f)
}

var importWords = map[string][3]string{
	fleet.RowAdds: {"●", "holds", "is new"}, fleet.RowChanges: {"▲", "caution", "changes"}, fleet.RowSame: {"○", "unknown", "stays"}, fleet.RowWrong: {"✕", "fails", "cannot be entered"},
}

// lookAt puts in words what files would change, or did.
func (s *site) lookAt(ctx context.Context, v *importView, d *delivered, files map[string][]byte) error {
	v.Looked, v.Entered = true, d.Report.Entered
	v.Files = strings.Join(slices.Sorted(maps.Keys(files)), ", ")
	held, err := json.Marshal(files)
	if err != nil {
		return err
	}
	v.Hidden = []hiddenView{{"held", base64.StdEncoding.EncodeToString(held)}, {"unit", v.Unit}, {"meter", v.Meter}}
	if v.Feed {
		v.Hidden = append(v.Hidden, hiddenView{"what", "readings"})
	}
	for _, p := range d.wrong() {
		v.Problem = append(v.Problem, importProblem{placeWords(p), cmp.Or(spaced(p.Column), p.Ask), p.Found, p.Expected})
	}
	v.Good = len(v.Problem) == 0
	words := map[string]string{fleet.RowAdds: "new", fleet.RowChanges: "changed", fleet.RowSame: "as they are", fleet.RowWrong: "wrong"}
	for _, what := range []string{fleet.RowAdds, fleet.RowChanges, fleet.RowSame, fleet.RowWrong} {
		if n := d.Report.Counts[what]; n > 0 {
			v.Counts = append(v.Counts, importCount{n, words[what]})
		}
	}
	v.Some = d.Report.Counts[fleet.RowAdds]+d.Report.Counts[fleet.RowChanges] > 0
	if err := s.importRows(ctx, v, d); err != nil {
		return err
	}
	if q := d.Report.Readings; q != nil {
		n := len(q.Wrong)
		v.Some = v.Some || !v.Entered
		if v.Entered {
			v.Told = fmt.Sprintf("%d readings are new, %d were there already, %d were wrong, %d seem wrong and wait for somebody to judge them.", q.Entered, q.Repeated, n, len(q.Questions))
		} else {
			v.Told = fmt.Sprintf("Readings: %d wrong, %d that seem wrong. What seems wrong is entered as it came, and waits for somebody to judge it.", n, len(q.Questions))
		}
		for _, x := range q.Questions[:min(len(q.Questions), rowsShown)] {
			dv := doubtView{Meter: x.Number + ", " + metersNames[x.Meter], At: when(x.At), Reading: metresText(&x.Metres), Why: x.Why}
			if x.Proposed != nil {
				dv.Proposed = metresText(x.Proposed)
			}
			v.Doubts = append(v.Doubts, dv)
		}
	}
	return nil
}

// placeWords says where in a file a problem stands.
func placeWords(p *exchange.Problem) string {
	where := p.File
	if p.Sheet != "" {
		where = "sheet " + p.Sheet
	}
	if p.Row > 0 {
		where += ", row " + itoa(p.Row)
	}
	if letter := p.Letter(); letter != "" {
		where += ", column " + letter
	}
	return where
}

// importRows lists the rows of which there is something to say.
func (s *site) importRows(ctx context.Context, v *importView, d *delivered) error {
	var depots []record.Asset
	for i := range d.Report.Rows {
		for _, c := range d.Report.Rows[i].Changes {
			for _, raw := range []json.RawMessage{c.Was, c.Yours} {
				var a record.Asset
				if json.Unmarshal(raw, &a) == nil && a.Valid() {
					depots = append(depots, a)
				}
			}
		}
	}
	names, err := s.titles(ctx, depots...)
	if err != nil {
		return err
	}
	for i := range d.Report.Rows {
		o := &d.Report.Rows[i]
		if o.What == fleet.RowSame && len(o.Warnings) == 0 {
			continue
		}
		if len(v.Rows) == rowsShown {
			v.More++
			continue
		}
		word := importWords[o.What]
		row := importRow{Kind: spaced(o.Kind), Title: o.Title, Shape: word[0], State: word[1], Word: word[2]}
		at := d.at(d.tables.Path(fleet.RowProblem{Place: o.Place}))
		at.Col = 0
		row.Place = placeWords(&at)
		if at.File == "" {
			row.Place = o.Place.String()
		}
		if v.Entered && o.What != fleet.RowWrong {
			row.Href = hrefOf(o.Asset)
		}
		if o.What == fleet.RowChanges {
			row.Changes = importChanges(o, names)
		}
		for _, w := range o.Warnings {
			row.Warnings = append(row.Warnings, wrong{w.Where, w.Found, w.Expected}.String())
		}
		v.Rows = append(v.Rows, row)
	}
	return nil
}

func importChanges(o *fleet.RowOutcome, names map[record.Asset]string) []importChange {
	var fields []field
	switch o.Kind {
	case record.VehicleAsset:
		for _, kind := range []string{record.Tractor, record.SemiTrailer, record.Dolly} {
			fields = append(fields, vehicleFields(kind)...)
		}
	case record.PartAsset:
		fields = partSpec(nil, nil).fields
	case record.TypeAsset:
		fields = typeSpec().fields
	case record.DepotAsset:
		fields = depotSpec().fields
	}
	said := func(f *field, raw json.RawMessage) string {
		var a record.Asset
		if json.Unmarshal(raw, &a) == nil && a.Valid() {
			return nameOf(names, a)
		}
		if f != nil {
			return strings.Join(sayValue(f, raw), "; ")
		}
		var text string
		if json.Unmarshal(raw, &text) != nil {
			text = string(raw)
		}
		return text
	}
	var all []importChange
	for _, c := range o.Changes {
		f, _ := findField(fields, c.Field)
		label := capital(spaced(c.Field))
		if f != nil {
			label = f.Label
		}
		all = append(all, importChange{label, said(f, c.Was), said(f, c.Yours)})
	}
	return all
}
