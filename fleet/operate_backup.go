package fleet

import (
	"archive/zip"
	"compress/flate"
	"context"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"underpin/record"
	"underpin/store"
)

// backupFormat is the number of the format of a backup in one file, and backupPart
// the part that says what is in it.
const (
	backupFormat = 1
	backupPart   = "backup.json"
)

// A backupManifest says what a backup in one file holds.
type backupManifest struct {
	Backup  int         `json:"backup"` // the format
	Program string      `json:"program,omitempty"`
	Made    record.Time `json:"made"`
	Parts   []PartSum   `json:"parts"`
}

// Backup writes a backup into one new file while the work goes on, and verifies
// what it wrote. Of a data folder it is a copy of everything, passwords included; of
// a database server it is an export. The report may tell of faults: then the
// register itself has them, and so has its copy.
func (r *Register) Backup(ctx context.Context, file string, trusted ...ed25519.PublicKey) (*record.Report, error) {
	if _, err := r.actor(ctx, Operate); err != nil {
		return nil, err
	}
	if _, err := os.Lstat(file); !errors.Is(err, fs.ErrNotExist) {
		if err != nil {
			return nil, err
		}
		return nil, invalid("", "file", file+", which is there already", "a new file: no backup is overwritten")
	}
	dir := file + ".making"
	defer os.RemoveAll(dir)
	if err := os.RemoveAll(dir); err != nil { // of one that broke off
		return nil, err
	}
	report, err := r.copyTo(ctx, dir, trusted)
	if err != nil {
		return nil, err
	}
	whole := filepath.Join(dir, exportName)
	if _, err := os.Stat(whole); err != nil {
		whole = file + ".part"
		defer os.Remove(whole)
		if err := r.pack(ctx, dir, whole); err != nil {
			return nil, err
		}
	}
	if err := os.Rename(whole, file); err != nil {
		return nil, err
	}
	return report, syncPath(filepath.Dir(file))
}

// exportName is the export in a backup of a store that does not copy itself.
const exportName = "underpin-export.zip"

// copyTo writes a copy of everything into a new folder while the work goes on, and
// verifies the copy. A store in a data folder is copied whole, with passwords; of one
// on a database server the copy is an export, without them.
func (r *Register) copyTo(ctx context.Context, dir string, trusted []ed25519.PublicKey) (*record.Report, error) {
	about, err := r.store.About(ctx)
	if err != nil {
		return nil, err
	}
	if about.Engine == "sqlite" {
		if err := r.store.Backup(ctx, dir); err != nil {
			return nil, err
		}
		copied, err := store.OpenSQLite(ctx, dir, store.Options{})
		if err != nil {
			return nil, fmt.Errorf("the copy cannot be opened: %w", err)
		}
		defer copied.Close()
		return verify(ctx, copied, trusted)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	name := filepath.Join(dir, exportName)
	file, err := os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	if err := errors.Join(r.Export(ctx, file), file.Sync()); err != nil {
		return nil, err
	}
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	if _, err := CheckExport(file, info.Size()); err != nil {
		return nil, err
	}
	return verify(ctx, r.store, trusted)
}

// pack writes a folder into one file, with the digest of each part.
func (r *Register) pack(ctx context.Context, dir, file string) (err error) {
	to, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, to.Close()) }()
	x := &exporter{zip: zip.NewWriter(to)}
	x.zip.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	err = filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || ctx.Err() != nil || path == dir {
			return errors.Join(err, ctx.Err())
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		if e.IsDir() {
			if filepath.Dir(name) != "." {
				return nil
			}
			_, err := x.part(name+"/", zip.Store, func(io.Writer) error { return nil }) // it may be empty
			return err
		}
		method := zip.Deflate
		if filepath.Dir(name) != "." { // photos are packed already
			method = zip.Store
		}
		from, err := os.Open(path)
		if err != nil {
			return err
		}
		defer from.Close()
		_, err = x.part(filepath.ToSlash(name), method, func(w io.Writer) error {
			_, err := io.Copy(w, from)
			return err
		})
		return err
	})
	if err != nil {
		return err
	}
	w, err := x.zip.Create(backupPart)
	if err != nil {
		return err
	}
	if _, err := w.Write(encoded(backupManifest{backupFormat, r.world.Program, r.now(), x.m.Parts})); err != nil {
		return err
	}
	return errors.Join(x.zip.Close(), to.Sync())
}

