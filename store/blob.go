package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"

	"underpin/record"
)

// A blobKeeper keeps the content of blobs. What there is, the table blob says.
type blobKeeper interface {
	// put reads all of r and returns its digest; once it has returned, the content
	// survives whatever happens.
	put(ctx context.Context, r io.Reader) (record.Digest, int64, error)
	open(ctx context.Context, d record.Digest) (io.ReadSeekCloser, error)
	// read digests what is there, and tells whether anything is.
	read(ctx context.Context, d record.Digest) (record.Digest, bool, error)
	ping() error
}

func (s *sqlStore) PutBlob(ctx context.Context, r io.Reader) (record.Digest, int64, error) {
	return s.blobs.put(ctx, r)
}

func (s *sqlStore) Blob(ctx context.Context, d record.Digest) (io.ReadSeekCloser, error) {
	return s.blobs.open(ctx, d)
}

func (s *sqlStore) BlobSizes(ctx context.Context) iter.Seq2[BlobInfo, error] {
	return func(yield func(BlobInfo, error) bool) {
		const doing = "list documents"
		rows, err := s.r.QueryContext(ctx, `select digest, bytes from blob order by digest`)
		if err != nil {
			yield(BlobInfo{}, s.fail(doing, err))
			return
		}
		defer rows.Close()
		for rows.Next() {
			var b BlobInfo
			var digest []byte
			err := rows.Scan(&digest, &b.Bytes)
			if err == nil {
				b.Digest, err = digestOf(digest)
			}
			if !yield(b, s.fail(doing, err)) || err != nil {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(BlobInfo{}, s.fail(doing, err))
		}
	}
}

// A TooLarge says that a document is larger than may be kept.
type TooLarge struct{ Most int64 }

func (e *TooLarge) Error() string {
	return fmt.Sprintf("the document is larger than %d MB", e.Most>>20)
}

// folder keeps blobs as files in a folder, under their digest in hexadecimal
// digits, the first two as a folder of their own.
type folder struct {
	s   *sqlStore
	dir string
}

func (f *folder) path(d record.Digest) string {
	name := d.String()
	return filepath.Join(f.dir, name[:2], name[2:])
}

// gone says in plain words that a file or folder cannot be used.
func (f *folder) gone(doing string, err error) error {
	why := plainWhy(err)
	if _, statErr := os.Stat(f.dir); errors.Is(statErr, fs.ErrNotExist) {
		why = "the folder " + f.dir + " with the photos and documents is not there; bring it back from the backup, or mount it"
	}
	return &Unavailable{Doing: doing, Why: why, Err: err}
}

func (f *folder) ping() error {
	info, err := os.Stat(f.dir)
	if err == nil && !info.IsDir() {
		err = fmt.Errorf("%s is a file", f.dir)
	}
	if err != nil {
		return f.gone("reach the photos and documents", err)
	}
	return nil
}

// put writes to a file of another name, makes it and its name safe, and only
// then lets the table know of it.
func (f *folder) put(ctx context.Context, r io.Reader) (d record.Digest, n int64, err error) {
	const doing = "keep a document"
	if err := f.ping(); err != nil { // a folder that is not mounted must not be made anew
		return d, 0, err
	}
	temp, err := os.CreateTemp(f.dir, incoming+"*")
	if err != nil {
		return d, 0, f.gone(doing, err)
	}
	kept := false
	defer func() {
		temp.Close()
		if !kept {
			os.Remove(temp.Name())
		}
	}()
	sum := sha256.New()
	source := &failingReader{r: io.LimitReader(r, f.s.most+1)}
	n, err = io.Copy(io.MultiWriter(temp, sum), source)
	switch {
	case source.err != nil:
		return d, 0, fmt.Errorf("%s: %w", doing, source.err)
	case err != nil:
		return d, 0, f.gone(doing, err)
	case n > f.s.most:
		return d, 0, &TooLarge{f.s.most}
	}
	sum.Sum(d[:0])
	path := f.path(d)
	if err := temp.Sync(); err != nil {
		return d, 0, f.gone(doing, err)
	}
	if err := temp.Close(); err != nil {
		return d, 0, f.gone(doing, err)
	}
	// The digest is the name, so what a file of this name holds is the same; it is
	// replaced all the same, in case it was damaged.
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return d, 0, f.gone(doing, err)
	}
	if err := os.Rename(temp.Name(), path); err != nil {
		return d, 0, f.gone(doing, err)
	}
	kept = true
	for _, dir := range []string{filepath.Dir(path), f.dir} {
		if err := syncDir(dir); err != nil {
			return d, 0, f.gone(doing, err)
		}
	}
	return d, n, f.s.write(ctx, doing, func(t *tx) error {
		_, err := t.exec(`insert into blob (digest, bytes) values ($1, $2) on conflict (digest) do nothing`, d[:], n)
		return err
	})
}

