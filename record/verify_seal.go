package record

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"fmt"
	"slices"
)

// seals follows the seals and notes what they say of each chain.
func (v *verifier) seals(ctx context.Context, src Archive, trusted []ed25519.PublicKey) error {
	var before *Seal
	fault := func(s *Seal, why string) { v.fault(Fault{What: BadSeal, Seal: s.Number, Why: why}) }
	all := map[Asset]Mark{}
	for s, err := range src.Seals(ctx) {
		if err != nil {
			return err
		}
		v.report.Seals++
		switch {
		case before == nil && s.Number != 1:
			fault(s, fmt.Sprintf("the seals begin with this one: %d before it are missing", s.Number-1))
		case before == nil && !s.Previous.Zero():
			fault(s, "it is the first, and names one before it")
		case before != nil && s.Number != before.Number+1:
			fault(s, fmt.Sprintf("it follows seal %d: one between them is missing, or they stand in the wrong order", before.Number))
		case before != nil && s.Previous != before.Digest:
			fault(s, fmt.Sprintf("it names %s as the seal before, and seal %d has %s: that one was altered", s.Previous, before.Number, before.Digest))
		}
		if !s.Signed() {
			fault(s, "its signature is not that of its text: it was altered")
		} else if len(trusted) > 0 && !slices.ContainsFunc(trusted, func(k ed25519.PublicKey) bool { return bytes.Equal(k, s.Key) }) {
			fault(s, fmt.Sprintf("it is signed with the key %x, which is none of yours", []byte(s.Key)))
		}
		for _, m := range s.Heads {
			if m.Seq <= all[m.Asset].Seq {
				fault(s, fmt.Sprintf("it lets %s end with record %d, and an earlier seal with %d", m.Asset, m.Seq, all[m.Asset].Seq))
			}
			all[m.Asset] = m
			c := v.chain(m.Asset)
			c.marks = append(c.marks, sealMark{s.Number, m.Seq, m.Digest})
		}
		before = s
		v.report.LastSeal, v.report.LastDigest = s.Number, s.Digest
	}
	if before == nil {
		return nil
	}
	// The newest seal alone stands for all heads: what it lists together with what
	// those before it list must come to its root.
	heads := make([]Mark, 0, len(all))
	records := int64(0)
	for _, m := range all {
		heads = append(heads, m)
		records += m.Seq
	}
	if root := rootOf(heads); root != before.Root || int64(len(heads)) != before.Chains || records != before.Records {
		fault(before, fmt.Sprintf("the heads that the seals list come to %d records in %d chains with the root %s, and it names %d in %d with %s",
			records, len(heads), root, before.Records, before.Chains, before.Root))
	}
	return nil
}
