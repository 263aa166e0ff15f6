package store

import (
	"bytes"
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"maps"
	"slices"

	"underpin/record"
)

func (s *sqlStore) Append(ctx context.Context, b Batch) (Appended, error) {
	done := Appended{Records: b.Records}
	err := s.write(ctx, "enter records", func(t *tx) error {
		done = Appended{Records: b.Records}
		again, err := t.appendRecords(b.Records)
		if err != nil {
			return err
		}
		if again != nil {
			done = Appended{Again: true, Records: again}
			return nil
		}
		if err := t.putRows(b.Rows); err != nil {
			return err
		}
		return t.appendRest(b)
	})
	if err != nil {
		return Appended{}, err
	}
	return done, nil
}

// appendRest writes what goes with the records.
func (t *tx) appendRest(b Batch) error {
	for _, secret := range b.Secrets {
		if err := t.putSecret(secret); err != nil {
			return err
		}
	}
	for _, token := range b.Tokens {
		if err := t.putToken(token); err != nil {
			return err
		}
	}
	for _, account := range b.EndSessions {
		if _, err := t.exec(`delete from session where account = $1`, string(account)); err != nil {
			return err
		}
	}
	for _, job := range b.Jobs {
		if _, err := t.enqueue(job); err != nil {
			return err
		}
	}
	return nil
}

// A chainRow is the head of a chain as the database has it.
type chainRow struct {
	no   int64
	head record.Head
}

// appendRecords enters the records, or returns those that are there when all of
// them are there already.
func (t *tx) appendRecords(all []*record.Record) (again []*record.Record, err error) {
	if len(all) == 0 {
		return nil, nil
	}
	chains := map[record.Asset][]*record.Record{}
	for _, r := range all {
		chains[r.Asset] = append(chains[r.Asset], r)
	}
	// Chains are locked in one order, so that two batches never wait for each
	// other.
	heads := map[record.Asset]chainRow{}
	for _, a := range slices.Sorted(maps.Keys(chains)) {
		row, err := t.lockChain(a, chains[a][0].Seq == 1)
		if err != nil {
			return nil, err
		}
		heads[a] = row
	}
	if again, err = t.already(all); again != nil || err != nil {
		return again, err
	}
	for _, r := range all {
		row := heads[r.Asset]
		if err := t.follows(row, r); err != nil {
			return nil, err
		}
		if err := t.checkNames(r, all); err != nil {
			return nil, err
		}
		if _, err := t.exec(`insert into record (chain, seq, id, kind, digest, bytes) values ($1, $2, $3, $4, $5, $6)`,
			row.no, r.Seq, string(r.ID), r.Kind, r.Digest[:], r.Bytes); err != nil {
			return nil, err
		}
		row.head = r.Head()
		heads[r.Asset] = row
	}
	for a, row := range heads {
		if _, err := t.exec(`update chain set seq = $2, digest = $3, entered = $4 where no = $1`,
			row.no, row.head.Seq, row.head.Digest[:], int64(row.head.Entered)); err != nil {
			return nil, fmt.Errorf("head of %s: %w", a, err)
		}
	}
	return nil, nil
}

// lockChain returns a chain's head and holds it until the transaction ends. A
// chain that is to begin gets its row; one that is not there has number 0.
func (t *tx) lockChain(a record.Asset, begin bool) (chainRow, error) {
	if begin {
		if _, err := t.exec(`insert into chain (asset, seq, digest, entered) values ($1, 0, $2, 0) on conflict (asset) do nothing`,
			string(a), make([]byte, len(record.Digest{}))); err != nil {
			return chainRow{}, err
		}
	}
	row := chainRow{head: record.Head{Asset: a}}
	var digest []byte
	err := t.one(`select no, seq, digest, entered from chain where asset = $1 for update`, args(string(a)),
		&row.no, &row.head.Seq, &digest, (*int64)(&row.head.Entered))
	if errors.Is(err, sql.ErrNoRows) {
		return row, nil
	}
	if err == nil {
		row.head.Digest, err = digestOf(digest)
	}
	return row, err
}

// already finds the records of a batch that are there. It returns them when all
// are, nothing when none is, and an error when only some are or one says something
// else.
func (t *tx) already(all []*record.Record) ([]*record.Record, error) {
	var there []*record.Record
	for _, r := range all {
		have, err := t.record(r.ID)
		if errors.Is(err, sql.ErrNoRows) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if have.Asset != r.Asset || have.Kind != r.Kind || have.Corrects != r.Corrects || have.Happened != r.Happened || !bytes.Equal(have.Body, r.Body) {
			return nil, &IDTaken{r.ID}
		}
		there = append(there, have)
	}
	if len(there) > 0 && len(there) < len(all) {
		return nil, &IDTaken{there[0].ID} // it came in another batch
	}
	return there, nil
}

func (t *tx) record(id record.ID) (*record.Record, error) {
	var b []byte
	if err := t.one(`select bytes from record where id = $1`, args(string(id)), &b); err != nil {
		return nil, err
	}
	return record.Decode(b)
}

