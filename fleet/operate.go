package fleet

import (
	"context"
	"crypto/ed25519"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"io"
	"iter"
	"os"

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
		for row, err := range store.RowsOf(state.Entities()) {
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
