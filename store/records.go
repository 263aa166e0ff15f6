package store

import (
	"context"
	"database/sql"
	"errors"
	"iter"

	"underpin/record"
)

func (s *sqlStore) Record(ctx context.Context, id record.ID) (*record.Record, error) {
	var b []byte
	if err := s.get(ctx, "record "+string(id), `select bytes from record where id = $1`, args(string(id)), &b); err != nil {
		return nil, err
	}
	return record.Decode(b)
}

func (s *sqlStore) Head(ctx context.Context, a record.Asset) (record.Head, error) {
	h := record.Head{Asset: a}
	var digest []byte
	err := s.get(ctx, "head of "+string(a), `select seq, digest, entered, sealed from chain where asset = $1`, args(string(a)),
		&h.Seq, &digest, (*int64)(&h.Entered), &h.Sealed)
	if errors.Is(err, ErrNotFound) {
		return h, nil
	}
	if err == nil {
		h.Digest, err = digestOf(digest)
	}
	return h, err
}

func (s *sqlStore) History(ctx context.Context, a record.Asset, from int64, limit int) ([]*record.Record, error) {
	return collect(ctx, s, "history of "+string(a), `select r.bytes from chain c join record r on r.chain = c.no
		where c.asset = $1 and r.seq >= $2 order by r.seq limit $3`, args(string(a), from, limit), scanRecord)
}

func scanRecord(rows *sql.Rows) (*record.Record, error) {
	var b []byte
	if err := rows.Scan(&b); err != nil {
		return nil, err
	}
	return record.Decode(b)
}

func (s *sqlStore) Recent(ctx context.Context, before int64, limit int) ([]Numbered, error) {
	if before <= 0 {
		before = 1<<63 - 1
	}
	return collect(ctx, s, "newest records", `select n, bytes from record where n < $1 order by n desc limit $2`, args(before, limit),
		func(rows *sql.Rows) (Numbered, error) {
			var r Numbered
			var b []byte
			if err := rows.Scan(&r.Number, &b); err != nil {
				return r, err
			}
			var err error
			r.Record, err = record.Decode(b)
			return r, err
		})
}

func (s *sqlStore) All(ctx context.Context) iter.Seq2[*record.Record, error] {
	return func(yield func(*record.Record, error) bool) {
		// The rows are read on one goroutine and decoded on others, so that a rebuild
		// waits for neither.
		var failed error // written before the parts end, read after
		parts := func(yield func([][]byte) bool) {
			rows, err := s.r.QueryContext(ctx, `select bytes from record order by n`)
			if err != nil {
				failed = err
				return
			}
			defer rows.Close()
			part := make([][]byte, 0, 256)
			for rows.Next() {
				var b []byte
				if failed = rows.Scan(&b); failed != nil {
					return
				}
				if part = append(part, b); len(part) == cap(part) {
					if !yield(part) {
						return
					}
					part = make([][]byte, 0, 256)
				}
			}
			if failed = rows.Err(); failed == nil && len(part) > 0 {
				yield(part)
			}
		}
		more := true
		inOrder(parts, func(part [][]byte) ([]*record.Record, error) {
			all := make([]*record.Record, len(part))
			for i, b := range part {
				var err error
				if all[i], err = record.Decode(b); err != nil {
					return nil, err
				}
			}
			return all, nil
		}, func(r *record.Record, err error) bool {
			more = yield(r, s.fail("read all records", err)) && err == nil
			return more
		})
		if more && failed != nil {
			yield(nil, s.fail("read all records", failed))
		}
	}
}

func (s *sqlStore) Heads(ctx context.Context) ([]record.Head, error) {
	return collect(ctx, s, "heads of all chains", `select asset, seq, digest, entered, sealed from chain order by asset`, nil, scanHead)
}

func scanHead(rows *sql.Rows) (record.Head, error) {
	var h record.Head
	var digest []byte
	err := rows.Scan((*string)(&h.Asset), &h.Seq, &digest, (*int64)(&h.Entered), &h.Sealed)
	if err == nil {
		h.Digest, err = digestOf(digest)
	}
	return h, err
}

