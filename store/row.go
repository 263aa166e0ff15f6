package store

import (
	"encoding/json"
	"fmt"
	"iter"
	"runtime"
	"slices"

	"underpin/record"
)

// RowOf makes the row that caches an entity.
func RowOf(e *record.Entity) (Row, error) {
	b, err := e.Brief()
	if err != nil {
		return Row{}, fmt.Errorf("brief of %s: %w", e.Asset, err)
	}
	r := Row{
		Asset: e.Asset, Title: b.Title, Sort: b.Sort, Text: b.Text, Depot: b.Depot, Status: b.Status, At: b.At,
		Refs: b.Refs, Keys: b.Keys, Line: b.Line, State: e.AppendJSON(nil),
	}
	return r, nil
}

// RowsOf makes the rows of many entities, in their order, on all cores.
func RowsOf(entities []*record.Entity) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		inOrder(slices.Chunk(entities, 256), func(part []*record.Entity) ([]Row, error) {
			rows := make([]Row, len(part))
			for i, e := range part {
				var err error
				if rows[i], err = RowOf(e); err != nil {
					return nil, err
				}
			}
			return rows, nil
		}, yield)
	}
}

// inOrder does work on parts on all cores and yields what comes out in the order
// of the parts. It stops at the first error.
func inOrder[In, Out any](parts iter.Seq[In], work func(In) ([]Out, error), yield func(Out, error) bool) {
	type result struct {
		all []Out
		err error
	}
	stop := make(chan struct{})
	queue := make(chan chan result, 2*runtime.GOMAXPROCS(0)) // bounds what is underway
	defer func() {                                           // whoever leaves early may use at once what the parts come from
		close(stop)
		for range queue {
		}
	}()
	go func() {
		defer close(queue)
		for part := range parts {
			done := make(chan result, 1)
			select {
			case queue <- done:
			case <-stop:
				return
			}
			go func() {
				all, err := work(part)
				done <- result{all, err}
			}()
		}
	}()
	var none Out
	for done := range queue {
		r := <-done
		if r.err != nil {
			yield(none, r.err)
			return
		}
		for _, v := range r.all {
			if !yield(v, nil) {
				return
			}
		}
	}
}

// Entity reads the entity that a row caches.
func (r *Row) Entity() (*record.Entity, error) {
	e := new(record.Entity)
	if err := json.Unmarshal(r.State, e); err != nil {
		return nil, fmt.Errorf("cached state of %s: %w; rebuild it from the records", r.Asset, err)
	}
	return e, nil
}
