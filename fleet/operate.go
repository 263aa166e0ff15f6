package fleet

import (
	"context"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"

	"underpin/record"
	"underpin/store"
)

// Kinds of block in a key file.
const (
	privateBlock = "PRIVATE KEY"
	publicBlock  = "PUBLIC KEY"
)

// NewSealKey makes a key with which seals are signed, as the text of two files.
// The private one is kept by the operator, away from the records; the public one
// is what verification is given.
func (r *Register) NewSealKey() (private, public []byte, err error) {
	seed := make([]byte, ed25519.SeedSize)
	if _, err := io.ReadFull(r.world.Chance, seed); err != nil {
		return nil, nil, fmt.Errorf("no chance to make a key of: %w", err)
	}
	key := ed25519.NewKeyFromSeed(seed)
	secret, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		return nil, nil, err
	}
	open, err := x509.MarshalPKIXPublicKey(key.Public())
	if err != nil {
		return nil, nil, err
	}
	return pem.EncodeToMemory(&pem.Block{Type: privateBlock, Bytes: secret}), pem.EncodeToMemory(&pem.Block{Type: publicBlock, Bytes: open}), nil
}

// ReadSealKey reads a private key file that NewSealKey made.
func ReadSealKey(text []byte) (ed25519.PrivateKey, error) {
	if b, _ := pem.Decode(text); b != nil && b.Type == privateBlock {
		if key, err := x509.ParsePKCS8PrivateKey(b.Bytes); err == nil {
			if k, ok := key.(ed25519.PrivateKey); ok {
				return k, nil
			}
		}
	}
	return nil, invalid("", "key", "a file without an ed25519 private key", "the private key file that was made for sealing")
}

// ReadPublicKey reads a public key file that NewSealKey made. A private one does
// as well.
func ReadPublicKey(text []byte) (ed25519.PublicKey, error) {
	b, _ := pem.Decode(text)
	if b != nil && b.Type == publicBlock {
		if key, err := x509.ParsePKIXPublicKey(b.Bytes); err == nil {
			if k, ok := key.(ed25519.PublicKey); ok {
				return k, nil
			}
		}
	}
	if k, err := ReadSealKey(text); err == nil {
		return k.Public().(ed25519.PublicKey), nil
	}
	return nil, invalid("", "key", "a file without an ed25519 public key", "the public key file that was made with the key for sealing")
}

// Seal seals the heads of all chains. When no chain has moved since the last seal
// that one is returned, and fresh is false.
func (r *Register) Seal(ctx context.Context, key ed25519.PrivateKey) (seal *record.Seal, fresh bool, err error) {
	if _, err := r.actor(ctx, Operate); err != nil {
		return nil, false, err
	}
	for try := 1; ; try++ {
		seal, fresh, err := r.sealOnce(ctx, key)
		if err == nil || !outrun(err) || try == mostTries || ctx.Err() != nil {
			return seal, fresh, err
		}
	}
}

func (r *Register) sealOnce(ctx context.Context, key ed25519.PrivateKey) (*record.Seal, bool, error) {
	// The seal before the heads: one that is added in between makes AddSeal refuse
	// this one, whatever the heads say.
	before, err := r.store.LastSeal(ctx)
	if err != nil {
		return nil, false, err
	}
	heads, err := r.store.Heads(ctx)
	if err != nil {
		return nil, false, err
	}
	moved := false
	for _, h := range heads {
		moved = moved || h.Seq != h.Sealed
	}
	if !moved {
		if before == nil {
			return nil, false, invalid("", "records", "none", "something to seal")
		}
		return before, false, nil
	}
	seal, err := record.NewSeal(before, heads, r.now(), key)
	if err != nil {
		return nil, false, fromRecord("", err)
	}
	return seal, true, r.store.AddSeal(ctx, seal)
}

// Verify proves every record, document and seal. Trusted are the operator's public
// keys; without, signatures prove little, and the report says so.
func (r *Register) Verify(ctx context.Context, trusted ...ed25519.PublicKey) (*record.Report, error) {
	if _, err := r.actor(ctx, Prove); err != nil {
		return nil, err
	}
	return verify(ctx, r.store, trusted)
}

func verify(ctx context.Context, st store.Store, trusted []ed25519.PublicKey) (report *record.Report, err error) {
	err = st.Snapshot(ctx, func(a record.Archive) error {
		report, err = record.Verify(ctx, a, trusted)
		return err
	})
	return report, err
}

// Rebuild makes all cached state anew from the records.
func (r *Register) Rebuild(ctx context.Context) error {
	if _, err := r.actor(ctx, Operate); err != nil {
		return err
	}
	return rebuild(ctx, r.store)
}

func rebuild(ctx context.Context, st store.Store) error {
	return st.Rebuild(ctx, func(all iter.Seq2[*record.Record, error], put func(store.Row) error) error {
		state := record.NewState(nil)
		for rec, err := range all {
			if err != nil {
				return err
			}
			if _, err := state.Apply(rec); err != nil {
				return err
			}
		}
		for _, e := range state.Entities() {
			row, err := store.RowOf(e)
			if err != nil {
				return err
			}
			if err := put(row); err != nil {
				return err
			}
		}
		return nil
	})
}

// exportName is the export in a backup of a store that does not copy itself.
const exportName = "underpin-export.zip"

// Backup writes a copy of everything into an empty or new folder while the work
// goes on, and verifies the copy. A store in a data folder is copied whole, with
// passwords; of one on a database server the copy is an export, without them.
func (r *Register) Backup(ctx context.Context, dir string, trusted ...ed25519.PublicKey) (*record.Report, error) {
	if _, err := r.actor(ctx, Operate); err != nil {
		return nil, err
	}
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
	if there, err := os.ReadDir(dir); err == nil && len(there) > 0 {
		return nil, invalid("", "folder", dir+", which is not empty", "an empty or new folder")
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

// Restore copies a backup of a data folder into a new or empty one. The caller
// then opens that and verifies it.
func Restore(from, to string) error {
	if _, err := os.Stat(filepath.Join(from, exportName)); err == nil {
		return invalid("", "backup", from+", which holds an export", "a copy of a data folder; bring an export in with import")
	}
	there, err := os.ReadDir(to)
	switch {
	case err == nil && len(there) > 0:
		return invalid("", "folder", to+", which is not empty", "an empty or new folder: nothing is overwritten")
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	if info, err := os.Stat(from); err != nil || !info.IsDir() {
		return invalid("", "backup", from, "the folder of a backup")
	}
	// Beside its place first, so that a copy that broke off is never taken for whole.
	part := filepath.Clean(to) + ".restoring"
	if err := os.RemoveAll(part); err != nil {
		return err
	}
	if err := os.CopyFS(part, os.DirFS(from)); err != nil {
		return err
	}
	err = filepath.WalkDir(part, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		mode := fs.FileMode(0o600)
		if e.IsDir() {
			mode = 0o700
		}
		return errors.Join(os.Chmod(path, mode), syncPath(path))
	})
	if err != nil {
		return err
	}
	if err := os.Remove(to); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return errors.Join(os.Rename(part, to), syncPath(filepath.Dir(filepath.Clean(to))))
}

// syncPath makes a file or folder safe on the disk. Where a folder cannot be
// synced the system sees to it.
func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.IsDir() {
		_ = f.Sync()
		return nil
	}
	return f.Sync()
}
