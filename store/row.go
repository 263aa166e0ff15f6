package store

import (
	"encoding/json"
	"fmt"

	"underpin/record"
)

// RowOf makes the row that caches an entity.
func RowOf(e *record.Entity) (Row, error) {
	b, err := e.Brief()
	if err != nil {
		return Row{}, fmt.Errorf("brief of %s: %w", e.Asset, err)
	}
	state, err := json.Marshal(e)
	if err != nil {
		return Row{}, fmt.Errorf("state of %s: %w", e.Asset, err)
	}
	line, err := json.Marshal(b.Line)
	if err != nil {
		return Row{}, fmt.Errorf("line of %s: %w", e.Asset, err)
	}
	r := Row{
		Asset: e.Asset, Title: b.Title, Sort: b.Sort, Text: b.Text, Depot: b.Depot, Status: b.Status, At: b.At,
		Refs: b.Refs, Keys: b.Keys, Line: line, State: state,
	}
	return r, nil
}

// Entity reads the entity that a row caches.
func (r *Row) Entity() (*record.Entity, error) {
	e := new(record.Entity)
	if err := json.Unmarshal(r.State, e); err != nil {
		return nil, fmt.Errorf("cached state of %s: %w; rebuild it from the records", r.Asset, err)
	}
	return e, nil
}
