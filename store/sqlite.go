package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Names within the data folder.
const (
	sqliteFile = "underpin.db"
	blobDir    = "blobs"
	backupDir  = "backup"
)

// OpenSQLite opens the store in a data folder, and makes it when there is none.
// Before the first pending migration it writes a backup of the database beside
// it. A folder that was written by a later version is refused with a
// *NewerSchema.
func OpenSQLite(ctx context.Context, dir string, o Options) (Store, error) {
	s, err := openSQLite(ctx, dir, o)
	if err != nil {
		return nil, err // not a nil *sqlStore in a Store
	}
	return s, nil
}

func openSQLite(ctx context.Context, dir string, o Options) (_ *sqlStore, err error) {
	doing := "open the data folder " + dir
	file := filepath.Join(dir, sqliteFile)
	_, statErr := os.Stat(file)
	fresh := errors.Is(statErr, fs.ErrNotExist)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, &Unavailable{Doing: doing, Why: plainWhy(err), Err: err}
	}
	if fresh { // later a missing folder is a loss, and not to be made anew in silence
		if err := os.MkdirAll(filepath.Join(dir, blobDir), 0o700); err != nil {
			return nil, &Unavailable{Doing: doing, Why: plainWhy(err), Err: err}
		}
	}
	s := &sqlStore{dialect: sqliteDialect{dir}, most: MaxBlob, log: o.Log}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	s.blobs = &folder{s, filepath.Join(dir, blobDir)}
	if s.w, err = sql.Open("sqlite", sqliteAddress(file, false)); err != nil {
		return nil, s.fail(doing, err)
	}
	s.w.SetMaxOpenConns(1) // SQLite has one writer
	s.r = s.w
	defer func() {
		if err != nil {
			s.Close()
		}
	}()
	m, err := newMigration(ctx, s.engine(), s.w, o)
	if err != nil {
		return nil, s.failOpen(doing, err)
	}
	if m.has < m.known {
		if m.has > 0 {
			if err := s.backupBefore(ctx, dir, m.known); err != nil {
				return nil, err
			}
		}
		s.log.Info("bring the schema up to date", "from", m.has, "to", m.known)
		if err := m.up(ctx); err != nil {
			return nil, s.failOpen(doing, err)
		}
	}
	if s.r, err = sql.Open("sqlite", sqliteAddress(file, true)); err != nil {
		s.r = s.w
		return nil, s.fail(doing, err)
	}
	s.r.SetMaxOpenConns(readers)
	s.r.SetMaxIdleConns(readers)
	watch, err := sql.Open("sqlite", sqliteAddress(file, true))
	if err != nil {
		return nil, s.fail(doing, err)
	}
	s.tally = &counts{db: watch}
	clearIncoming(filepath.Join(dir, blobDir))
	opened, err := os.Stat(file)
	if err != nil {
		return nil, s.fail(doing, err)
	}
	s.there = func() error { return stillThere(file, opened) }
	return s, nil
}

// stillThere tells whether the database is still the file that was opened. A file that
// was taken away or replaced can be written on many systems all the same, and nobody
// would ever find again what was acknowledged.
func stillThere(file string, opened os.FileInfo) error {
	now, err := os.Stat(file)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &Unavailable{Doing: "write", Why: "the database " + file + " is not there any more: put the folder back and start anew", Err: err}
	case err != nil:
		return &Unavailable{Doing: "write", Why: plainWhy(err), Err: err}
	case !os.SameFile(opened, now):
		return &Unavailable{Doing: "write", Why: "the database " + file + " was replaced by another: start anew", Err: fs.ErrExist}
	}
	return nil
}

// readers is how many may read at once.
const readers = 4

// failOpen keeps a *NewerSchema as it is.
func (s *sqlStore) failOpen(doing string, err error) error {
	if is[*NewerSchema](err) {
		return fmt.Errorf("%s: %w", doing, err)
	}
	return s.fail(doing, err)
}

