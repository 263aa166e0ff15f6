package record_test

import (
	"bytes"
	"cmp"
	"context"
	"crypto/ed25519"
	"fmt"
	"iter"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/record"
)

// archive holds records in memory, so that a test can do to them what someone
// with the database open could do.
type archive struct {
	rows  []record.Stored
	heads map[record.Asset]record.Head
	seals []*record.Seal
	blobs map[record.Digest][]byte

	untouched bool // the rows stand in order as they are
}

func archiveOf(records []*record.Record) *archive {
	a := &archive{heads: map[record.Asset]record.Head{}, blobs: map[record.Digest][]byte{}}
	for n := range 10 {
		a.blobs[digest(n)] = fmt.Appendf(nil, "blob %d", n)
	}
	for _, r := range records {
		a.rows = append(a.rows, stored(r))
		h := r.Head()
		h.Sealed = a.heads[r.Asset].Sealed
		a.heads[r.Asset] = h
	}
	return a
}

func stored(r *record.Record) record.Stored {
	return record.Stored{Asset: r.Asset, Seq: r.Seq, ID: r.ID, Kind: r.Kind, Digest: r.Digest, Bytes: r.Bytes}
}

func (a *archive) sorted() []record.Head {
	var all []record.Head
	for _, h := range a.heads {
		all = append(all, h)
	}
	slices.SortFunc(all, func(x, y record.Head) int { return strings.Compare(string(x.Asset), string(y.Asset)) })
	return all
}

func (a *archive) seal(t interface{ Fatal(...any) }, key ed25519.PrivateKey) *record.Seal {
	var before *record.Seal
	if n := len(a.seals); n > 0 {
		before = a.seals[n-1]
	}
	s, err := record.NewSeal(before, a.sorted(), start+record.Time(len(a.seals)+1)*100*day, key)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range s.Heads {
		h := a.heads[m.Asset]
		h.Sealed = m.Seq
		a.heads[m.Asset] = h
	}
	a.seals = append(a.seals, s)
	return s
}

func (a *archive) Seals(context.Context) iter.Seq2[*record.Seal, error] {
	return func(yield func(*record.Seal, error) bool) {
		for _, s := range a.seals {
			if !yield(s, nil) {
				return
			}
		}
	}
}

func (a *archive) Stored(context.Context) iter.Seq2[record.Stored, error] {
	rows := a.rows
	if !a.untouched {
		rows = slices.Clone(rows)
		slices.SortStableFunc(rows, func(x, y record.Stored) int {
			return cmp.Or(cmp.Compare(x.Asset, y.Asset), cmp.Compare(x.Seq, y.Seq))
		})
	}
	return func(yield func(record.Stored, error) bool) {
		for _, s := range rows {
			if !yield(s, nil) {
				return
			}
		}
	}
}

func (a *archive) chain(name record.Asset) []record.Stored {
	var rows []record.Stored
	for _, r := range a.rows {
		if r.Asset == name {
			rows = append(rows, r)
		}
	}
	slices.SortStableFunc(rows, func(x, y record.Stored) int { return int(x.Seq - y.Seq) })
	return rows
}

func (a *archive) Chain(_ context.Context, name record.Asset) ([]record.Stored, error) {
	return a.chain(name), nil
}

func (a *archive) Heads(context.Context) iter.Seq2[record.Head, error] {
	return func(yield func(record.Head, error) bool) {
		for _, h := range a.sorted() {
			if !yield(h, nil) {
				return
			}
		}
	}
}

func (a *archive) ReadBlob(_ context.Context, d record.Digest) (record.Digest, bool, error) {
	b, there := a.blobs[d]
	return record.DigestOf(b), there, nil
}

// row finds record n of a chain.
func (a *archive) row(name record.Asset, n int64) *record.Stored {
	for i := range a.rows {
		if a.rows[i].Asset == name && a.rows[i].Seq == n {
			return &a.rows[i]
		}
	}
	return nil
}

func (a *archive) drop(name record.Asset, n int64) {
	a.rows = slices.DeleteFunc(a.rows, func(s record.Stored) bool { return s.Asset == name && s.Seq == n })
}

