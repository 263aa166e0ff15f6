package record

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"time"
)

// An ID names a record. It is a version 7 UUID in small letters, made by
// whoever enters the record, so that sending twice is the same as sending once.
//
// Source: RFC 9562, section 5.7.
type ID string

// NewID makes an ID from a time and ten bytes of chance.
func NewID(at time.Time, chance [10]byte) ID {
	var b [16]byte
	ms := uint64(at.UnixMilli())
	for i := range 6 {
		b[i] = byte(ms >> (8 * (5 - i)))
	}
	copy(b[6:], chance[:])
	b[6] = b[6]&0x0f | 0x70 // version 7
	b[8] = b[8]&0x3f | 0x80 // variant
	var t [36]byte
	hex.Encode(t[0:8], b[0:4])
	hex.Encode(t[9:13], b[4:6])
	hex.Encode(t[14:18], b[6:8])
	hex.Encode(t[19:23], b[8:10])
	hex.Encode(t[24:36], b[10:16])
	t[8], t[13], t[18], t[23] = '-', '-', '-', '-'
	return ID(t[:])
}

// Valid tells whether id is written as a version 7 UUID.
func (id ID) Valid() bool {
	if len(id) != 36 {
		return false
	}
	for i := range len(id) {
		switch c := id[i]; i {
		case 8, 13, 18, 23:
			if c != '-' {
				return false
			}
		case 14:
			if c != '7' {
				return false
			}
		case 19:
			if c != '8' && c != '9' && c != 'a' && c != 'b' {
				return false
			}
		default:
			if !smallHex(c) {
				return false
			}
		}
	}
	return true
}

func smallHex(c byte) bool { return '0' <= c && c <= '9' || 'a' <= c && c <= 'f' }

// An Asset names a chain and the state that follows from it: a kind and an id
// within the kind, such as vehicle/0199b0b4-….
type Asset string

// The kinds of asset that have chains.
const (
	VehicleAsset = "vehicle"
	PartAsset    = "part"
	TypeAsset    = "type"
	DepotAsset   = "depot"
	NoticeAsset  = "notice"
	AccountAsset = "account"
	LimitsAsset  = "limits"
)

// The kinds of entity that have no chain of their own: what grows without end
// stands beside its asset and not in it.
const (
	PeriodEntity = "period" // one coupled period; its records stand in the towed vehicle's chain
	AnswerEntity = "answer" // one answer that was kept
)

// NewAsset returns kind/id.
func NewAsset(kind, id string) Asset { return Asset(kind + "/" + id) }

// Kind is what stands before the stroke.
func (a Asset) Kind() string {
	kind, _, _ := strings.Cut(string(a), "/")
	return kind
}

// Name is what stands behind the stroke.
func (a Asset) Name() string {
	_, name, _ := strings.Cut(string(a), "/")
	return name
}

// Valid tells whether a is a kind and a name of small letters, digits and
// hyphens, at most 64 characters each.
func (a Asset) Valid() bool {
	kind, name, ok := strings.Cut(string(a), "/")
	return ok && slug(kind) && slug(name)
}

// is tells whether a is valid and of this kind.
func (a Asset) is(kind string) bool { return a.Valid() && a.Kind() == kind }

func slug(s string) bool {
	if len(s) == 0 || len(s) > 64 || s[0] == '-' || s[len(s)-1] == '-' {
		return false
	}
	for i := range len(s) {
		if c := s[i]; !('a' <= c && c <= 'z' || '0' <= c && c <= '9' || c == '-') {
			return false
		}
	}
	return true
}

// A Digest is a SHA-256.
type Digest [sha256.Size]byte

// DigestOf is the digest of bytes as they stand.
func DigestOf(b []byte) Digest { return sha256.Sum256(b) }

func (d Digest) String() string { return hex.EncodeToString(d[:]) }

// Zero tells whether d is no digest; the first record of a chain names it as
// the one before.
func (d Digest) Zero() bool { return d == Digest{} }

func (d Digest) MarshalText() ([]byte, error) { return hex.AppendEncode(nil, d[:]), nil }

func (d *Digest) UnmarshalText(b []byte) error {
	got, ok := parseDigest(b)
	if !ok {
		return &RuleError{Field: "digest", Found: quote(string(b)), Want: "64 small hexadecimal digits"}
	}
	*d = got
	return nil
}

// ParseDigest reads 64 small hexadecimal digits.
func ParseDigest(s string) (Digest, error) {
	var d Digest
	return d, d.UnmarshalText([]byte(s))
}

func parseDigest(b []byte) (d Digest, ok bool) {
	if len(b) != 2*len(d) {
		return d, false
	}
	for i := range d {
		hi, lo := nibble[b[2*i]], nibble[b[2*i+1]]
		if hi|lo > 15 {
			return Digest{}, false
		}
		d[i] = hi<<4 | lo
	}
	return d, true
}

// nibble holds the value of each small hexadecimal digit, and 255 elsewhere.
var nibble = func() (t [256]byte) {
	for i := range t {
		t[i] = 255
	}
	for i, c := range []byte("0123456789abcdef") {
		t[c] = byte(i)
	}
	return t
}()
