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
	"strings"

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
	no   int64 // 0: there is no such chain
	head record.Head
	new  bool // begun by this batch, and its row holds the new head already
}

// appendRecords enters the records, or returns those that are there when all of
// them are there already.
func (t *tx) appendRecords(all []*record.Record) (again []*record.Record, err error) {
	if len(all) == 0 {
		return nil, nil
	}
	heads, err := t.lockChains(all)
	if err != nil {
		return nil, err
	}
	if again, err = t.already(all); again != nil || err != nil {
		return again, err
	}
	flat := make([]any, 0, 6*len(all))
	for _, r := range all {
		row := heads[r.Asset]
		if err := t.follows(row, r); err != nil {
			return nil, err
		}
		if err := t.checkNames(r, all); err != nil {
			return nil, err
		}
		flat = append(flat, row.no, r.Seq, string(r.ID), r.Kind, r.Digest[:], r.Bytes)
		row.head = r.Head()
	}
	if _, err := t.many(`insert into record (chain, seq, id, kind, digest, bytes) values `, ``, 6, flat); err != nil {
		return nil, err
	}
	for _, row := range heads {
		if row.new {
			continue
		}
		if _, err := t.exec(`update chain set seq = $2, digest = $3, entered = $4 where no = $1`,
			row.no, row.head.Seq, row.head.Digest[:], int64(row.head.Entered)); err != nil {
			return nil, err
		}
	}
	return nil, nil
}

// lockChains returns the heads of the chains that a batch goes on with, and holds
// them until the transaction ends. Chains are locked in one order, so that two
// batches never wait for each other.
func (t *tx) lockChains(all []*record.Record) (map[record.Asset]*chainRow, error) {
	heads := map[record.Asset]*chainRow{}
	last := map[record.Asset]*record.Record{}
	var begun []record.Asset
	for _, r := range all {
		if heads[r.Asset] == nil {
			heads[r.Asset] = &chainRow{head: record.Head{Asset: r.Asset}}
			if r.Seq == 1 {
				begun = append(begun, r.Asset)
			}
		}
		last[r.Asset] = r
	}
	slices.Sort(begun)
	flat := make([]any, 0, 4*len(begun))
	for _, a := range begun {
		r := last[a]
		flat = append(flat, string(a), r.Seq, r.Digest[:], int64(r.Entered))
	}
	if err := t.manyBack(`insert into chain (asset, seq, digest, entered) values `, ` on conflict (asset) do nothing returning no, asset`, 4, flat, func(rows *sql.Rows) error {
		var no int64
		var a record.Asset
		if err := rows.Scan(&no, (*string)(&a)); err != nil {
			return err
		}
		heads[a].no, heads[a].new = no, true
		return nil
	}); err != nil {
		return nil, err
	}
	var there []record.Asset
	for _, a := range slices.Sorted(maps.Keys(heads)) {
		if !heads[a].new {
			there = append(there, a)
		}
	}
	for part := range slices.Chunk(there, 10*some) {
		names := make([]any, len(part))
		for i, a := range part {
			names[i] = string(a)
		}
		if err := t.rows(`select no, asset, seq, digest, entered from chain where asset in (`+in(1, len(part))+`) order by asset for update`, names, func(rows *sql.Rows) error {
			var no int64
			var h record.Head
			var digest []byte
			err := rows.Scan(&no, (*string)(&h.Asset), &h.Seq, &digest, (*int64)(&h.Entered))
			if err == nil {
				h.Digest, err = digestOf(digest)
			}
			heads[h.Asset].no, heads[h.Asset].head = no, h
			return err
		}); err != nil {
			return nil, err
		}
	}
	return heads, nil
}