func (a *archive) shift(name record.Asset, from, by int64) {
	for i := range a.rows {
		if a.rows[i].Asset == name && a.rows[i].Seq >= from {
			a.rows[i].Seq += by
		}
	}
}

// forge makes a record of its own that follows another in a chain.
func (a *archive) forge(t testing.TB, name record.Asset, after int64) record.Stored {
	t.Helper()
	var head record.Head
	if after > 0 {
		r, err := record.Decode(a.row(name, after).Bytes)
		if err != nil {
			t.Fatal(err)
		}
		head = r.Head()
	}
	var body record.Body = record.PartChanged{Changes: record.Changes{Set: record.Fields{"serial": []byte(`"FORGED"`)}}}
	if after == 0 {
		body = record.PartAdded{Part: record.Kingpin, Serial: "FORGED"}
	}
	at := start + 300*day
	r, err := head.Next(record.Draft{ID: id(900), Asset: name, Happened: at, Entered: at, Who: record.Who{Name: "Nobody"}, Body: body})
	if err != nil {
		t.Fatal(err)
	}
	return stored(r)
}

// rewrite changes record n and everything after it so that the chain is sound
// again, and the head with it.
func (a *archive) rewrite(t testing.TB, name record.Asset, n int64) {
	t.Helper()
	var head record.Head
	for _, s := range a.chain(name) {
		r, err := record.Decode(s.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		if s.Seq >= n {
			body, err := r.Open()
			if err != nil {
				t.Fatal(err)
			}
			draft := record.Draft{ID: r.ID, Asset: name, Happened: r.Happened, Entered: r.Entered, Who: r.Who, Body: body}
			if s.Seq == n {
				draft.Who.Name = "Somebody else"
			}
			if r, err = head.Next(draft); err != nil {
				t.Fatal(err)
			}
			*a.row(name, s.Seq) = stored(r)
		}
		head = r.Head()
	}
	head.Sealed = a.heads[name].Sealed
	a.heads[name] = head
}

var (
	ourKey   = ed25519.NewKeyFromSeed(bytes.Repeat([]byte{7}, ed25519.SeedSize))
	theirKey = ed25519.NewKeyFromSeed(bytes.Repeat([]byte{8}, ed25519.SeedSize))
)

func ours() []ed25519.PublicKey { return []ed25519.PublicKey{ourKey.Public().(ed25519.PublicKey)} }

func verify(t interface{ Fatal(...any) }, a *archive) *record.Report {
	report, err := record.Verify(context.Background(), a, ours())
	if err != nil {
		t.Fatal(err)
	}
	return report
}

const part = record.Asset("part/one") // ten records in the fixed history

// TestVerifyNamesWhatAndWhere does to an archive what somebody could do, and
// asks for exactly the faults that follow.
func TestVerifyNamesWhatAndWhere(t *testing.T) {
	tests := []struct {
		name string
		do   func(t *testing.T, a *archive)
		want []string // what, where
	}{
		{"nothing", func(*testing.T, *archive) {}, nil},
		{"a byte changed", func(t *testing.T, a *archive) {
			s := a.row(part, 4)
			s.Bytes = bytes.Replace(s.Bytes, []byte(`"Ann"`), []byte(`"Bob"`), 1)
		}, []string{"altered part/one 4"}},
		{"the bytes of another record put in its place", func(t *testing.T, a *archive) {
			a.row(part, 4).Bytes = a.row(part, 3).Bytes
		}, []string{"altered part/one 4"}},
		{"the bytes of another chain's record put in its place", func(t *testing.T, a *archive) {
			a.row(part, 4).Bytes = a.row("vehicle/heron", 4).Bytes
		}, []string{"altered part/one 4"}},
		{"the bytes made rubbish", func(t *testing.T, a *archive) {
			a.row(part, 4).Bytes = []byte("rubbish")
		}, []string{"altered part/one 4"}},
		{"the first record made rubbish", func(t *testing.T, a *archive) {
			a.row(part, 1).Bytes = nil
		}, []string{"altered part/one 1"}},
		{"a record rewritten with its digest", func(t *testing.T, a *archive) {
			s := a.row(part, 4)
			s.Bytes = bytes.Replace(s.Bytes, []byte(`"Ann"`), []byte(`"Bob"`), 1)
			s.Digest = record.DigestOf(s.Bytes)
		}, []string{"altered part/one 4"}},
		{"the last record rewritten with its digest", func(t *testing.T, a *archive) {
			s := a.row(part, 10)
			s.Bytes = bytes.Replace(s.Bytes, []byte(`"Ann"`), []byte(`"Bob"`), 1)
			s.Digest = record.DigestOf(s.Bytes)
		}, []string{"altered part/one 10"}},
		{"only the digest changed", func(t *testing.T, a *archive) {
			a.row(part, 4).Digest = digest(0)
		}, []string{"altered part/one 4"}},
		{"two records changed", func(t *testing.T, a *archive) {
			for _, n := range []int64{3, 7} {
				s := a.row(part, n)
				s.Bytes = bytes.Replace(s.Bytes, []byte(`"Ann"`), []byte(`"Bob"`), 1)
			}
		}, []string{"altered part/one 3", "altered part/one 7"}},
		{"the id beside it changed", func(t *testing.T, a *archive) {
			a.row(part, 4).ID = id(800)
		}, []string{"altered part/one 4"}},
		{"the kind beside it changed", func(t *testing.T, a *archive) {
			a.row(part, 4).Kind = "part-scrapped"
		}, []string{"altered part/one 4"}},
		{"a record removed", func(t *testing.T, a *archive) { a.drop(part, 5) }, []string{"removed part/one 5"}},
		{"a record removed and the rest renumbered", func(t *testing.T, a *archive) {
			a.drop(part, 5)
			a.shift(part, 6, -1)
		}, []string{"removed part/one 5"}},
		{"three records removed", func(t *testing.T, a *archive) {
			for _, n := range []int64{4, 5, 6} {
				a.drop(part, n)
			}
		}, []string{"removed part/one 4"}},
		{"the first record removed", func(t *testing.T, a *archive) { a.drop(part, 1) }, []string{"removed part/one 1"}},
		{"the last record removed", func(t *testing.T, a *archive) { a.drop(part, 10) }, []string{"removed part/one 10"}},
		{"the last record removed, the head with it, unsealed", func(t *testing.T, a *archive) {
			r, _ := record.Decode(a.row(part, 9).Bytes)
			a.drop(part, 10)
			a.heads[part] = r.Head()
		}, nil}, // nothing can show it but a seal: the next row
		{"the same, sealed", func(t *testing.T, a *archive) {
			a.seal(t, ourKey)
			r, _ := record.Decode(a.row(part, 9).Bytes)
			a.drop(part, 10)
			a.heads[part] = r.Head()
		}, []string{"removed part/one 10"}},
		{"two records swapped", func(t *testing.T, a *archive) {
			x, y := a.row(part, 5), a.row(part, 6)
			x.Seq, y.Seq = 6, 5
		}, []string{"reordered part/one 5"}},
		{"the first two swapped", func(t *testing.T, a *archive) {
			x, y := a.row(part, 1), a.row(part, 2)
			x.Seq, y.Seq = 2, 1
		}, []string{"reordered part/one 1"}},
		{"a record moved to the end", func(t *testing.T, a *archive) {
			x := a.row(part, 3)
			x.Seq = 11
			a.shift(part, 4, -1)
		}, []string{"reordered part/one 10"}},
		{"a gap made in the numbers", func(t *testing.T, a *archive) {
			a.row(part, 10).Seq = 11
		}, []string{"reordered part/one 11"}},
		{"a record inserted", func(t *testing.T, a *archive) {
			f := a.forge(t, part, 4)
			a.shift(part, 5, 1)
			a.rows = append(a.rows, f)
		}, []string{"inserted part/one 5"}},
		{"a record appended, the head untouched", func(t *testing.T, a *archive) {
			a.rows = append(a.rows, a.forge(t, part, 10))
		}, []string{"head part/one 11"}},
		{"a record doubled", func(t *testing.T, a *archive) {
			s := *a.row(part, 4)
			a.shift(part, 5, 1)
			s.Seq = 5
			a.rows = append(a.rows, s)
		}, []string{"inserted part/one 5"}},
		{"a record of another chain", func(t *testing.T, a *archive) {
			s := *a.row("vehicle/heron", 4)
			s.Asset = part
			a.shift(part, 4, 1)
			a.rows = append(a.rows, s)
		}, []string{"inserted part/one 4"}},
		{"a chain removed, unsealed but for its head", func(t *testing.T, a *archive) {
			a.rows = slices.DeleteFunc(a.rows, func(s record.Stored) bool { return s.Asset == part })
		}, []string{"removed part/one 1"}},
		{"a chain removed with its head, sealed", func(t *testing.T, a *archive) {
			a.seal(t, ourKey)
			a.rows = slices.DeleteFunc(a.rows, func(s record.Stored) bool { return s.Asset == part })
			delete(a.heads, part)
		}, []string{"removed part/one 10"}},
		{"a head removed", func(t *testing.T, a *archive) { delete(a.heads, part) }, []string{"head part/one 10"}},
		{"a head altered", func(t *testing.T, a *archive) {
			h := a.heads[part]
			h.Digest = digest(0)
			a.heads[part] = h
		}, []string{"altered part/one 10"}},
		{"a chain rewritten whole, unsealed", func(t *testing.T, a *archive) { a.rewrite(t, part, 4) }, nil},
		{"a chain rewritten whole, sealed", func(t *testing.T, a *archive) {
			a.seal(t, ourKey)
			a.rewrite(t, part, 4)
		}, []string{"altered part/one 10 seal 1"}},
		{"a photo swapped", func(t *testing.T, a *archive) { a.blobs[digest(1)] = []byte("another") }, []string{"blob vehicle/heron 10"}},
		{"a photo gone", func(t *testing.T, a *archive) { delete(a.blobs, digest(1)) }, []string{"blob vehicle/heron 10"}},
		{"sealed twice", func(t *testing.T, a *archive) { a.seal(t, ourKey); a.seal(t, ourKey) }, nil},
		{"a seal altered", func(t *testing.T, a *archive) {
			s := a.seal(t, ourKey)
			a.seals[0] = reopen(t, bytes.Replace(s.Bytes, []byte(`"records":20`), []byte(`"records":21`), 1), s.Signature)
		}, []string{"seal 1", "seal 1"}}, // its signature, and its sums
		{"a seal made by somebody else", func(t *testing.T, a *archive) { a.seal(t, theirKey) }, []string{"seal 1"}},
		{"the first seal removed", func(t *testing.T, a *archive) {
			a.seal(t, ourKey)
			a.seal(t, ourKey)
			a.seals = a.seals[1:]
		}, []string{"seal 2", "seal 2"}}, // where it begins, and its sums
		{"a seal between removed", func(t *testing.T, a *archive) {
			a.seal(t, ourKey)
			a.seal(t, ourKey)
			a.seal(t, ourKey)
			a.seals = append(a.seals[:1], a.seals[2])
		}, []string{"seal 3"}},
		{"seals swapped", func(t *testing.T, a *archive) {
			a.seal(t, ourKey)
			a.seal(t, ourKey)
			a.seals[0], a.seals[1] = a.seals[1], a.seals[0]
		}, []string{"seal 2", "seal 1"}},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			a := archiveOf(history(t))
			test.do(t, a)
			report := verify(t, a)
			var got []string
			for _, f := range report.Faults {
				s := f.What
				if f.Asset != "" {
					s += fmt.Sprintf(" %s %d", f.Asset, f.Seq)
				}
				if f.Seal != 0 && f.What != record.Removed {
					s += strings.TrimPrefix(fmt.Sprintf(" seal %d", f.Seal), map[bool]string{true: " seal", false: ""}[f.What == record.BadSeal])
				}
				got = append(got, s)
			}
			if !slices.Equal(got, test.want) {
				t.Errorf("found %q, expected %q", got, test.want)
				for _, f := range report.Faults {
					t.Log(f)
				}
			}
		})
	}
}

