package fleet

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/crypto/argon2"
)

// Cost of a password's hash. A stored hash carries its own; these are for new
// ones, and an older hash is made anew when its owner signs in.
//
// Source: RFC 9106 for the function; memory and passes are common practice, no
// source.
const (
	hashMemory = 46 << 10 // KiB
	hashPasses = 2
	hashLanes  = 1
	hashSalt   = 16
	hashLength = 32
)

// Bounds of a password. There is no rule of signs and digits: length is what
// counts.
const (
	leastPassword = 12  // characters
	mostPassword  = 200 // bytes
)

// checkPassword tells what is wrong with a new password.
func checkPassword(password, login, name string) []Problem {
	n := utf8.RuneCountInString(password)
	switch low := strings.ToLower(password); {
	case n < leastPassword:
		return []Problem{{"password", fmt.Sprintf("%d characters", n), fmt.Sprintf("at least %d; a few words make a good one", leastPassword)}}
	case len(password) > mostPassword:
		return []Problem{{"password", fmt.Sprintf("%d bytes", len(password)), fmt.Sprintf("at most %d", mostPassword)}}
	case !utf8.ValidString(password):
		return []Problem{{"password", "signs that are not UTF-8", "text"}}
	case strings.Count(low, low[:1]) == len(low):
		return []Problem{{"password", "one sign again and again", "a password that nobody guesses"}}
	case len(login) >= 5 && strings.Contains(low, strings.ToLower(login)), len(name) >= 5 && strings.Contains(low, strings.ToLower(name)):
		return []Problem{{"password", "a password with the name in it", "a password that nobody guesses"}}
	}
	return nil
}

// A hasher makes and checks hashes of passwords, at most two at once: each needs
// much memory, and that is its point.
type hasher struct {
	turn   chan struct{}
	chance io.Reader
	memory uint32 // KiB
}

func newHasher(chance io.Reader) *hasher {
	return &hasher{turn: make(chan struct{}, 2), chance: chance, memory: hashMemory}
}

func (h *hasher) wait(ctx context.Context) (done func(), err error) {
	select {
	case h.turn <- struct{}{}:
		return func() { <-h.turn }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// hash returns the PHC string of a password.
func (h *hasher) hash(ctx context.Context, password string) (string, error) {
	done, err := h.wait(ctx)
	if err != nil {
		return "", err
	}
	defer done()
	salt := make([]byte, hashSalt)
	if _, err := io.ReadFull(h.chance, salt); err != nil {
		return "", err
	}
	key := argon2.IDKey([]byte(password), salt, hashPasses, h.memory, hashLanes, hashLength)
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, h.memory, hashPasses, hashLanes,
		base64.RawStdEncoding.EncodeToString(salt), base64.RawStdEncoding.EncodeToString(key)), nil
}

// check tells whether the password is that of a PHC string, and whether the hash
// should be made anew because its cost is not today's.
func (h *hasher) check(ctx context.Context, phc, password string) (right, stale bool, err error) {
	p, err := parsePHC(phc)
	if err != nil {
		return false, false, err
	}
	done, err := h.wait(ctx)
	if err != nil {
		return false, false, err
	}
	defer done()
	key := argon2.IDKey([]byte(password), p.salt, p.passes, p.memory, p.lanes, uint32(len(p.key)))
	right = subtle.ConstantTimeCompare(key, p.key) == 1
	return right, p.memory != h.memory || p.passes != hashPasses || p.lanes != hashLanes || len(p.key) != hashLength, nil
}

type phc struct {
	memory, passes uint32
	lanes          uint8
	salt, key      []byte
}

// parsePHC reads a stored hash, within bounds: a hash that somebody put there must
// not take all memory.
func parsePHC(s string) (p phc, err error) {
	bad := func() (phc, error) { return phc{}, fmt.Errorf("a stored password cannot be read") }
	part := strings.Split(s, "$")
	if len(part) != 6 || part[0] != "" || part[1] != "argon2id" || part[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return bad()
	}
	if n, err := fmt.Sscanf(part[3], "m=%d,t=%d,p=%d", &p.memory, &p.passes, &p.lanes); n != 3 || err != nil ||
		part[3] != fmt.Sprintf("m=%d,t=%d,p=%d", p.memory, p.passes, p.lanes) {
		return bad()
	}
	if !(8 <= p.memory && p.memory <= 1<<20 && 1 <= p.passes && p.passes <= 20 && 1 <= p.lanes && p.lanes <= 16) {
		return bad()
	}
	var errSalt, errKey error
	p.salt, errSalt = base64.RawStdEncoding.DecodeString(part[4])
	p.key, errKey = base64.RawStdEncoding.DecodeString(part[5])
	if errSalt != nil || errKey != nil || !(8 <= len(p.salt) && len(p.salt) <= 64 && 16 <= len(p.key) && len(p.key) <= 128) {
		return bad()
	}
	return p, nil
}