// sqliteAddress holds the settings in itself, so that each connection has them.
func sqliteAddress(file string, reader bool) string {
	path := filepath.ToSlash(file)
	if filepath.VolumeName(file) != "" {
		path = "/" + path
	}
	q := url.Values{"_pragma": {
		"busy_timeout(10000)", // another program may be writing
		"journal_mode(WAL)",
		"synchronous(FULL)", // what is acknowledged survives a power cut
		"foreign_keys(1)",
		"temp_store(memory)",
	}}
	if reader {
		// A reader throws its cache away whenever something was written, so a large one
		// costs more than it saves: the system's own cache is behind it.
		q["_pragma"] = append(q["_pragma"], "query_only(1)", "cache_size(-2048)")
	} else {
		q["_pragma"] = append(q["_pragma"], "cache_size(-32768)")
		q.Set("_txlock", "immediate")
	}
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + q.Encode()
}

type sqliteDialect struct{ dir string }

func (sqliteDialect) engine() string           { return "sqlite" }
func (sqliteDialect) locks() bool              { return false }
func (sqliteDialect) snapshot() *sql.TxOptions { return &sql.TxOptions{ReadOnly: true} }
func (sqliteDialect) holdWriters(*tx) error    { return nil } // a transaction that writes is alone

func (d sqliteDialect) explain(err error) (string, bool) {
	lite, ok := errors.AsType[*sqlite.Error](err)
	if !ok {
		return plainWhy(err), false
	}
	switch lite.Code() & 0xff {
	case sqlite3.SQLITE_FULL:
		return "the disk is full", false
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED:
		return "another program holds the database", false
	case sqlite3.SQLITE_READONLY:
		return "the data folder " + d.dir + " cannot be written", false
	case sqlite3.SQLITE_CANTOPEN:
		if _, err := os.Stat(d.dir); errors.Is(err, fs.ErrNotExist) {
			return "the data folder " + d.dir + " is not there", false
		}
		return "the database in " + d.dir + " cannot be opened: is the folder there, and may this program write to it?", false
	case sqlite3.SQLITE_IOERR:
		return "the disk failed, or is full", false
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		return "the database in " + d.dir + " is damaged; restore a backup", false
	}
	return "", false
}

// plainWhy says in plain words what an error of the operating system means.
func plainWhy(err error) string {
	switch {
	case errors.Is(err, syscall.ENOSPC):
		return "the disk is full"
	case errors.Is(err, syscall.EFBIG):
		return "the file may not grow any more: the disk or its quota is full"
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return "it may not be written: look at who owns the folder"
	case errors.Is(err, fs.ErrNotExist):
		return "it is not there"
	}
	return ""
}

func (sqliteDialect) index(t *tx, n int64, words string, fresh bool) error {
	if !fresh {
		if _, err := t.exec(`delete from entity_text where rowid = $1`, n); err != nil {
			return err
		}
	}
	_, err := t.exec(`insert into entity_text (rowid, words) values ($1, $2)`, n, words)
	return err
}

func (sqliteDialect) unindex(t *tx) error {
	_, err := t.exec(`insert into entity_text (entity_text) values ('delete-all')`)
	return err
}

func (sqliteDialect) reindex(t *tx, _ int64) error {
	_, err := t.exec(`insert into entity_text (rowid, words) select n, words from entity where sort <> ''`)
	return err
}

func (sqliteDialect) holding(texts []string, n int) (string, string, []any) {
	// The texts are letters, digits and blanks, so that quoting them is all there is
	// to do.
	return `entity_text t join entity e on e.n = t.rowid`, fmt.Sprintf(`t.words match $%d`, n), args(`"` + strings.Join(texts, `" "`) + `"`)
}

func (sqliteDialect) addReadings(t *tx, delivery int64, all []numberedReading) (int64, error) {
	// More rows to a statement than elsewhere, and the same list of values again and
	// again: readings come by the hundred thousand.
	const rows, columns = 200, 5
	flat := make([]any, 0, rows*columns)
	added := int64(0)
	for part := range slices.Chunk(all, rows) {
		flat = flat[:0]
		for _, r := range part {
			flat = append(flat, r.meter, r.at, r.metres, r.unit, delivery)
		}
		n, err := t.exec(`insert into reading (meter, at, metres, unit, delivery) values `+t.values(len(part), columns)+` on conflict do nothing`, flat...)
		if err != nil {
			return 0, err
		}
		added += n
	}
	return added, nil
}

