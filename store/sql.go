package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strconv"
	"strings"
	"time"

	"underpin/record"
)

// A sqlStore is a Store on either engine. Its statements keep to what both
// understand: $n parameters, times as whole microseconds, JSON as bytes. Where
// they differ the dialect says how.
type sqlStore struct {
	dialect
	w, r  *sql.DB // writers and readers; the same on PostgreSQL
	tally *counts // what was counted; nil on PostgreSQL, which has no version to ask for
	blobs blobKeeper
	most  int64        // MaxBlob, less in tests
	there func() error // whether what was opened can still be written; nil: the server says so itself
	log   *slog.Logger
}

// A dialect is what differs between the engines.
type dialect interface {
	engine() string
	// locks tells whether rows are locked one by one; a SQLite writer is alone.
	locks() bool
	// explain says in plain words what an error of the driver means, and whether
	// trying again at once may help.
	explain(err error) (why string, again bool)
	// index makes the words of a row findable, once it has been written.
	index(t *tx, n int64, words string, fresh bool) error
	// unindex forgets all words; reindex makes all findable, when the rows have been
	// numbered up to n by hand.
	unindex(t *tx) error
	reindex(t *tx, n int64) error
	// holding says where the rows are, as e, that hold all of some texts, with the
	// condition and its arguments from parameter n on.
	holding(texts []string, n int) (from, condition string, args []any)
	// addReadings adds the readings of meters that are numbered, and returns how
	// many were new.
	addReadings(t *tx, delivery int64, all []numberedReading) (int64, error)
	// holdWriters keeps other writers out for the rest of the transaction.
	holdWriters(t *tx) error
	// snapshot are the options of a transaction that sees one instant.
	snapshot() *sql.TxOptions
	about(ctx context.Context, db *sql.DB) (About, error)
	backup(ctx context.Context, s *sqlStore, dir string) error
}

// A tx is one transaction.
type tx struct {
	ctx context.Context
	s   *sqlStore
	*sql.Tx
	stmts map[string]*sql.Stmt // by their text, on SQLite; pgx keeps its own
	full  map[[2]int]string    // parameters of a statement, by rows and columns
}

// text prepares a statement for the engine.
func (s *sqlStore) text(q string) string {
	if s.locks() {
		return q
	}
	q = strings.ReplaceAll(q, " for update skip locked", "")
	return strings.ReplaceAll(q, " for update", "")
}

// prepared returns the statement for a text, which must not vary, or nil where
// the driver keeps statements itself.
func (t *tx) prepared(q string) (*sql.Stmt, error) {
	if t.s.locks() {
		return nil, nil
	}
	if stmt := t.stmts[q]; stmt != nil {
		return stmt, nil
	}
	stmt, err := t.Tx.PrepareContext(t.ctx, t.s.text(q))
	if err == nil {
		t.stmts[q] = stmt // closed with the transaction
	}
	return stmt, err
}

// exec runs a statement and returns how many rows it changed.
func (t *tx) exec(q string, args ...any) (int64, error) {
	stmt, err := t.prepared(q)
	if err != nil {
		return 0, err
	}
	if stmt != nil {
		return affected(stmt.ExecContext(t.ctx, args...))
	}
	return affected(t.Tx.ExecContext(t.ctx, q, args...))
}

func affected(res sql.Result, err error) (int64, error) {
	if err != nil {
		return 0, err
	}
	return res.RowsAffected()
}

// one reads one row, or returns sql.ErrNoRows.
func (t *tx) one(q string, args []any, into ...any) error {
	stmt, err := t.prepared(q)
	if err != nil {
		return err
	}
	if stmt != nil {
		return stmt.QueryRowContext(t.ctx, args...).Scan(into...)
	}
	return t.Tx.QueryRowContext(t.ctx, q, args...).Scan(into...)
}

func args(all ...any) []any { return all }

// write runs fn in a transaction of its own. Nothing of it remains when fn or the
// commit fails.
func (s *sqlStore) write(ctx context.Context, doing string, fn func(*tx) error) error {
	const tries = 5
	for try := 1; ; try++ {
		err := s.writeOnce(ctx, fn)
		if err == nil {
			return nil
		}
		if _, again := s.explain(err); again && try < tries && ctx.Err() == nil {
			time.Sleep(time.Duration(try) * 10 * time.Millisecond)
			continue
		}
		return s.fail(doing, err)
	}
}

func (s *sqlStore) writeOnce(ctx context.Context, fn func(*tx) error) error {
	if s.there != nil {
		if err := s.there(); err != nil {
			return err
		}
	}
	db, err := s.w.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer db.Rollback() // does nothing after a commit
	if err := fn(&tx{ctx, s, db, map[string]*sql.Stmt{}, map[[2]int]string{}}); err != nil {
		return err
	}
	return db.Commit()
}

// get reads one row; nothing there is ErrNotFound.
func (s *sqlStore) get(ctx context.Context, doing, q string, args []any, into ...any) error {
	return s.fail(doing, s.r.QueryRowContext(ctx, q, args...).Scan(into...))
}

