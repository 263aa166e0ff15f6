package store

import (
	"context"
	"database/sql"
	"encoding/binary"
	"hash/maphash"
	"iter"
	"slices"

	"underpin/record"
)

func (s *sqlStore) Rebuild(ctx context.Context, fn func(iter.Seq2[*record.Record, error], func(Row) error) error) error {
	return s.write(ctx, "rebuild the state", func(t *tx) error {
		if err := s.holdWriters(t); err != nil {
			return err
		}
		w := rebuilder{t: t, seed: maphash.MakeSeed(), looked: make(chan error, 1)}
		// What is there is read while fn folds the records.
		go func() { w.looked <- w.look() }()
		var own error // what went wrong here, and not in fn
		err := fn(s.All(ctx), func(r Row) error {
			if own = w.wait(); own == nil {
				own = w.put(&r)
			}
			return own
		})
		if waited := w.wait(); own == nil { // in any case: the transaction is in use until then
			own = waited
		}
		switch {
		case own != nil:
			return own
		case err != nil && !answerable(err):
			return &callerError{err}
		case err != nil:
			return err
		}
		return w.end()
	})
}

// A rebuilder replaces the rows by those it is given. Rows that are as they were
// stay untouched: writing is what takes the time, and mostly nothing has changed.
type rebuilder struct {
	t    *tx
	seed maphash.Seed
	rev  int64
	n    int64 // the highest number of a row
	have map[record.Asset]oldRow

	looked chan error // gives what came of look, once
	seen   bool       // it was asked
	failed error

	rows   []any // to be written
	refs   []any
	gone   []any  // refs that go: ref, kind, at, n
	keys   []key  // of all rows, taken at the end: rows may have exchanged theirs
	named  uint64 // the sum of those that were there
	listed bool   // a row that can be found was changed
}

// An oldRow is a row that was there: its number, a sum over all it says, and what
// is needed to take away what hangs on it.
type oldRow struct {
	n, at int64
	sum   uint64
	refs  string
}

// sum is a sum over values.
func (w *rebuilder) sum(values ...any) uint64 {
	var h maphash.Hash
	h.SetSeed(w.seed)
	var b [9]byte
	for _, v := range values {
		switch v := v.(type) {
		case int64:
			b[0] = 1
			binary.LittleEndian.PutUint64(b[1:], uint64(v))
			h.Write(b[:])
		case string:
			binary.LittleEndian.PutUint64(b[1:], uint64(len(v)))
			h.Write(b[:])
			h.WriteString(v)
		case []byte:
			binary.LittleEndian.PutUint64(b[1:], uint64(len(v)))
			h.Write(b[:])
			h.Write(v)
		}
		b[0] = 0
	}
	return h.Sum64()
}

// wait returns when what is there has been read.
func (w *rebuilder) wait() error {
	if !w.seen {
		w.failed, w.seen = <-w.looked, true
	}
	return w.failed
}

