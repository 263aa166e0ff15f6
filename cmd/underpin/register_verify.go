package main

import (
	"context"
	"crypto/ed25519"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"underpin/fleet"
	"underpin/record"
)

// keys are the operator's public keys. It is embedded in each command that proves.
type keys struct {
	PublicKey []string `help:"Public key that the seals must be signed with; may be given several times. Without one a forger's own key would do." placeholder:"FILE" sep:"none" env:"UNDERPIN_PUBLIC_KEY"`
}

func (k *keys) read() ([]ed25519.PublicKey, error) {
	var all []ed25519.PublicKey
	for _, file := range k.PublicKey {
		text, err := readKey("--public-key", file)
		if err != nil {
			return nil, err
		}
		key, err := fleet.ReadPublicKey(text)
		if err != nil {
			return nil, &argError{"--public-key", file + ", which holds no public key", "the file FILE.pub that underpin keygen wrote"}
		}
		all = append(all, key)
	}
	return all, nil
}

func readKey(flag, file string) ([]byte, error) {
	text, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &argError{flag, file + ", which is not there", "a key file that underpin keygen wrote"}
	}
	return text, err
}

// readSealKey reads the operator's private key.
func readSealKey(file string) (ed25519.PrivateKey, error) {
	text, err := readKey("--seal-key", file)
	if err != nil {
		return nil, err
	}
	key, err := fleet.ReadSealKey(text)
	if err != nil {
		return nil, &argError{"--seal-key", file + ", which holds no private key", "the file that underpin keygen wrote"}
	}
	return key, nil
}

type verifyCmd struct {
	where
	keys
	JSON bool `name:"json" help:"Print the report as JSON."`
}

// Run proves every record, document and seal. A register that is not sound is the
// answer no.
func (c *verifyCmd) Run(p *program) error {
	trusted, err := c.keys.read()
	if err != nil {
		return err
	}
	return c.withRegister(func(ctx context.Context, r *fleet.Register) error {
		report, err := r.Verify(ctx, trusted...)
		if err != nil {
			return err
		}
		return p.proof(report, c.JSON)
	})
}

// A proved is what a verification found, as other programs read it.
type proved struct {
	Good       bool           `json:"good"`
	Records    int64          `json:"records"`
	Chains     int64          `json:"chains"`
	Documents  int64          `json:"documents"`
	Seals      int64          `json:"seals"`
	Trusted    bool           `json:"trusted"`
	Unsealed   int64          `json:"unsealed"`
	LastSeal   int64          `json:"last_seal"`
	LastDigest *record.Digest `json:"last_digest"`
	Faults     []record.Fault `json:"faults"`
}

func newProved(r *record.Report) proved {
	v := proved{Good: r.Sound(), Records: r.Records, Chains: r.Chains, Documents: r.Blobs, Seals: r.Seals, Trusted: r.Trusted,
		Unsealed: r.Unsealed, LastSeal: r.LastSeal, Faults: append([]record.Fault{}, r.Faults...)}
	if r.LastSeal != 0 {
		v.LastDigest = &r.LastDigest
	}
	return v
}

// proof tells what a verification found; faults are the answer no.
func (p *program) proof(r *record.Report, asJSON bool) error {
	if !r.Sound() {
		p.code = exitNo
	}
	if asJSON {
		return p.printJSON(newProved(r))
	}
	printProof(p.out, r)
	return nil
}

func printProof(w io.Writer, r *record.Report) {
	if r.Sound() {
		fmt.Fprintln(w, "● Nothing is altered, removed, reordered or inserted.")
	} else {
		fmt.Fprintf(w, "✕ %s\n\n", counted(int64(len(r.Faults)), "fault", "faults"))
		for _, f := range r.Faults {
			paragraph(w, "  ", "    ", f.String())
		}
		if len(r.Faults) >= record.MaxFaults {
			fmt.Fprintln(w, "  Only the first are listed.")
		}
	}
	fmt.Fprintln(w)
	paragraph(w, "  ", "  ", fmt.Sprintf("Read again: %s in %s, %s, %s.", counted(r.Records, "record", "records"), counted(r.Chains, "chain", "chains"),
		counted(r.Blobs, "document", "documents"), counted(r.Seals, "seal", "seals")))
	if r.LastSeal != 0 {
		paragraph(w, "  ", "  ", fmt.Sprintf("Seal %d, the newest, has the digest %s: hold it against the one you noted elsewhere.", r.LastSeal, r.LastDigest))
	}
	if r.Unsealed > 0 {
		paragraph(w, "  ", "  ", fmt.Sprintf("No seal covers %s yet: of these only the chain itself is proof.", counted(r.Unsealed, "record", "records")))
	}
	if r.Seals > 0 && !r.Trusted {
		paragraph(w, "▲ ", "  ", "The seals were held only against the key that each names itself; a forger's own would do. Give yours with --public-key.")
	}
}

// counted writes a number with its noun.
func counted(n int64, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

type sealCmd struct {
	where
	SealKey string `help:"Private key to sign with." placeholder:"FILE" env:"UNDERPIN_SEAL_KEY" required:""`
	JSON    bool   `name:"json" help:"Print the seal as JSON."`
}

// Run seals the heads of all chains.
func (c *sealCmd) Run(p *program) error {
	key, err := readSealKey(c.SealKey)
	if err != nil {
		return err
	}
	return c.withRegister(func(ctx context.Context, r *fleet.Register) error {
		seal, fresh, err := r.Seal(ctx, key)
		if err != nil {
			return err
		}
		if c.JSON {
			return p.printJSON(struct {
				Seal    int64         `json:"seal"`
				New     bool          `json:"new"`
				Records int64         `json:"records"`
				Chains  int64         `json:"chains"`
				Made    record.Time   `json:"made"`
				Digest  record.Digest `json:"digest"`
			}{seal.Number, fresh, seal.Records, seal.Chains, seal.Made, seal.Digest})
		}
		if !fresh {
			fmt.Fprintf(p.out, "Nothing was entered since seal %d.\n", seal.Number)
		} else {
			fmt.Fprintf(p.out, "Seal %d covers %s in %s.\n", seal.Number, counted(seal.Records, "record", "records"), counted(seal.Chains, "chain", "chains"))
		}
		fmt.Fprintf(p.out, "Its digest, to be noted elsewhere (paper will do):\n  %s\n", seal.Digest)
		return nil
	})
}

type keygenCmd struct {
	File string `arg:"" help:"File for the private key; FILE.pub is for the public one. Neither may be there."`
}

// Run makes a key for sealing.
func (c *keygenCmd) Run(p *program) error {
	private, public, err := fleet.New(nil, fleet.World{}).NewSealKey()
	if err != nil {
		return err
	}
	for _, f := range []struct {
		name string
		text []byte
		mode fs.FileMode
	}{{c.File, private, 0o600}, {c.File + ".pub", public, 0o644}} {
		if err := newFile(f.name, f.text, f.mode); err != nil {
			return err
		}
	}
	fmt.Fprintf(p.out, "%s signs the seals: keep it away from the records, and keep a copy.\n%s.pub proves them: underpin verify --public-key %s.pub\n", c.File, c.File, c.File)
	return nil
}

// newFile writes a file that is not there yet.
func newFile(name string, text []byte, mode fs.FileMode) (err error) {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if errors.Is(err, fs.ErrExist) {
		return &argError{"FILE", name + ", which is there already", "a new file: no key is overwritten"}
	}
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	return errors.Join(err, f.Sync(), f.Close())
}