func (d sqliteDialect) about(ctx context.Context, db *sql.DB) (About, error) {
	a := About{Engine: d.engine(), Place: d.dir}
	err := db.QueryRowContext(ctx, `select sqlite_version(), (select page_count from pragma_page_count()) * (select page_size from pragma_page_size())`).Scan(&a.Version, &a.Bytes)
	return a, err
}

// backupBefore copies the database before it is changed for a new schema.
func (s *sqlStore) backupBefore(ctx context.Context, dir string, schema int64) error {
	doing := "back up before the schema is brought up to date"
	to := filepath.Join(dir, backupDir)
	if err := os.MkdirAll(to, 0o700); err != nil {
		return &Unavailable{Doing: doing, Why: plainWhy(err), Err: err}
	}
	file := filepath.Join(to, fmt.Sprintf("before-schema-%d.db", schema))
	for n := 2; ; n++ { // one of an attempt that failed is kept
		if _, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) {
			break
		}
		file = filepath.Join(to, fmt.Sprintf("before-schema-%d-%d.db", schema, n))
	}
	if err := vacuumInto(ctx, s.w, file); err != nil {
		return s.fail(doing, err)
	}
	s.log.Info("backed up the database", "file", file)
	return nil
}

// vacuumInto writes a copy of the database as it stands at one instant.
func vacuumInto(ctx context.Context, db *sql.DB, file string) error {
	if _, err := db.ExecContext(ctx, `vacuum into $1`, file); err != nil {
		os.Remove(file)
		return err
	}
	if err := os.Chmod(file, 0o600); err != nil {
		return err
	}
	copied, err := os.OpenFile(file, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer copied.Close()
	if err := copied.Sync(); err != nil {
		return err
	}
	return syncDir(filepath.Dir(file))
}

func (d sqliteDialect) backup(ctx context.Context, s *sqlStore, dir string) error {
	doing := "back up to " + dir
	if there, err := os.ReadDir(dir); err == nil && len(there) > 0 {
		return &Unavailable{Doing: doing, Why: "the folder is not empty", Err: fs.ErrExist}
	}
	if err := os.MkdirAll(filepath.Join(dir, blobDir), 0o700); err != nil {
		return &Unavailable{Doing: doing, Why: plainWhy(err), Err: err}
	}
	// The database first: a blob is there before a record names it, so what is
	// copied afterwards holds all that the copy names.
	// On a connection of its own, which only reads and so holds up no writer.
	db, err := sql.Open("sqlite", sqliteAddress(filepath.Join(d.dir, sqliteFile), false))
	if err != nil {
		return s.fail(doing, err)
	}
	defer db.Close()
	if err := vacuumInto(ctx, db, filepath.Join(dir, sqliteFile)); err != nil {
		return s.fail(doing, err)
	}
	from := filepath.Join(d.dir, blobDir)
	err = filepath.WalkDir(from, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || ctx.Err() != nil {
			return errors.Join(err, ctx.Err())
		}
		rel, err := filepath.Rel(from, path)
		if err != nil {
			return err
		}
		to := filepath.Join(dir, blobDir, rel)
		switch {
		case strings.HasPrefix(entry.Name(), incoming):
			return nil
		case entry.IsDir():
			return os.MkdirAll(to, 0o700)
		}
		return copyFile(path, to)
	})
	if err != nil {
		return &Unavailable{Doing: doing, Why: plainWhy(err), Err: err}
	}
	return nil
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, in); err != nil {
		out.Close()
		return err
	}
	return errors.Join(out.Sync(), out.Close())
}

// incoming begins the name of a file that is being written.
const incoming = ".incoming-"

// clearIncoming removes what an end of the program left half-written a day ago or
// earlier. Nothing names it.
func clearIncoming(dir string) {
	left, _ := filepath.Glob(filepath.Join(dir, incoming+"*"))
	for _, file := range left {
		if info, err := os.Stat(file); err == nil && time.Since(info.ModTime()) > 24*time.Hour {
			os.Remove(file)
		}
	}
}