// follows tells whether a record continues its chain.
func (t *tx) follows(row chainRow, r *record.Record) error {
	h := row.head
	if row.no != 0 && r.Seq == h.Seq+1 && r.Previous == h.Digest {
		if r.Entered < h.Entered {
			return fmt.Errorf("%w of %s, entered %s", record.ErrClock, r.Asset, h.Entered)
		}
		return nil
	}
	conflict := &Conflict{Asset: r.Asset, Seq: r.Seq}
	var b []byte
	err := t.one(`select bytes from record where chain = $1 and seq = $2`, args(row.no, r.Seq), &b)
	switch {
	case err == nil:
		if conflict.Came, err = record.Decode(b); err != nil {
			return err
		}
	case !errors.Is(err, sql.ErrNoRows):
		return err
	}
	return conflict
}

// checkNames holds what a record names against what is there.
func (t *tx) checkNames(r *record.Record, batch []*record.Record) error {
	for _, d := range r.Blobs {
		var n int64
		err := t.one(`select bytes from blob where digest = $1`, args(d[:]), &n)
		if errors.Is(err, sql.ErrNoRows) {
			return &MissingBlob{ID: r.ID, Blob: d}
		}
		if err != nil {
			return err
		}
	}
	if r.Corrects == "" {
		return nil
	}
	was, err := t.record(r.Corrects)
	if errors.Is(err, sql.ErrNoRows) {
		if i := slices.IndexFunc(batch, func(b *record.Record) bool { return b.ID == r.Corrects }); i >= 0 {
			was, err = batch[i], nil
		} else {
			return &record.RuleError{Field: "corrects", Found: string(r.Corrects), Want: "a record that is there"}
		}
	}
	switch {
	case err != nil:
		return err
	case was.Asset != r.Asset:
		return &record.RuleError{Field: "corrects", Found: "a record of " + string(was.Asset), Want: "one of " + string(r.Asset)}
	case was.Corrects != "":
		return &record.RuleError{Field: "corrects", Found: "a correction", Want: "the record that was first entered, " + string(was.Corrects)}
	case was.Kind != r.Kind && r.Kind != record.VoidKind:
		return &record.RuleError{Field: "corrects", Found: "a record of kind " + was.Kind, Want: "one of kind " + r.Kind}
	}
	return nil
}

// putRows writes cached state.
func (t *tx) putRows(rows []Put) error {
	rows = slices.SortedStableFunc(slices.Values(rows), func(a, b Put) int { return cmp.Compare(a.Asset, b.Asset) })
	for _, p := range rows {
		if err := t.putRow(p); err != nil {
			return err
		}
	}
	for _, p := range rows { // names last: two rows of a batch may have changed theirs
		for _, key := range p.Keys {
			if err := t.takeKey(key, p.Asset); err != nil {
				return err
			}
		}
	}
	return nil
}

func (t *tx) putRow(p Put) error {
	kind, id := p.Asset.Kind(), p.Asset.Name()
	words, found := normal(p.Text), compact(p.Title)
	cells := args(kind, id, p.Was+1, p.Title, p.Sort, string(p.Depot), p.Status, int64(p.Due), int64(p.At), raw(p.Line), words, found, raw(p.State))
	var n int64
	var err error
	if p.Was == 0 {
		err = t.one(`insert into entity (kind, id, rev, title, sort, depot, status, due, at, line, words, found, state)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13) on conflict (kind, id) do nothing returning n`, cells, &n)
	} else {
		err = t.one(`update entity set rev = $3, title = $4, sort = $5, depot = $6, status = $7, due = $8, at = $9, line = $10, words = $11, found = $12, state = $13
			where kind = $1 and id = $2 and rev = $14 returning n`, append(cells, p.Was), &n)
	}
	if errors.Is(err, sql.ErrNoRows) {
		return &Stale{p.Asset}
	}
	if err != nil {
		return err
	}
	if p.Sort != "" {
		if err := t.s.index(t, n, words, p.Was == 0); err != nil {
			return err
		}
	}
	if p.Was != 0 {
		if _, err := t.exec(`delete from entity_ref where kind = $1 and id = $2`, kind, id); err != nil {
			return err
		}
		if _, err := t.exec(`delete from entity_key where kind = $1 and id = $2`, kind, id); err != nil {
			return err
		}
	}
	return t.putRefs(p.Row)
}

func (t *tx) putRefs(r Row) error {
	for i, ref := range r.Refs {
		if slices.Contains(r.Refs[:i], ref) {
			continue
		}
		if _, err := t.exec(`insert into entity_ref (ref, kind, at, id, status) values ($1, $2, $3, $4, $5)`,
			string(ref), r.Asset.Kind(), int64(r.At), r.Asset.Name(), r.Status); err != nil {
			return err
		}
	}
	return nil
}

func (t *tx) takeKey(key string, by record.Asset) error {
	n, err := t.exec(`insert into entity_key (key, kind, id) values ($1, $2, $3) on conflict (key) do nothing`, key, by.Kind(), by.Name())
	if err != nil || n == 1 {
		return err
	}
	var kind, id string
	if err := t.one(`select kind, id from entity_key where key = $1`, args(key), &kind, &id); err != nil {
		return err
	}
	if has := record.NewAsset(kind, id); has != by {
		return &Taken{Key: key, By: has}
	}
	return nil
}

// raw is JSON as the database takes it, never null.
func raw(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}