func (s *sqlStore) LastSeal(ctx context.Context) (*record.Seal, error) {
	var b, signature []byte
	err := s.get(ctx, "newest seal", `select bytes, signature from seal order by number desc limit 1`, nil, &b, &signature)
	if errors.Is(err, ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return record.OpenSeal(b, signature)
}

func (s *sqlStore) AddSeal(ctx context.Context, seal *record.Seal) error {
	return s.write(ctx, "add a seal", func(t *tx) error {
		var last sql.NullInt64
		if err := t.one(`select max(number) from seal`, nil, &last); err != nil {
			return err
		}
		if seal.Number != last.Int64+1 {
			return &Conflict{Seq: seal.Number}
		}
		n, err := t.exec(`insert into seal (number, bytes, signature) values ($1, $2, $3) on conflict (number) do nothing`, seal.Number, seal.Bytes, seal.Signature)
		if err != nil {
			return err
		}
		if n == 0 {
			return &Conflict{Seq: seal.Number}
		}
		for _, m := range seal.Heads {
			if _, err := t.exec(`update chain set sealed = $2 where asset = $1 and sealed < $2`, string(m.Asset), m.Seq); err != nil {
				return err
			}
		}
		return nil
	})
}

func (s *sqlStore) Snapshot(ctx context.Context, fn func(record.Archive) error) error {
	db, err := s.r.BeginTx(ctx, s.snapshot())
	if err != nil {
		return s.fail("read the archive", err)
	}
	defer db.Rollback()
	// SQLite sees the instant of the first reading.
	var n int64
	if err := db.QueryRowContext(ctx, `select count(*) from setting`).Scan(&n); err != nil {
		return s.fail("read the archive", err)
	}
	return fn(&archive{s: s, db: db})
}

// An archive is the store at one instant, as verification reads it.
type archive struct {
	s  *sqlStore
	db *sql.Tx
}

func (a *archive) Seals(ctx context.Context) iter.Seq2[*record.Seal, error] {
	return each(ctx, a, `select bytes, signature from seal order by number`, func(rows *sql.Rows) (*record.Seal, error) {
		var b, signature []byte
		if err := rows.Scan(&b, &signature); err != nil {
			return nil, err
		}
		return record.OpenSeal(b, signature)
	})
}

func each[T any](ctx context.Context, a *archive, q string, scan func(*sql.Rows) (T, error)) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		var none T
		rows, err := a.db.QueryContext(ctx, q)
		if err != nil {
			yield(none, a.s.fail("read the archive", err))
			return
		}
		defer rows.Close()
		for rows.Next() {
			v, err := scan(rows)
			if !yield(v, a.s.fail("read the archive", err)) || err != nil {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(none, a.s.fail("read the archive", err))
		}
	}
}

func (a *archive) Stored(ctx context.Context) iter.Seq2[record.Stored, error] {
	return func(yield func(record.Stored, error) bool) {
		names := map[int64]record.Asset{}
		for h, err := range each(ctx, a, `select no, asset from chain`, func(rows *sql.Rows) (c chainRow, err error) {
			err = rows.Scan(&c.no, (*string)(&c.head.Asset))
			return c, err
		}) {
			if err != nil {
				yield(record.Stored{}, err)
				return
			}
			names[h.no] = h.head.Asset
		}
		// By order of entry, in which the rows lie on the disk. Each chain's records
		// were entered in their order; where somebody changed a number they stand out
		// of it, and are found by that. One goroutine reads, another verifies.
		var failed error // written before the parts end, read after
		parts := func(yield func([]record.Stored) bool) {
			failed = a.storedParts(ctx, names, yield)
		}
		more := true
		inOrder(parts, func(part []record.Stored) ([]record.Stored, error) { return part, nil }, func(st record.Stored, err error) bool {
			more = yield(st, err)
			return more
		})
		if more && failed != nil {
			yield(record.Stored{}, a.s.fail("read the archive", failed))
		}
	}
}

// storedParts yields the rows of the table record, some at a time.
func (a *archive) storedParts(ctx context.Context, names map[int64]record.Asset, yield func([]record.Stored) bool) error {
	rows, err := a.db.QueryContext(ctx, `select chain, seq, id, kind, digest, bytes from record order by n`)
	if err != nil {
		return err
	}
	defer rows.Close()
	const most = 256
	kinds := map[string]string{} // few, each text once
	var chain, seq int64
	var id, kind, digest, b sql.RawBytes
	part, text := make([]record.Stored, 0, most), make([]byte, 0, most*600)
	for rows.Next() {
		if err := rows.Scan(&chain, &seq, &id, &kind, &digest, &b); err != nil {
			return err
		}
		name, known := kinds[string(kind)]
		if !known {
			name = string(kind)
			kinds[name] = name
		}
		st := record.Stored{Asset: names[chain], Seq: seq, ID: record.ID(id), Kind: name}
		copy(st.Digest[:], digest)
		from := len(text)
		text = append(text, b...)
		st.Bytes = text[from:len(text):len(text)]
		if part = append(part, st); len(part) == most {
			if !yield(part) {
				return nil
			}
			part, text = make([]record.Stored, 0, most), make([]byte, 0, cap(text))
		}
	}
	if err := rows.Err(); err != nil {
		return err
	}
	if len(part) > 0 {
		yield(part)
	}
	return nil
}

func (a *archive) Chain(ctx context.Context, name record.Asset) ([]record.Stored, error) {
	rows, err := a.db.QueryContext(ctx, `select r.seq, r.id, r.kind, r.digest, r.bytes from chain c join record r on r.chain = c.no where c.asset = $1 order by r.seq`, string(name))
	if err != nil {
		return nil, a.s.fail("read the archive", err)
	}
	defer rows.Close()
	var all []record.Stored
	for rows.Next() {
		st := record.Stored{Asset: name}
		var digest []byte
		if err := rows.Scan(&st.Seq, (*string)(&st.ID), &st.Kind, &digest, &st.Bytes); err != nil {
			return nil, a.s.fail("read the archive", err)
		}
		copy(st.Digest[:], digest)
		all = append(all, st)
	}
	return all, a.s.fail("read the archive", rows.Err())
}

func (a *archive) Heads(ctx context.Context) iter.Seq2[record.Head, error] {
	return each(ctx, a, `select asset, seq, digest, entered, sealed from chain order by asset`, scanHead)
}

func (a *archive) ReadBlob(ctx context.Context, d record.Digest) (record.Digest, bool, error) {
	return a.s.blobs.read(ctx, d)
}