// collect reads rows into a slice.
func collect[T any](ctx context.Context, s *sqlStore, doing, q string, args []any, scan func(*sql.Rows) (T, error)) ([]T, error) {
	rows, err := s.r.QueryContext(ctx, q, args...)
	if err != nil {
		return nil, s.fail(doing, err)
	}
	defer rows.Close()
	var all []T
	for rows.Next() {
		v, err := scan(rows)
		if err != nil {
			return nil, s.fail(doing, err)
		}
		all = append(all, v)
	}
	return all, s.fail(doing, rows.Err())
}

// fail says what an error is: the caller's to answer, or the machine's.
func (s *sqlStore) fail(doing string, err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, sql.ErrNoRows), errors.Is(err, ErrNotFound):
		return fmt.Errorf("%s: %w", doing, ErrNotFound)
	case answerable(err):
		return err
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return fmt.Errorf("%s: %w", doing, err)
	}
	why, _ := s.explain(err)
	if why == "" && errors.Is(err, sql.ErrConnDone) {
		why = "the store was closed"
	}
	return &Unavailable{Doing: doing, Why: why, Err: err}
}

// answerable tells whether an error is one that the caller can answer.
func answerable(err error) bool {
	return is[*Conflict](err) || is[*Stale](err) || is[*Taken](err) || is[*IDTaken](err) || is[*MissingBlob](err) ||
		is[*record.RuleError](err) || is[*record.UnknownKindError](err) || is[*Unavailable](err) || is[*callerError](err) ||
		errors.Is(err, record.ErrClock) || errors.Is(err, ErrLostClaim)
}

func is[E error](err error) bool {
	_, ok := errors.AsType[E](err)
	return ok
}

// A callerError is what a function of the caller's returned within a call.
type callerError struct{ err error }

func (e *callerError) Error() string { return e.err.Error() }
func (e *callerError) Unwrap() error { return e.err }

func (s *sqlStore) Close() error {
	err := s.r.Close()
	if s.tally != nil {
		err = errors.Join(err, s.tally.close())
	}
	if s.w != s.r {
		err = errors.Join(err, s.w.Close())
	}
	return err
}

func (s *sqlStore) About(ctx context.Context) (About, error) {
	a, err := s.about(ctx, s.r)
	if err == nil {
		err = s.r.QueryRowContext(ctx, `select max(version_id) from goose_db_version`).Scan(&a.Schema)
	}
	return a, s.fail("ask about the store", err)
}

func (s *sqlStore) Ping(ctx context.Context) error {
	if err := s.blobs.ping(); err != nil {
		return err
	}
	return s.write(ctx, "reach the store", func(t *tx) error {
		_, err := t.exec(`update setting set value = value where name = ''`)
		return err
	})
}

func (s *sqlStore) Backup(ctx context.Context, dir string) error {
	return s.backup(ctx, s, dir)
}

// some is how many rows one statement of many carries.
const some = 50

// values writes the parameters of some rows: ($1, $2), ($3, $4). To SQLite $1 is a
// name, and to find hundreds of names takes longer than the statement; there they
// are nameless.
func values(rows, columns int, nameless bool) string {
	b := make([]byte, 0, rows*columns*5)
	for i := range rows * columns {
		b = append(b, map[bool]string{true: ", (", false: ", "}[i%columns == 0]...)
		if nameless {
			b = append(b, '?')
		} else {
			b = append(b, '$')
			b = strconv.AppendInt(b, int64(i+1), 10)
		}
		if i%columns == columns-1 {
			b = append(b, ')')
		}
	}
	return string(b[2:])
}

// many runs one statement for many rows, given flat, some at a time, and returns
// how many it changed. Before and after stand around the parameters.
func (t *tx) many(before, after string, columns int, flat []any) (int64, error) {
	changed := int64(0)
	for part := range slices.Chunk(flat, some*columns) {
		n, err := t.exec(before+t.values(len(part)/columns, columns)+after, part...)
		if err != nil {
			return changed, err
		}
		changed += n
	}
	return changed, nil
}

// manyBack is many for a statement that returns rows.
func (t *tx) manyBack(before, after string, columns int, flat []any, scan func(*sql.Rows) error) error {
	for part := range slices.Chunk(flat, some*columns) {
		if err := t.rows(before+t.values(len(part)/columns, columns)+after, part, scan); err != nil {
			return err
		}
	}
	return nil
}

// values remembers the text of the parameters.
func (t *tx) values(rows, columns int) string {
	size := [2]int{rows, columns}
	if t.full[size] == "" {
		t.full[size] = values(rows, columns, !t.s.locks())
	}
	return t.full[size]
}

// rows reads the rows of a statement.
func (t *tx) rows(q string, args []any, scan func(*sql.Rows) error) error {
	rows, err := t.Tx.QueryContext(t.ctx, t.s.text(q), args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := scan(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// in writes the parameters from n on for a list: $3, $4, $5.
func in(n, count int) string {
	var b strings.Builder
	for i := range count {
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "$%d", n+i)
	}
	return b.String()
}

func digestOf(b []byte) (record.Digest, error) {
	var d record.Digest
	if copy(d[:], b) != len(d) || len(b) != len(d) {
		return d, fmt.Errorf("a digest of %d bytes in the database", len(b))
	}
	return d, nil
}