func reopen(t *testing.T, b, signature []byte) *record.Seal {
	s, err := record.OpenSeal(b, signature)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestVerifyFindsEveryTampering alters random histories in random ways.
func TestVerifyFindsEveryTampering(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		w := newWorld(rt)
		w.run()
		a := archiveOf(w.records)
		if rapid.Bool().Draw(rt, "sealed") {
			a.seal(rt, ourKey)
		}
		if report := verify(rt, a); !report.Sound() {
			rt.Fatalf("untouched: %v", report.Faults)
		}
		i := rapid.IntRange(0, len(a.rows)-1).Draw(rt, "row")
		s := &a.rows[i]
		name, seq := s.Asset, s.Seq
		switch rapid.IntRange(0, 4).Draw(rt, "how") {
		case 0: // a byte
			s.Bytes = slices.Clone(s.Bytes)
			s.Bytes[rapid.IntRange(0, len(s.Bytes)-1).Draw(rt, "at")] ^= byte(rapid.IntRange(1, 255).Draw(rt, "by"))
		case 1: // a byte, and the digest
			s.Bytes = slices.Clone(s.Bytes)
			s.Bytes[rapid.IntRange(0, len(s.Bytes)-1).Draw(rt, "at")] ^= byte(rapid.IntRange(1, 255).Draw(rt, "by"))
			s.Digest = record.DigestOf(s.Bytes)
		case 2:
			a.drop(name, seq)
		case 3:
			if seq == a.heads[name].Seq {
				rt.Skip()
			}
			t := a.row(name, seq+1)
			s.Seq, t.Seq = t.Seq, s.Seq
		case 4:
			twice := *s
			a.shift(name, seq+1, 1)
			twice.Seq++
			a.rows = append(a.rows, twice)
		}
		report := verify(rt, a)
		if report.Sound() {
			rt.Fatal("nothing was found")
		}
		near := false
		for _, f := range report.Faults {
			if f.Asset != name && f.What != record.BadBlob {
				rt.Errorf("names %s, expected %s: %s", f.Asset, name, f)
			}
			near = near || seq-1 <= f.Seq && f.Seq <= seq+1
		}
		if !near {
			rt.Errorf("nothing about record %d: %v", seq, report.Faults)
		}
	})
}

