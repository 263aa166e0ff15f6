package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"underpin/exchange"
	"underpin/fleet"
	"underpin/store"
)

// intoRegister says how a file comes into a register. It is part of the command
// import.
type intoRegister struct {
	Readings bool   `help:"IN is a delivery of readings: CSV, workbook or JSON (rFMS too). A single .csv always is." group:"into"`
	Unit     string `help:"Unit of bare distances in a delivery: km, mi or m." placeholder:"UNIT" group:"into"`
	Zone     string `help:"Time zone of times without one in a delivery, such as Europe/Berlin." placeholder:"ZONE" group:"into"`
	Meter    string `help:"Meter of distances of which nothing says which it is: odometer, hub or brake." placeholder:"METER" group:"into"`
	OnlyGood bool   `help:"Enter the rows that are right although others are wrong; else nothing is entered. Exit code 2 tells that some were left out." group:"into"`
	Reason   string `help:"Why, for the records." placeholder:"TEXT" group:"into"`
}

// A change is one line of what a delivery changes.
type change struct {
	What   string        `json:"what"` // add, change, same, wrong
	Kind   string        `json:"kind"`
	Title  string        `json:"title"`
	Fields []fieldChange `json:"fields"`
}

type fieldChange struct {
	Field string          `json:"field"`
	Was   json.RawMessage `json:"was"`
	Now   json.RawMessage `json:"now"`
}

// brought tells what an import into a register did, or would do.
type brought struct {
	File      string              `json:"file"`
	Entered   bool                `json:"entered"`
	Counts    map[string]int      `json:"counts"`
	Changes   []change            `json:"changes"`
	Readings  *broughtReadings    `json:"readings"`
	Problems  []*exchange.Problem `json:"problems"`
	dry, good bool
}

type broughtReadings struct {
	Entered   int      `json:"entered"`
	Repeated  int      `json:"repeated"`
	Questions []string `json:"questions"`
	Ignored   []string `json:"ignored_columns"`
	More      bool     `json:"more"`
}

// enterInto brings a file into a register.
func (c *importCmd) enterInto(p *program) error {
	ctx, stop := interruptible()
	defer stop()
	ctx = operator(ctx)
	whole := strings.EqualFold(filepath.Ext(c.In), ".zip")
	var d fleet.Delivery
	var at func(fleet.RowProblem) *exchange.Problem
	out := brought{File: c.In, Counts: map[string]int{}, Changes: []change{}, dry: c.DryRun, good: c.OnlyGood}
	if !whole {
		var err error
		if d, at, err = c.read(&out); err != nil {
			return err
		}
		d.Reason = c.Reason
	}
	to := c.where
	if there, err := store.Holds(c.Data); c.DryRun && c.Data != "" && err == nil && !there {
		dir, err := os.MkdirTemp("", "underpin-") // a dry run makes no register
		if err != nil {
			return err
		}
		defer os.RemoveAll(dir)
		to.Data = dir
	}
	r, st, err := to.open(ctx, nil) // made where it is not there
	if err != nil {
		return err
	}
	if whole {
		err = c.all(ctx, p, r)
	} else {
		err = c.enter(ctx, r, d, at, &out)
	}
	if closing := st.Close(); err == nil && closing != nil {
		err = fmt.Errorf("the register could not be closed: %w", closing)
	}
	if err != nil || whole {
		return err
	}
	return out.tell(p, c.JSON)
}

// read reads the file, and says where a row of it stands.
func (c *importCmd) read(out *brought) (fleet.Delivery, func(fleet.RowProblem) *exchange.Problem, error) {
	if info, err := os.Stat(c.In); c.Readings || err == nil && !info.IsDir() && strings.EqualFold(filepath.Ext(c.In), ".csv") {
		o := exchange.FeedOptions{Unit: c.Unit, Meter: c.Meter, Now: time.Now()}
		if c.Zone != "" {
			var err error
			if o.Zone, err = time.LoadLocation(c.Zone); err != nil {
				return fleet.Delivery{}, nil, &argError{"--zone", fmt.Sprintf("%q", c.Zone), "a name of the time zone database, such as Europe/Berlin"}
			}
		}
		feed := exchange.ReadFeed(c.In, o)
		out.Problems = feed.Problems
		out.Readings = &broughtReadings{Ignored: append([]string{}, feed.Ignored...), More: feed.More, Questions: []string{}}
		return fleet.ReadingDelivery(feed.Readings, filepath.Base(c.In)), func(w fleet.RowProblem) *exchange.Problem {
			x := &feed.Readings[w.Place.Row-1]
			return &exchange.Problem{File: c.In, Sheet: x.Sheet, Row: x.Row, Column: w.Where}
		}, nil
	}
	tables, places, problems := exchange.OpenTables[fleet.Tables](c.In)
	out.Problems = problems
	return tables.Delivery(filepath.Base(c.In)), func(w fleet.RowProblem) *exchange.Problem {
		if places == nil {
			return &exchange.Problem{File: c.In}
		}
		at := places(tables.Path(w))
		if at.File == "" {
			at.File = c.In
		}
		return &at
	}, nil
}

