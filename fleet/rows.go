package fleet

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"underpin/record"
	"underpin/store"
)

// batchRows is how many rows are read at once where all are gone through.
const batchRows = 1000

// each goes through all rows of a query, without state.
func (r *Register) each(ctx context.Context, q store.Query, fn func(*store.Row) error) error {
	q.Limit = batchRows
	for {
		rows, err := r.store.List(ctx, q)
		if err != nil {
			return err
		}
		for i := range rows {
			if err := fn(&rows[i]); err != nil {
				return err
			}
		}
		if len(rows) < batchRows {
			return nil
		}
		q.After = &rows[len(rows)-1]
	}
}

// entity returns the state of an asset, or a NotFound.
func (r *Register) entity(ctx context.Context, a record.Asset) (*record.Entity, error) {
	row, err := r.store.Row(ctx, a)
	if errors.Is(err, store.ErrNotFound) {
		return nil, &NotFound{What: a.Kind(), Name: a.Name()}
	}
	if err != nil {
		return nil, err
	}
	return row.Entity()
}

// record returns a record, or a NotFound.
func (r *Register) record(ctx context.Context, id record.ID) (*record.Record, error) {
	rec, err := r.store.Record(ctx, id)
	if errors.Is(err, store.ErrNotFound) {
		return nil, &NotFound{What: "record", Name: string(id)}
	}
	return rec, err
}

// A Part is a part as a list knows it: enough to name it and to hold it against a
// notice.
type Part struct {
	record.Part
	Vehicle record.Asset // where it sits; empty: nowhere
	Place   string
}

// title names the part for people.
func (p *Part) title() string {
	if p.Serial == "" {
		return p.PartAdded.Part + " without serial (" + p.Asset.Name() + ")"
	}
	return p.PartAdded.Part + " " + p.Serial
}

// partOfLine reads what the list knows of a part.
func partOfLine(row *store.Row) (*Part, error) {
	var l struct{ Part, Serial, Marking, Type, Vehicle, Place string }
	if err := json.Unmarshal(row.Line, &l); err != nil {
		return nil, fmt.Errorf("cached line of %s: %w; rebuild it from the records", row.Asset, err)
	}
	p := &Part{Vehicle: record.Asset(l.Vehicle), Place: l.Place}
	p.Asset, p.Added, p.Stored = row.Asset, row.At, row.Depot
	p.PartAdded = record.PartAdded{Part: l.Part, Serial: l.Serial, Marking: l.Marking, Type: record.Asset(l.Type)}
	if row.Status == record.StatusScrapped {
		p.Scrapped = row.At // when is not in the list, and only that it was is asked
	}
	return p, nil
}

// A NoticePart is a part that a notice concerns, or may concern.
type NoticePart struct {
	Part  *Part
	Match record.Match
	Why   string             // where it cannot be told
	Work  *record.NoticeWork // what was done; nil: still open
}

// partsOf finds all parts that a notice concerns or may concern, by serial.
func (r *Register) partsOf(ctx context.Context, n *record.Notice) ([]NoticePart, error) {
	var found []NoticePart
	err := r.eachPart(ctx, func(p *Part) {
		for _, f := range n.Find(slices.Values([]*record.Part{&p.Part})) {
			found = append(found, NoticePart{Part: p, Match: f.Match, Why: f.Why, Work: f.Work})
		}
	})
	return found, err
}

func (r *Register) eachPart(ctx context.Context, fn func(*Part)) error {
	return r.each(ctx, store.Query{Kind: record.PartAsset}, func(row *store.Row) error {
		p, err := partOfLine(row)
		if err == nil {
			fn(p)
		}
		return err
	})
}

// countAt says in words what belongs to a depot.
func (r *Register) countAt(ctx context.Context, depot record.Asset) ([]string, error) {
	var left []string
	for _, kind := range []struct{ name, words string }{{record.VehicleAsset, "vehicles"}, {record.PartAsset, "parts"}} {
		counts, err := r.store.Count(ctx, store.Query{Kind: kind.name, Depots: []record.Asset{depot}})
		if err != nil {
			return nil, err
		}
		n := 0
		for status, count := range counts {
			if status != record.StatusScrapped {
				n += count
			}
		}
		if n > 0 {
			left = append(left, fmt.Sprintf("%d %s", n, kind.words))
		}
	}
	return left, nil
}

func isNotFound(err error) bool { return errors.Is(err, store.ErrNotFound) }