// already finds the records of a batch that are there. It returns them when all
// are, nothing when none is, and an error when only some are or one says something
// else.
func (t *tx) already(all []*record.Record) ([]*record.Record, error) {
	have := map[record.ID]*record.Record{}
	for part := range slices.Chunk(all, 10*some) {
		ids := make([]any, len(part))
		for i, r := range part {
			ids[i] = string(r.ID)
		}
		if err := t.rows(`select bytes from record where id in (`+in(1, len(part))+`)`, ids, func(rows *sql.Rows) error {
			r, err := scanRecord(rows)
			if err == nil {
				have[r.ID] = r
			}
			return err
		}); err != nil {
			return nil, err
		}
	}
	if len(have) == 0 {
		return nil, nil
	}
	there := make([]*record.Record, len(all))
	for i, r := range all {
		h := have[r.ID]
		switch {
		case h == nil: // the others came in another batch
			for id := range have {
				return nil, &IDTaken{id}
			}
		case h.Asset != r.Asset || h.Kind != r.Kind || h.Corrects != r.Corrects || h.Happened != r.Happened || !bytes.Equal(h.Body, r.Body):
			return nil, &IDTaken{r.ID}
		}
		there[i] = h
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
func (t *tx) follows(row *chainRow, r *record.Record) error {
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

// entityCells are the columns of a row, in the order of cells.
const (
	entityCells = `kind, id, rev, title, sort, depot, status, due, at, line, words, found, refs, keys, state`
	cellCount   = 15
)

func cells(flat []any, r *Row, rev int64) []any {
	return append(flat, r.Asset.Kind(), r.Asset.Name(), rev, r.Title, r.Sort, string(r.Depot), r.Status, int64(r.Due), int64(r.At),
		raw(r.Line), normal(r.Text), compact(r.Title), lines(r.Refs), lines(r.Keys), raw(r.State))
}

// lines writes names one a line, each once, sorted.
func lines[T ~string](names []T) string {
	if len(names) == 0 {
		return ""
	}
	all := make([]string, len(names))
	for i, name := range names {
		all[i] = string(name)
	}
	slices.Sort(all)
	return strings.Join(slices.Compact(all), "\n")
}

// unlines reads what lines wrote.
func unlines(text string) []string {
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}

// putRows writes cached state.
func (t *tx) putRows(rows []Put) error {
	rows = slices.SortedStableFunc(slices.Values(rows), func(a, b Put) int { return cmp.Compare(a.Asset, b.Asset) })
	var fresh []any
	var refs []any
	var keys []key
	numbers := map[record.Asset]int64{}
	for i := range rows {
		p := &rows[i]
		if p.Was == 0 {
			fresh = cells(fresh, &p.Row, 1)
			continue
		}
		n, gained, err := t.changeRow(p)
		if err != nil {
			return err
		}
		numbers[p.Asset], keys = n, append(keys, gained...)
	}
	if err := t.manyBack(`insert into entity (`+entityCells+`) values `, ` on conflict (kind, id) do nothing returning n, kind, id`, cellCount, fresh, func(rows *sql.Rows) error {
		var n int64
		var kind, id string
		err := rows.Scan(&n, &kind, &id)
		numbers[record.NewAsset(kind, id)] = n
		return err
	}); err != nil {
		return err
	}
	for i := range rows {
		p := &rows[i]
		n := numbers[p.Asset]
		switch {
		case n == 0:
			return &Stale{p.Asset}
		case p.Was != 0:
			continue
		}
		if p.Sort != "" {
			if err := t.s.index(t, n, normal(p.Text), true); err != nil {
				return err
			}
		}
		refs = appendRefs(refs, n, &p.Row)
		for _, name := range unlines(lines(p.Keys)) {
			keys = append(keys, key{name, n})
		}
	}
	if err := t.putRefs(refs); err != nil {
		return err
	}
	return t.takeKeys(keys) // last: two rows of a batch may have exchanged theirs
}

// changeRow changes a row that is there, and of what hangs on it only what
// changed. It returns the row's number and the names that it has yet to take.
func (t *tx) changeRow(p *Put) (n int64, gained []key, err error) {
	kind, id := p.Asset.Kind(), p.Asset.Name()
	var sort, status, words, refs, keys string
	var at int64
	err = t.one(`select n, sort, status, at, words, refs, keys from entity where kind = $1 and id = $2 and rev = $3 for update`,
		args(kind, id, p.Was), &n, &sort, &status, &at, &words, &refs, &keys)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, nil, &Stale{p.Asset}
	}
	if err != nil {
		return 0, nil, err
	}
	if _, err := t.exec(`update entity set rev = $3, title = $4, sort = $5, depot = $6, status = $7, due = $8, at = $9, line = $10, words = $11, found = $12,
		refs = $13, keys = $14, state = $15 where kind = $1 and id = $2`, cells(nil, &p.Row, p.Was+1)...); err != nil {
		return 0, nil, err
	}
	if now := normal(p.Text); p.Sort != "" && (now != words || sort == "") { // one that was not in lists was not found either
		if err := t.s.index(t, n, now, false); err != nil {
			return 0, nil, err
		}
	}
	if lines(p.Refs) != refs || int64(p.At) != at || p.Status != status {
		for _, ref := range unlines(refs) {
			if _, err := t.exec(`delete from entity_ref where ref = $1 and kind = $2 and at = $3 and n = $4`, ref, kind, at, n); err != nil {
				return 0, nil, err
			}
		}
		if err := t.putRefs(appendRefs(nil, n, &p.Row)); err != nil {
			return 0, nil, err
		}
	}
	had, has := unlines(keys), unlines(lines(p.Keys))
	for _, name := range had {
		if !slices.Contains(has, name) {
			if _, err := t.exec(`delete from entity_key where key = $1 and n = $2`, name, n); err != nil {
				return 0, nil, err
			}
		}
	}
	for _, name := range has {
		if !slices.Contains(had, name) {
			gained = append(gained, key{name, n})
		}
	}
	return n, gained, nil
}

func appendRefs(flat []any, n int64, r *Row) []any {
	for i, ref := range r.Refs {
		if !slices.Contains(r.Refs[:i], ref) {
			flat = append(flat, string(ref), r.Asset.Kind(), int64(r.At), n, r.Status)
		}
	}
	return flat
}

// putRefs writes beside what rows stand.
func (t *tx) putRefs(refs []any) error {
	_, err := t.many(`insert into entity_ref (ref, kind, at, n, status) values `, ``, 5, refs)
	return err
}

// A key is a name that one row has and no other may have.
type key struct {
	name string
	n    int64
}

// takeKeys gives rows their names.
func (t *tx) takeKeys(keys []key) error {
	flat := make([]any, 0, 2*len(keys))
	for _, k := range keys {
		flat = append(flat, k.name, k.n)
	}
	taken, err := t.many(`insert into entity_key (key, n) values `, ` on conflict (key) do nothing`, 2, flat)
	if err != nil || taken == int64(len(keys)) {
		return err
	}
	for _, k := range keys { // somebody has one of them
		var has int64
		var kind, id string
		if err := t.one(`select e.n, e.kind, e.id from entity_key k join entity e on e.n = k.n where k.key = $1`, args(k.name), &has, &kind, &id); err != nil {
			return err
		}
		if has != k.n {
			return &Taken{Key: k.name, By: record.NewAsset(kind, id)}
		}
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
