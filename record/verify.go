package record

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"iter"
	"slices"
	"strings"
)

// Stored is a record as a store holds it: the bytes, and what the store wrote
// beside them. Verification believes neither.
type Stored struct {
	Asset  Asset
	Seq    int64
	ID     ID
	Kind   string
	Digest Digest
	Bytes  []byte
}

// An Archive gives out all that is to be verified.
type Archive interface {
	// Seals yields the seals by number.
	Seals(ctx context.Context) iter.Seq2[*Seal, error]
	// Stored yields every record; those of one chain in the order of Seq. How
	// chains are mixed does not matter. The bytes may be reused after the yield.
	Stored(ctx context.Context) iter.Seq2[Stored, error]
	// Chain returns one chain's records, in the order of Seq.
	Chain(ctx context.Context, a Asset) ([]Stored, error)
	// Heads yields the end of every chain.
	Heads(ctx context.Context) iter.Seq2[Head, error]
	// ReadBlob reads a blob again and returns the digest of what is there, or
	// false when it is not there.
	ReadBlob(ctx context.Context, d Digest) (Digest, bool, error)
}

// The kinds of fault that verification finds.
const (
	Altered   = "altered"   // the bytes of a record are not those that were entered
	Removed   = "removed"   // a record is missing
	Reordered = "reordered" // a record stands in another place than it was entered at
	Inserted  = "inserted"  // a record stands where none was entered
	BadHead   = "head"      // the end of a chain is not what the store noted
	BadBlob   = "blob"      // a photo or document is missing or is another
	BadSeal   = "seal"      // a seal is broken, missing or signed with another key
)

// A Fault is one thing that verification found, and where.
type Fault struct {
	What  string `json:"what"`
	Asset Asset  `json:"asset,omitempty"`
	Seq   int64  `json:"seq,omitempty"`
	ID    ID     `json:"id,omitempty"`
	Seal  int64  `json:"seal,omitempty"`
	Why   string `json:"why"`
}

func (f Fault) String() string {
	var b strings.Builder
	b.WriteString(f.What)
	if f.Seal != 0 {
		fmt.Fprintf(&b, ": seal %d", f.Seal)
	}
	if f.Asset != "" {
		fmt.Fprintf(&b, ": %s", f.Asset)
	}
	if f.Seq != 0 {
		fmt.Fprintf(&b, ", record %d", f.Seq)
	}
	if f.ID != "" {
		fmt.Fprintf(&b, " (%s)", f.ID)
	}
	return b.String() + ": " + f.Why
}

// A Report is the outcome of a verification.
type Report struct {
	Records int64   `json:"records"`
	Chains  int64   `json:"chains"`
	Blobs   int64   `json:"blobs"`
	Seals   int64   `json:"seals"`
	Faults  []Fault `json:"faults"`

	// Trusted tells whether the signatures were held against keys that the caller
	// knows. Without, a forger's own key would do.
	Trusted bool `json:"trusted"`
	// Unsealed counts the records that no seal covers yet: of these only the chain
	// itself is proof.
	Unsealed int64 `json:"unsealed"`
	// LastSeal is the newest seal's number and digest, for holding against a copy
	// kept elsewhere.
	LastSeal   int64  `json:"last_seal,omitempty"`
	LastDigest Digest `json:"last_digest,omitzero"`
}

// Sound tells whether nothing was found.
func (r *Report) Sound() bool { return len(r.Faults) == 0 }

// MaxFaults is how many faults are listed; a chain that was rewritten would
// otherwise list every record.
const MaxFaults = 1000

// Verify proves every chain, every blob that a record names, and every seal. The
// error is the archive's own; what is wrong with the records is in the report.
// Trusted are the operator's public keys; with none, seals are only held against
// the key that each names itself, and Report.Trusted is false.
func Verify(ctx context.Context, src Archive, trusted []ed25519.PublicKey) (*Report, error) {
	v := verifier{report: Report{Trusted: len(trusted) > 0}, chains: map[Asset]*chainEnd{}, blobs: map[Digest]place{}}
	if err := v.seals(ctx, src, trusted); err != nil {
		return nil, err
	}
	for stored, err := range src.Stored(ctx) {
		if err != nil {
			return nil, err
		}
		v.record(&stored)
	}
	if err := v.ends(ctx, src); err != nil {
		return nil, err
	}
	if err := v.suspects(ctx, src); err != nil {
		return nil, err
	}
	v.marks()
	for _, d := range sortedKeys(v.blobs) {
		at := v.blobs[d]
		got, there, err := src.ReadBlob(ctx, d)
		if err != nil {
			return nil, err
		}
		v.report.Blobs++
		switch {
		case !there:
			v.fault(Fault{What: BadBlob, Asset: at.asset, Seq: at.seq, ID: at.id, Why: "the document " + d.String() + " is not there"})
		case got != d:
			v.fault(Fault{What: BadBlob, Asset: at.asset, Seq: at.seq, ID: at.id, Why: "the document " + d.String() + " was swapped or altered: what is there has the digest " + got.String()})
		}
	}
	return &v.report, nil
}