// Restore makes a data folder of a backup or an export, and verifies it. The
// folder must be new or empty; it is there when all of it is. The report may tell of
// faults: then the register had them when the backup was made.
func Restore(ctx context.Context, file, dir string, w World, trusted ...ed25519.PublicKey) (*record.Report, error) {
	there, err := os.ReadDir(dir)
	switch {
	case err == nil && len(there) > 0:
		return nil, invalid("", "folder", dir+", which is not empty", "an empty or new folder: nothing is overwritten")
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return nil, err
	}
	from, err := os.Open(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, invalid("", "backup", file+", which is not there", "the file of a backup")
	}
	if err != nil {
		return nil, err
	}
	defer from.Close()
	info, err := from.Stat()
	if err != nil {
		return nil, err
	}
	z, err := zip.NewReader(from, info.Size())
	if err != nil {
		return nil, invalid("", "backup", file+", which is no backup, or only a part of one ("+err.Error()+")", "the file of a backup")
	}
	// Beside its place first, so that what broke off is never taken for whole.
	part := filepath.Clean(dir) + ".restoring"
	if err := os.RemoveAll(part); err != nil {
		return nil, err
	}
	defer os.RemoveAll(part)
	manifest := slices.IndexFunc(z.File, func(f *zip.File) bool { return f.Name == backupPart })
	if manifest >= 0 {
		if err := unpack(ctx, z, z.File[manifest], part); err != nil {
			return nil, err
		}
	}
	report, err := opened(ctx, part, func(st store.Store) (*record.Report, error) {
		if manifest >= 0 {
			return verify(ctx, st, trusted)
		}
		ctx := WithActor(ctx, Operator("restore"))
		w.Identity = nil
		r := New(st, w)
		report, err := r.ImportAll(ctx, from, info.Size())
		if err != nil || !report.Sound() || len(trusted) == 0 {
			return report, err
		}
		return verify(ctx, st, trusted)
	})
	if err != nil {
		return nil, err
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return report, errors.Join(os.Rename(part, dir), syncPath(filepath.Dir(filepath.Clean(dir))))
}

// opened does something with the store in a folder and closes it.
func opened(ctx context.Context, dir string, fn func(store.Store) (*record.Report, error)) (*record.Report, error) {
	st, err := store.OpenSQLite(ctx, dir, store.Options{})
	if err != nil {
		return nil, err
	}
	report, err := fn(st)
	return report, errors.Join(err, st.Close())
}

// unpack writes the parts of a backup into a new folder, and holds each against its
// digest.
func unpack(ctx context.Context, z *zip.Reader, manifest *zip.File, dir string) error {
	bad := func(where, found, expected string) error { return invalid("backup", where, found, expected) }
	text, err := readAll(manifest, 1<<28)
	if err != nil {
		return damaged(backupPart, err)
	}
	var m backupManifest
	if err := json.Unmarshal(text, &m); err != nil {
		return bad(backupPart, err.Error(), "the list of what the backup holds")
	}
	if m.Backup != backupFormat {
		return bad(backupPart, fmt.Sprintf("format %d", m.Backup), fmt.Sprintf("format %d; a later program wrote it", backupFormat))
	}
	files := map[string]*zip.File{}
	for _, f := range z.File {
		files[f.Name] = f
	}
	if len(files) != len(z.File) || len(m.Parts)+1 != len(z.File) {
		return bad(backupPart, fmt.Sprintf("%d parts listed and %d there", len(m.Parts), len(z.File)-1), "each part listed, once, and no other")
	}
	for _, p := range m.Parts {
		f := files[p.Name]
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case f == nil:
			return bad(p.Name, "nothing", "a part that is listed")
		case !filepath.IsLocal(filepath.FromSlash(p.Name)) || strings.Contains(p.Name, `\`):
			return bad(p.Name, "a name that leads out of the folder", "a name within it")
		}
		if err := unpackOne(f, p, filepath.Join(dir, filepath.FromSlash(p.Name))); err != nil {
			return err
		}
	}
	return nil
}

func unpackOne(f *zip.File, p PartSum, path string) error {
	if strings.HasSuffix(p.Name, "/") {
		return os.MkdirAll(path, 0o700)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	from, err := f.Open()
	if err != nil {
		return damaged(p.Name, err)
	}
	defer from.Close()
	to, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	defer to.Close()
	c := &counted{to: to, sum: sha256.New()}
	if _, err := io.Copy(c, io.LimitReader(from, p.Bytes+1)); err != nil {
		if _, disk := errors.AsType[*fs.PathError](err); disk {
			return err
		}
		return damaged(p.Name, err)
	}
	if d := record.Digest(c.sum.Sum(nil)); d != p.Digest || c.n != p.Bytes {
		return invalid("backup", p.Name, "the digest "+d.String(), p.Digest.String()+": the file was altered or damaged")
	}
	return errors.Join(to.Sync(), syncPath(filepath.Dir(path)))
}

func damaged(part string, err error) error {
	return invalid("backup", part, "what cannot be unpacked ("+err.Error()+")", "the part as it was written: the file was altered or damaged")
}
