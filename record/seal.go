package record

import (
	"cmp"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
)

// A Seal says where every chain ended at an instant. It lists the heads that
// moved since the seal before, which it names by digest; so all seals together
// fix all heads, and the root, a digest over the whole sorted list, lets one seal
// alone be held against a store.
//
// Signed with a key that is not kept beside the records, it shows afterwards that
// nobody rewrote a chain whole, which the chain itself cannot show.
type Seal struct {
	Number   int64
	Previous Digest
	Made     Time
	Key      ed25519.PublicKey
	Chains   int64 // chains there are
	Records  int64 // records in them
	Root     Digest
	Heads    []Mark // those that moved, by asset

	Bytes     []byte // as stored; the rest is read from here
	Signature []byte // ed25519 over Bytes
	Digest    Digest // of Bytes
}

// A Mark is a head as a seal names it.
type Mark struct {
	Asset  Asset
	Seq    int64
	Digest Digest
}

func (m Mark) MarshalJSON() ([]byte, error) {
	b := append([]byte(`["`), m.Asset...)
	b = append(b, `",`...)
	b = strconv.AppendInt(b, m.Seq, 10)
	b = append(b, `,"`...)
	b = hex.AppendEncode(b, m.Digest[:])
	return append(b, `"]`...), nil
}

func (m *Mark) UnmarshalJSON(b []byte) error {
	c := cursor{rest: b}
	c.want("[")
	m.Asset = Asset(c.text())
	c.want(",")
	m.Seq = c.int()
	c.want(",")
	m.Digest = c.digest()
	c.want("]")
	if c.why != "" || len(c.rest) > 0 || !m.Asset.Valid() {
		return &RuleError{Field: "heads", Found: quote(string(b)), Want: "an asset, a number and a digest"}
	}
	return nil
}

type sealText struct {
	Seal     int    `json:"seal"` // the format
	Number   int64  `json:"number"`
	Previous Digest `json:"previous"`
	Made     Time   `json:"made"`
	Key      string `json:"key"`
	Chains   int64  `json:"chains"`
	Records  int64  `json:"records"`
	Root     Digest `json:"root"`
	Heads    []Mark `json:"heads"`
}

// NewSeal makes the seal that follows before, nil for the first, over all heads,
// and signs it. Heads whose Sealed equals their Seq have not moved.
func NewSeal(before *Seal, heads []Head, made Time, key ed25519.PrivateKey) (*Seal, error) {
	if len(key) != ed25519.PrivateKeySize {
		return nil, &RuleError{Field: "key", Found: fmt.Sprintf("%d bytes", len(key)), Want: "an ed25519 private key"}
	}
	text := sealText{Seal: Format, Number: 1, Made: made, Key: hex.EncodeToString(key.Public().(ed25519.PublicKey)), Heads: []Mark{}}
	if before != nil {
		text.Number, text.Previous = before.Number+1, before.Digest
		if made < before.Made {
			return nil, fmt.Errorf("%w: seal %d was made %s", ErrClock, before.Number, before.Made)
		}
	}
	if !made.Valid() {
		return nil, &RuleError{Field: "made", Found: "nothing", Want: "an instant"}
	}
	all := make([]Mark, 0, len(heads))
	for _, h := range heads {
		if h.Seq == 0 {
			continue
		}
		m := Mark{h.Asset, h.Seq, h.Digest}
		all = append(all, m)
		text.Records += h.Seq
		if h.Sealed != h.Seq {
			text.Heads = append(text.Heads, m)
		}
	}
	text.Chains = int64(len(all))
	text.Root = rootOf(all)
	slices.SortFunc(text.Heads, byAsset)
	b, err := marshal(text)
	if err != nil {
		return nil, err
	}
	return text.seal(b, ed25519.Sign(key, b))
}

func byAsset(a, b Mark) int { return cmp.Compare(a.Asset, b.Asset) }

// rootOf is the digest over lines of asset, number and digest, sorted by asset.
func rootOf(heads []Mark) Digest {
	if !slices.IsSortedFunc(heads, byAsset) {
		heads = slices.Clone(heads)
		slices.SortFunc(heads, byAsset)
	}
	sum := sha256.New()
	var b []byte
	for _, m := range heads {
		b = append(b[:0], m.Asset...)
		b = append(b, ' ')
		b = strconv.AppendInt(b, m.Seq, 10)
		b = append(b, ' ')
		b = hex.AppendEncode(b, m.Digest[:])
		b = append(b, '\n')
		sum.Write(b)
	}
	return Digest(sum.Sum(nil))
}

// OpenSeal reads a seal as it is stored. Whether the signature is right, only
// Signed tells.
func OpenSeal(b, signature []byte) (*Seal, error) {
	var t sealText
	if err := strict(b, &t); err != nil {
		return nil, inField("seal", err)
	}
	if t.Seal != Format {
		return nil, &RuleError{Field: "seal", Found: "format " + strconv.Itoa(t.Seal), Want: "format " + strconv.Itoa(Format)}
	}
	return t.seal(b, signature)
}

func (t *sealText) seal(b, signature []byte) (*Seal, error) {
	key, err := hex.DecodeString(t.Key)
	if err != nil || len(key) != ed25519.PublicKeySize {
		return nil, &RuleError{Field: "key", Found: quote(t.Key), Want: "an ed25519 public key in hexadecimal digits"}
	}
	return &Seal{
		Number: t.Number, Previous: t.Previous, Made: t.Made, Key: key, Chains: t.Chains, Records: t.Records, Root: t.Root, Heads: t.Heads,
		Bytes: b, Signature: signature, Digest: DigestOf(b),
	}, nil
}

// Signed tells whether the seal's bytes were signed with the key that it names.
// Whether that is the operator's key is another question.
func (s *Seal) Signed() bool {
	return len(s.Signature) == ed25519.SignatureSize && ed25519.Verify(s.Key, s.Bytes, s.Signature)
}