func sortedKeys(m map[Digest]place) []Digest {
	keys := make([]Digest, 0, len(m))
	for d := range m {
		keys = append(keys, d)
	}
	slices.SortFunc(keys, func(a, b Digest) int { return slices.Compare(a[:], b[:]) })
	return keys
}

type place struct {
	asset Asset
	seq   int64
	id    ID
}

// A chainEnd is what the verifier keeps of a chain while it runs.
type chainEnd struct {
	seq     int64
	digest  Digest
	suspect bool
	head    Head
	headed  bool
	marks   []sealMark // what seals say of it, in rising order, not yet reached
	missed  []sealMark // marks that the chain contradicts
	sealed  int64
}

type sealMark struct {
	seal   int64
	seq    int64
	digest Digest
}

type verifier struct {
	report Report
	chains map[Asset]*chainEnd
	blobs  map[Digest]place
	last   *chainEnd // the chain of the record before: records of one command stand together
	name   Asset
	r      Record // reused
}

func (v *verifier) fault(f Fault) {
	if len(v.report.Faults) < MaxFaults {
		v.report.Faults = append(v.report.Faults, f)
	}
}

func (v *verifier) chain(a Asset) *chainEnd {
	if v.last != nil && v.name == a {
		return v.last
	}
	c := v.chains[a]
	if c == nil {
		c = &chainEnd{}
		v.chains[a] = c
	}
	v.last, v.name = c, a
	return c
}

// record follows a chain by one record. Anything amiss makes the chain a suspect,
// to be looked at whole afterwards.
func (v *verifier) record(s *Stored) {
	v.report.Records++
	c := v.chain(s.Asset)
	if c.suspect {
		return
	}
	digest := DigestOf(s.Bytes)
	v.r = Record{}
	if digest != s.Digest || v.r.decode(s.Bytes) != nil ||
		v.r.Asset != s.Asset || v.r.Seq != s.Seq || v.r.ID != s.ID || v.r.Kind != s.Kind ||
		v.r.Seq != c.seq+1 || v.r.Previous != c.digest {
		c.suspect = true
		return
	}
	c.seq, c.digest = s.Seq, digest
	c.reach()
	for _, d := range v.r.Blobs {
		if _, known := v.blobs[d]; !known {
			v.blobs[d] = place{s.Asset, s.Seq, s.ID}
		}
	}
}

// reach holds the chain's end against what seals say of it.
func (c *chainEnd) reach() {
	for len(c.marks) > 0 && c.marks[0].seq <= c.seq {
		m := c.marks[0]
		c.marks = c.marks[1:]
		if m.seq == c.seq && m.digest == c.digest {
			c.sealed = m.seq
		} else {
			c.missed = append(c.missed, m)
		}
	}
}

func (v *verifier) ends(ctx context.Context, src Archive) error {
	for h, err := range src.Heads(ctx) {
		if err != nil {
			return err
		}
		c := v.chain(h.Asset)
		c.head, c.headed = h, true
		if h.Seq != c.seq || h.Digest != c.digest {
			c.suspect = true
		}
	}
	return nil
}

// suspects looks at each chain in which something was amiss.
func (v *verifier) suspects(ctx context.Context, src Archive) error {
	names := make([]Asset, 0, len(v.chains))
	for name := range v.chains {
		names = append(names, name)
	}
	slices.Sort(names)
	v.report.Chains = int64(len(names))
	for _, name := range names {
		c := v.chains[name]
		if !c.suspect && c.headed {
			v.report.Unsealed += c.seq - c.sealed
			continue
		}
		rows, err := src.Chain(ctx, name)
		if err != nil {
			return err
		}
		v.diagnose(name, c, rows)
	}
	return nil
}

// marks reports what the seals say and the chains do not.
func (v *verifier) marks() {
	names := make([]Asset, 0)
	for name, c := range v.chains {
		if len(c.missed)+len(c.marks) > 0 {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		c := v.chains[name]
		if len(c.missed) > 0 {
			m := c.missed[0]
			v.fault(Fault{What: Altered, Asset: name, Seq: m.seq, Seal: m.seal,
				Why: fmt.Sprintf("it is not the record that was sealed, %s: it, or one after record %d and before it, was rewritten with all that follows", m.digest, c.sealed)})
		}
		if len(c.marks) > 0 {
			m := c.marks[len(c.marks)-1]
			v.fault(Fault{What: Removed, Asset: name, Seq: m.seq, Seal: m.seal,
				Why: fmt.Sprintf("the seal saw %d records in this chain, and there are %d now", m.seq, c.seq)})
		}
	}
}