// look reads what is there.
func (w *rebuilder) look() error {
	var rev, n sql.NullInt64
	if err := w.t.one(`select max(rev), max(n) from entity`, nil, &rev, &n); err != nil {
		return err
	}
	w.rev, w.n = rev.Int64+1, n.Int64 // nobody holds a revision as high
	w.have = map[record.Asset]oldRow{}
	beside := map[int64]uint64{} // sums of the refs that each row should have, taken together by exclusive or
	if err := w.t.rows(`select n, `+entityCells+` from entity`, nil, func(rows *sql.Rows) error {
		var n, rev, due, at int64
		var kind, id, title, sort, depot, status, words, found, refs, keys string
		var line, state []byte
		err := rows.Scan(&n, &kind, &id, &rev, &title, &sort, &depot, &status, &due, &at, &line, &words, &found, &refs, &keys, &state)
		w.have[record.NewAsset(kind, id)] = oldRow{n, at, w.sum(title, sort, depot, status, due, at, line, words, found, refs, keys, state), refs}
		for _, ref := range unlines(refs) {
			beside[n] ^= w.sum(ref, kind, at, status)
		}
		return err
	}); err != nil {
		return err
	}
	if err := w.t.rows(`select key, n from entity_key`, nil, func(rows *sql.Rows) error {
		var k key
		err := rows.Scan(&k.name, &k.n)
		w.named ^= w.sum(k.name, k.n)
		return err
	}); err != nil {
		return err
	}
	if err := w.t.rows(`select ref, kind, at, n, status from entity_ref`, nil, func(rows *sql.Rows) error {
		var n, at int64
		var ref, kind, status string
		err := rows.Scan(&ref, &kind, &at, &n, &status)
		beside[n] ^= w.sum(ref, kind, at, status)
		return err
	}); err != nil {
		return err
	}
	for _, sum := range beside {
		if sum != 0 { // the table does not say what the rows say: it is written anew
			for a, old := range w.have {
				old.sum, old.refs = ^old.sum, ""
				w.have[a] = old
			}
			_, err := w.t.exec(`delete from entity_ref`)
			return err
		}
	}
	return nil
}

func (w *rebuilder) put(r *Row) error {
	row := cells(nil, r, w.rev)
	sum := w.sum(row[3:]...)
	old, there := w.have[r.Asset]
	delete(w.have, r.Asset)
	n := old.n
	if !there {
		w.n++
		n = w.n
	}
	for _, name := range unlines(row[cellCount-2].(string)) {
		w.keys = append(w.keys, key{name, n})
	}
	if there && old.sum == sum {
		return nil
	}
	w.listed = w.listed || there || r.Sort != ""
	w.forgetRefs(r.Asset, old)
	w.rows, w.refs = append(append(w.rows, n), row...), appendRefs(w.refs, n, r)
	if len(w.rows) >= (cellCount+1)*some {
		return w.flush()
	}
	return nil
}

func (w *rebuilder) forgetRefs(a record.Asset, old oldRow) {
	for _, ref := range unlines(old.refs) {
		w.gone = append(w.gone, ref, a.Kind(), old.at, old.n)
	}
}

// flush writes what has gathered.
func (w *rebuilder) flush() error {
	for ref := range slices.Chunk(w.gone, 4) {
		if _, err := w.t.exec(`delete from entity_ref where ref = $1 and kind = $2 and at = $3 and n = $4`, ref...); err != nil {
			return err
		}
	}
	if _, err := w.t.many(`insert into entity (n, `+entityCells+`) values `, ` on conflict (n) do update set rev = excluded.rev, title = excluded.title,
		sort = excluded.sort, depot = excluded.depot, status = excluded.status, due = excluded.due, at = excluded.at, line = excluded.line,
		words = excluded.words, found = excluded.found, refs = excluded.refs, keys = excluded.keys, state = excluded.state`, cellCount+1, w.rows); err != nil {
		return err
	}
	err := w.t.putRefs(w.refs)
	w.rows, w.refs, w.gone = w.rows[:0], w.refs[:0], w.gone[:0]
	return err
}

func (w *rebuilder) end() error {
	for a, old := range w.have {
		w.listed = true
		w.forgetRefs(a, old)
		if _, err := w.t.exec(`delete from entity where n = $1`, old.n); err != nil {
			return err
		}
	}
	if err := w.flush(); err != nil {
		return err
	}
	for _, k := range w.keys {
		w.named ^= w.sum(k.name, k.n)
	}
	if w.named != 0 {
		if _, err := w.t.exec(`delete from entity_key`); err != nil {
			return err
		}
		if err := w.t.takeKeys(w.keys); err != nil {
			return err
		}
	}
	if !w.listed {
		return nil
	}
	if err := w.t.s.unindex(w.t); err != nil {
		return err
	}
	return w.t.s.reindex(w.t, w.n)
}