// A failingReader remembers that reading failed, and not writing.
type failingReader struct {
	r   io.Reader
	err error
}

func (f *failingReader) Read(b []byte) (int, error) {
	n, err := f.r.Read(b)
	if err != nil && err != io.EOF {
		f.err = err
	}
	return n, err
}

func (f *folder) open(ctx context.Context, d record.Digest) (io.ReadSeekCloser, error) {
	doing := "document " + d.String()
	file, err := os.Open(f.path(d))
	if err == nil {
		return file, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, f.gone(doing, err)
	}
	// Not there as a file: never put, or lost?
	var n int64
	if err := f.s.get(ctx, doing, `select bytes from blob where digest = $1`, args(d[:]), &n); err != nil {
		return nil, err
	}
	return nil, f.gone(doing, err)
}

func (f *folder) read(_ context.Context, d record.Digest) (record.Digest, bool, error) {
	if err := f.ping(); err != nil {
		return record.Digest{}, false, err
	}
	file, err := os.Open(f.path(d))
	if errors.Is(err, fs.ErrNotExist) {
		return record.Digest{}, false, nil
	}
	if err != nil {
		return record.Digest{}, false, f.gone("document "+d.String(), err)
	}
	defer file.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, file); err != nil {
		return record.Digest{}, false, f.gone("document "+d.String(), err)
	}
	var got record.Digest
	sum.Sum(got[:0])
	return got, true, nil
}

// table keeps blobs in the database.
type table struct{ s *sqlStore }

func (t *table) ping() error { return nil }

func (t *table) put(ctx context.Context, r io.Reader) (d record.Digest, n int64, err error) {
	const doing = "keep a document"
	content, err := io.ReadAll(io.LimitReader(r, t.s.most+1))
	if err != nil {
		return d, 0, fmt.Errorf("%s: %w", doing, err)
	}
	if int64(len(content)) > t.s.most {
		return d, 0, &TooLarge{t.s.most}
	}
	d = record.DigestOf(content)
	return d, int64(len(content)), t.s.write(ctx, doing, func(t *tx) error {
		_, err := t.exec(`insert into blob (digest, bytes, content) values ($1, $2, $3) on conflict (digest) do nothing`, d[:], len(content), content)
		return err
	})
}

type closing struct{ *bytes.Reader }

func (closing) Close() error { return nil }

func (t *table) open(ctx context.Context, d record.Digest) (io.ReadSeekCloser, error) {
	var content []byte
	if err := t.s.get(ctx, "document "+d.String(), `select content from blob where digest = $1`, args(d[:]), &content); err != nil {
		return nil, err
	}
	return closing{bytes.NewReader(content)}, nil
}

func (t *table) read(ctx context.Context, d record.Digest) (record.Digest, bool, error) {
	var content sql.RawBytes
	rows, err := t.s.r.QueryContext(ctx, `select content from blob where digest = $1`, d[:])
	if err != nil {
		return record.Digest{}, false, t.s.fail("document "+d.String(), err)
	}
	defer rows.Close()
	if !rows.Next() {
		return record.Digest{}, false, t.s.fail("document "+d.String(), rows.Err())
	}
	if err := rows.Scan(&content); err != nil {
		return record.Digest{}, false, t.s.fail("document "+d.String(), err)
	}
	return record.DigestOf(content), true, nil
}
