package fleet

import (
	"context"
	"encoding/hex"
	"fmt"
	"strings"

	"underpin/record"
)

// A certificate's code is the id of the record of the outcome and the beginning of
// its digest: who has the paper can ask whether the register still holds just that.
const codeDigits = 16

func certificateCode(r *record.Record) string {
	return string(r.ID) + "-" + hex.EncodeToString(r.Digest[:])[:codeDigits]
}

// A Certificate is what stands behind a code.
type Certificate struct {
	Code     string
	Record   *record.Record
	Vehicle  *record.Vehicle
	Outcome  *record.Outcome  // as it is in force
	Sheets   []*record.Filled // that it rests on
	Returned *record.Returned // when it held back, the return
	Titles   map[record.Asset]string
	Digest   record.Digest // of the record
	Chain    int64         // how many records of its chain were read and held against each other
	Head     record.Digest // of the chain as it ends now
	Broken   string        // why the register does not hold it; empty: it does
	Voided   bool          // taken back since
}

// CertificateOf is the certificate of an outcome. It reads the vehicle's whole
// chain, so that what it says of the digests is proved and not remembered.
func (r *Register) CertificateOf(ctx context.Context, a record.Asset, id record.ID) (*Certificate, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	rec, err := r.record(ctx, id)
	if err != nil {
		return nil, err
	}
	if rec.Asset != a || rec.Kind != "outcome-given" || rec.Corrects != "" {
		return nil, &NotFound{What: "outcome of an inspection", Name: string(id)}
	}
	return r.certificate(ctx, rec)
}

// CheckCertificate answers whether the register holds what a certificate's code
// names.
func (r *Register) CheckCertificate(ctx context.Context, code string) (*Certificate, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	code = strings.Join(strings.Fields(code), "")
	at := max(strings.LastIndexByte(code, '-'), 0)
	id, digits := code[:at], strings.TrimPrefix(code[at:], "-")
	if !record.ID(id).Valid() || len(digits) != codeDigits {
		return nil, invalid("", "code", show(encoded(code)), "the code at the foot of a certificate, whole")
	}
	rec, err := r.record(ctx, record.ID(id))
	if missing(err) {
		return nil, &NotFound{What: "certificate with the code", Name: code}
	}
	if err != nil {
		return nil, err
	}
	if rec.Kind != "outcome-given" || rec.Corrects != "" {
		return nil, &NotFound{What: "certificate with the code", Name: code}
	}
	c, err := r.certificate(ctx, rec)
	if err != nil {
		return nil, err
	}
	if !strings.EqualFold(c.Code, code) && c.Broken == "" {
		c.Broken = "the record has another digest than the paper names: the paper was altered, or the record"
	}
	return c, nil
}

func (r *Register) certificate(ctx context.Context, rec *record.Record) (*Certificate, error) {
	e, err := r.entityOf(ctx, rec.Asset, record.VehicleAsset)
	if err != nil {
		return nil, err
	}
	c := &Certificate{Code: certificateCode(rec), Record: rec, Digest: rec.Digest}
	if c.Vehicle, err = e.Vehicle(record.Latest); err != nil {
		return nil, err
	}
	if c.Outcome = c.Vehicle.Upkeep.Outcome(rec.ID); c.Outcome == nil {
		c.Voided = true
		said, err := rec.Open()
		if err != nil {
			return nil, err
		}
		c.Outcome = &record.Outcome{OutcomeGiven: said.(record.OutcomeGiven), ID: rec.ID, At: rec.Happened, Who: rec.Who}
	}
	if u := c.Vehicle.Upkeep; u != nil {
		for _, id := range c.Outcome.Sheets {
			if s := u.Sheet(id); s != nil {
				c.Sheets = append(c.Sheets, s)
			}
		}
		for i := range u.Returns {
			if u.Returns[i].ID == c.Outcome.Returned || u.Returns[i].After == rec.ID {
				c.Returned = &u.Returns[i]
			}
		}
	}
	return c, r.proveChain(ctx, c)
}

// proveChain reads the chain from its beginning: each record's digest is reckoned
// from its bytes and held against what the next one names.
func (r *Register) proveChain(ctx context.Context, c *Certificate) error {
	var before record.Digest
	found := false
	for from := int64(1); ; {
		chain, err := r.store.History(ctx, c.Record.Asset, from, 500)
		if err != nil {
			return err
		}
		for _, k := range chain {
			switch {
			case k.Seq != from:
				c.Broken = fmt.Sprintf("record %d of the chain is missing", from)
			case k.Previous != before:
				c.Broken = fmt.Sprintf("record %d of the chain does not follow the one before it", k.Seq)
			case record.DigestOf(k.Bytes) != k.Digest:
				c.Broken = fmt.Sprintf("record %d of the chain is not the one that was entered", k.Seq)
			}
			if c.Broken != "" {
				return nil
			}
			found = found || k.ID == c.Record.ID && k.Digest == c.Digest
			before, from = k.Digest, k.Seq+1
		}
		if len(chain) < 500 {
			break
		}
		c.Chain = from - 1
	}
	head, err := r.store.Head(ctx, c.Record.Asset)
	if err != nil {
		return err
	}
	c.Chain, c.Head = head.Seq, before
	switch {
	case !found:
		c.Broken = "its record does not stand in the chain"
	case head.Digest != before:
		c.Broken = "the chain ends elsewhere than the register noted"
	}
	return nil
}