func TestVerifyWithoutOurKeyIsNotTrusted(t *testing.T) {
	a := archiveOf(history(t))
	a.seal(t, theirKey)
	report, err := record.Verify(t.Context(), a, nil)
	if err != nil {
		t.Fatal(err)
	}
	if report.Trusted || !report.Sound() {
		t.Errorf("trusted %v, sound %v; without a key nothing is trusted, and the seal itself is whole", report.Trusted, report.Sound())
	}
	if report.Records != 20 || report.Chains != 2 || report.Seals != 1 || report.Blobs != 1 || report.Unsealed != 0 {
		t.Errorf("counted %+v", report)
	}
}

func TestUnsealedIsCounted(t *testing.T) {
	all := history(t)
	a := archiveOf(all[:15])
	a.seal(t, ourKey)
	b := archiveOf(all)
	b.seals = a.seals
	if report := verify(t, b); report.Unsealed != 5 || !report.Sound() {
		t.Errorf("%d records unsealed, expected 5; faults %v", report.Unsealed, report.Faults)
	}
}

// TestSealListsWhatMoved: the second seal names only what moved since the first.
func TestSealListsWhatMoved(t *testing.T) {
	all := history(t)
	a := archiveOf(all[:18])
	first := a.seal(t, ourKey)
	if len(first.Heads) != 2 {
		t.Errorf("the first seal lists %d heads, expected both", len(first.Heads))
	}
	h := all[18].Head()
	h.Sealed = a.heads[h.Asset].Sealed
	a.heads[h.Asset] = h
	a.rows = append(a.rows, stored(all[18]))
	second := a.seal(t, ourKey)
	if len(second.Heads) != 1 || second.Heads[0].Asset != "vehicle/heron" || second.Chains != 2 || second.Records != 19 {
		t.Errorf("the second seal lists %v of %d chains with %d records", second.Heads, second.Chains, second.Records)
	}
	if report := verify(t, a); !report.Sound() {
		t.Error(report.Faults)
	}
}