// enter enters a delivery, or tells what would come of it.
func (c *importCmd) enter(ctx context.Context, r *fleet.Register, d fleet.Delivery, at func(fleet.RowProblem) *exchange.Problem, out *brought) error {
	how := fleet.AllGood
	switch {
	case c.DryRun || len(out.Problems) > 0 && !c.OnlyGood:
		how = fleet.DryRun
	case c.OnlyGood:
		how = fleet.OnlyGood
	}
	report, err := r.Import(ctx, d, how)
	if err != nil {
		return err
	}
	out.Entered, out.Counts = report.Entered, report.Counts
	for _, row := range report.Rows {
		if row.What == fleet.RowSame {
			continue
		}
		ch := change{What: row.What, Kind: row.Kind, Title: row.Title, Fields: []fieldChange{}}
		for _, f := range row.Changes {
			ch.Fields = append(ch.Fields, fieldChange{f.Field, f.Was, f.Yours})
		}
		out.Changes = append(out.Changes, ch)
	}
	for _, w := range report.Wrong() {
		p := at(w)
		p.Found, p.Expected = w.Found, w.Expected
		out.Problems = append(out.Problems, p)
	}
	if report.Readings != nil {
		if out.Readings == nil {
			out.Readings = &broughtReadings{Questions: []string{}, Ignored: []string{}}
		}
		out.Readings.Entered, out.Readings.Repeated = report.Readings.Entered, report.Readings.Repeated
		for _, q := range report.Readings.Questions {
			out.Readings.Questions = append(out.Readings.Questions, fmt.Sprintf("%s, %s at %s, %d km: %s", q.Number, q.Meter, q.At.Time().Format("2006-01-02 15:04 UTC"), q.Metres/1000, q.Why))
		}
	}
	return nil
}

// all brings a whole export into an empty register.
func (c *importCmd) all(ctx context.Context, p *program, r *fleet.Register) error {
	from, err := os.Open(c.In)
	if errors.Is(err, fs.ErrNotExist) {
		return &argError{"IN", c.In + ", which is not there", "an export"}
	}
	if err != nil {
		return err
	}
	defer from.Close()
	info, err := from.Stat()
	if err != nil {
		return err
	}
	if c.DryRun {
		m, err := fleet.CheckExport(from, info.Size())
		if err != nil {
			return err
		}
		if c.JSON {
			return p.printJSON(m)
		}
		paragraph(p.out, "", "", fmt.Sprintf("%s is whole, made %s: %s, %s, %s, %s.", c.In, m.Made, counted(m.Records, "record", "records"),
			counted(m.Seals, "seal", "seals"), counted(m.Readings, "reading", "readings"), counted(m.Blobs, "document", "documents")))
		return nil
	}
	report, err := r.ImportAll(ctx, from, info.Size())
	if err != nil {
		return err
	}
	return p.filed(c.In, c.In+" is in the register. Its people set their passwords anew: underpin user link LOGIN.", report, c.JSON)
}

// tell tells what was done and what is wrong, and sets the exit code.
func (out *brought) tell(p *program, asJSON bool) error {
	bad := exchange.Problems(out.Problems)
	if asJSON {
		if len(bad) == 0 {
			out.Problems = []*exchange.Problem{}
			return p.printJSON(out)
		}
		p.code = exitBadInput
		return p.printJSON(struct {
			Error failure `json:"error"`
			*brought
		}{problemFailure(bad), out})
	}
	out.print(p.out)
	if len(bad) == 0 {
		return nil
	}
	return bad
}

// rowSigns are the shapes of what a row comes to; a word always stands beside them.
var rowSigns = map[string]string{fleet.RowAdds: "+", fleet.RowChanges: "~", fleet.RowWrong: "✕"}

func (out *brought) print(w io.Writer) {
	w = spaced{w}
	const most = 200 // lines that somebody reads
	for i, ch := range out.Changes {
		if i == most {
			fmt.Fprintf(w, "… and %d more; --json lists them all.\n", len(out.Changes)-most)
			break
		}
		paragraph(w, rowSigns[ch.What]+" "+pad(ch.What, 7)+pad(ch.Kind, 9), strings.Repeat(" ", 18), ch.Title)
		if ch.What != fleet.RowChanges {
			continue
		}
		for _, f := range ch.Fields {
			paragraph(w, "    ", "      ", fmt.Sprintf("%s: %s → %s", f.Field, orUnknown(plainJSON(f.Was)), orUnknown(plainJSON(f.Now))))
		}
	}
	if len(out.Changes) > 0 {
		fmt.Fprintln(w)
	}
	paragraph(w, "", "", out.sum())
	if out.Readings == nil {
		return
	}
	for i, q := range out.Readings.Questions {
		if i == most {
			fmt.Fprintf(w, "  … and %d more; --json lists them all.\n", len(out.Readings.Questions)-most)
			break
		}
		paragraph(w, "  ? ", "    ", q)
	}
	if len(out.Readings.Ignored) > 0 {
		paragraph(w, "  ", "  ", "Columns that were not used: "+strings.Join(out.Readings.Ignored, ", ")+".")
	}
	if out.Readings.More {
		paragraph(w, "▲ ", "  ", "The sender has more readings than this delivery.")
	}
}

// sum says in one sentence or two what came of it.
func (out *brought) sum() string {
	var parts []string
	for _, what := range []struct{ what, word string }{{fleet.RowAdds, "added"}, {fleet.RowChanges, "changed"}, {fleet.RowSame, "the same already"}, {fleet.RowWrong, "wrong"}} {
		if n := out.Counts[what.what]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, what.word))
		}
	}
	rows := "No row but readings"
	if len(parts) > 0 {
		rows = "Rows: " + strings.Join(parts, ", ")
	}
	text := rows + "."
	if r := out.Readings; r != nil && out.Entered {
		text += fmt.Sprintf(" Readings: %d new, %d there already, %d to be looked at.", r.Entered, r.Repeated, len(r.Questions))
	}
	switch {
	case out.Entered && len(out.Problems) > 0:
		return text + " What is wrong is told beside this and was left out."
	case out.Entered:
		return text + " All is in the register."
	case len(out.Problems) > 0:
		return text + " Nothing was entered: what is wrong is told beside this. --only-good enters the rest."
	case out.dry:
		return text + " Nothing was entered: this was a dry run."
	}
	return text
}

// plainJSON writes a value for people.
func plainJSON(raw json.RawMessage) string {
	var s string
	if len(raw) == 0 || string(raw) == "null" {
		return ""
	}
	if json.Unmarshal(raw, &s) == nil {
		return s
	}
	return clip(string(raw), 120)
}

// fromRegister writes a register as tables, as readings alone or whole.
func (c *exportCmd) fromRegister(p *program) error {
	return c.withRegister(func(ctx context.Context, r *fleet.Register) error {
		switch strings.ToLower(filepath.Ext(c.To)) {
		case ".zip":
			return c.whole(ctx, p, r)
		case ".csv":
			return c.readings(ctx, p, r)
		}
		tables, left, err := r.Tables(ctx, !c.NoReadings)
		if err != nil {
			return err
		}
		if err := exchange.SaveTables(c.To, tables); err != nil {
			return err
		}
		for _, l := range left {
			paragraph(p.err, "underpin: ", "  ", fmt.Sprintf("%s is not in the tables: %s", l.Number, l.Why))
		}
		w := struct {
			written
			Dollies  int `json:"dollies"`
			Parts    int `json:"parts"`
			Types    int `json:"types"`
			Depots   int `json:"depots"`
			Readings int `json:"readings"`
			Left     int `json:"left_out"`
		}{written{c.To, len(tables.Tractors), len(tables.Trailers), len(tables.Loads)}, len(tables.Dollies), len(tables.Parts), len(tables.Types), len(tables.Depots), len(tables.Readings), len(left)}
		if c.JSON {
			return p.printJSON(w)
		}
		paragraph(p.out, "", "", fmt.Sprintf("%s holds %d tractors, %d semi-trailers, %d dollies, %d parts, %d types, %d depots, %d loads, %d readings: the register as it is today. What happened before, and documents, are in an export, --to OUT.zip.",
			w.File, w.Tractors, w.Trailers, w.Dollies, w.Parts, w.Types, w.Depots, w.Loads, w.Readings))
		return nil
	})
}

// whole writes the export that holds everything.
func (c *exportCmd) whole(ctx context.Context, p *program, r *fleet.Register) error {
	if err := writeNew(c.To, func(w io.Writer) error { return r.Export(ctx, w) }); err != nil {
		return err
	}
	file, err := os.Open(c.To)
	if err != nil {
		return err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return err
	}
	m, err := fleet.CheckExport(file, info.Size())
	if err != nil {
		return err
	}
	if c.JSON {
		return p.printJSON(struct {
			File string `json:"file"`
			*fleet.Manifest
		}{c.To, m})
	}
	paragraph(p.out, "", "", fmt.Sprintf("%s holds %s, %s, %s and %s, byte for byte. Passwords, sessions and tokens are not in it.", c.To, counted(m.Records, "record", "records"),
		counted(m.Seals, "seal", "seals"), counted(m.Readings, "reading", "readings"), counted(m.Blobs, "document", "documents")))
	return nil
}

// readings writes the readings alone, however many there are.
func (c *exportCmd) readings(ctx context.Context, p *program, r *fleet.Register) error {
	n := 0
	err := writeNew(c.To, func(w io.Writer) error {
		return exchange.WriteReadingsCSV(w, func(yield func(exchange.Reading, error) bool) {
			for v, err := range r.TableReadings(ctx) {
				n++
				if !yield(v, err) {
					return
				}
			}
		})
	})
	if err != nil {
		return err
	}
	if c.JSON {
		return p.printJSON(map[string]any{"file": c.To, "readings": n})
	}
	fmt.Fprintf(p.out, "%s holds %s.\n", c.To, counted(int64(n), "reading", "readings"))
	return nil
}

// writeNew writes a file beside its place, which it takes when all of it is on the
// disk.
func writeNew(name string, fn func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(name), ".underpin-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // does nothing when it has taken its place
	if err := errors.Join(fn(f), f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
