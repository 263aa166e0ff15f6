package record

import (
	"encoding/json"
	"fmt"
	"slices"
	"unicode/utf8"
)

// Format is the number of the envelope's format, the first member of the stored
// bytes.
const Format = 1

// Bounds of a record. They keep one row readable in one piece; large matter
// belongs in a blob.
const (
	MaxBytes  = 1 << 20 // of the stored bytes
	MaxReason = 4000    // bytes of the reason
	MaxName   = 200     // bytes of the name of who entered it
	MaxBlobs  = 100
)

// Ahead is how far a record may have happened after it was entered: clocks of
// two machines differ a little.
const Ahead = 10 * minute

// Skew is how far the clock may be behind the last record of a chain without
// being called wrong: several machines enter records, and their clocks differ.
const Skew = minute

// Who says who entered a record: the account, and the name it had then. Work of
// the program itself has no account, but a name.
type Who struct {
	Account Asset  `json:"account,omitempty"`
	Name    string `json:"name"`
}

// A Record is one entry of a chain: the stored bytes and what they say.
type Record struct {
	ID       ID
	Asset    Asset // whose chain it stands in
	Seq      int64 // its number in the chain, from 1
	Previous Digest
	Kind     string
	Version  int // of the kind's body
	Happened Time
	Entered  Time
	Who      Who
	Reason   string
	Corrects ID // the record first entered that this one corrects or voids
	Blobs    []Digest
	Body     json.RawMessage

	Bytes  []byte // as stored; the rest is read from here
	Digest Digest // of Bytes
}

// A Draft is what somebody wants to enter. The chain gives it its number, the
// record before and its bytes.
type Draft struct {
	ID       ID
	Asset    Asset
	Happened Time
	Entered  Time
	Who      Who
	Reason   string
	Corrects ID
	Blobs    []Digest
	Body     Body
}

// A Head is the end of a chain. The zero Seq is a chain that has not begun.
type Head struct {
	Asset   Asset
	Seq     int64
	Digest  Digest
	Entered Time
	Sealed  int64 // how far a seal has covered it; only the store fills it in
}

// Head is the head of the chain when r is its last record.
func (r *Record) Head() Head {
	return Head{Asset: r.Asset, Seq: r.Seq, Digest: r.Digest, Entered: r.Entered}
}

// Next makes the record that follows in the chain of which h is the end. It
// checks what can be known from the draft alone; whether a corrected record
// stands in the chain only the store can tell.
//
// Entered is raised to that of the record before when the clock is a little
// behind it, by Skew at most; beyond that the error wraps ErrClock.
func (h Head) Next(d Draft) (*Record, error) {
	if d.Body == nil {
		return nil, &RuleError{Field: "body", Found: "nothing", Want: "what happened"}
	}
	if h.Seq > 0 && d.Asset != h.Asset {
		return nil, &RuleError{Field: "asset", Found: quote(string(d.Asset)), Want: "the chain's own, " + quote(string(h.Asset))}
	}
	name := d.Body.Kind()
	info, known := kinds[name]
	if !known {
		return nil, &RuleError{Field: "kind", Found: quote(name), Want: "a kind that this program knows"}
	}
	if d.Entered < h.Entered {
		if h.Entered-d.Entered > Skew {
			return nil, fmt.Errorf("%w of %s, entered %s, by %d s", ErrClock, d.Asset, h.Entered, int64(h.Entered-d.Entered)/int64(second))
		}
		d.Entered = h.Entered
	}
	body, err := marshal(d.Body)
	if err != nil {
		return nil, &RuleError{Field: "body", Found: err.Error(), Want: "what JSON can hold"}
	}
	for _, blob := range blobsOf(d.Body) {
		if !slices.Contains(d.Blobs, blob) {
			d.Blobs = append(slices.Clone(d.Blobs), blob)
		}
	}
	r := &Record{
		ID: d.ID, Asset: d.Asset, Seq: h.Seq + 1, Previous: h.Digest, Kind: name, Version: info.version,
		Happened: d.Happened, Entered: d.Entered, Who: d.Who, Reason: d.Reason, Corrects: d.Corrects,
		Blobs: d.Blobs, Body: body,
	}
	if err := r.checkEnvelope(); err != nil {
		return nil, err
	}
	if err := d.Body.check(); err != nil {
		return nil, inField("body", err)
	}
	r.Bytes = r.encode()
	if len(r.Bytes) > MaxBytes {
		return nil, &RuleError{Field: "record", Found: fmt.Sprintf("%d bytes", len(r.Bytes)), Want: fmt.Sprintf("at most %d; attach large matter as a document", MaxBytes)}
	}
	r.Digest = DigestOf(r.Bytes)
	return r, nil
}

// Check holds a record that came from elsewhere, from a file of an export, to
// all that Next demands of a draft.
func (r *Record) Check() error {
	if err := r.checkEnvelope(); err != nil {
		return err
	}
	body, err := r.Open()
	if err != nil {
		return err
	}
	if err := body.check(); err != nil {
		return inField("body", err)
	}
	for _, blob := range blobsOf(body) {
		if !slices.Contains(r.Blobs, blob) {
			return &RuleError{Field: "blobs", Found: fmt.Sprintf("%d others", len(r.Blobs)), Want: "the blob that the body names, " + blob.String()}
		}
	}
	return nil
}

func (r *Record) checkEnvelope() error {
	switch {
	case !r.ID.Valid():
		return &RuleError{Field: "id", Found: quote(string(r.ID)), Want: "a version 7 UUID in small letters"}
	case !r.Asset.Valid():
		return &RuleError{Field: "asset", Found: quote(string(r.Asset)), Want: "kind/name in small letters, digits and hyphens"}
	case !r.Entered.Valid():
		return &RuleError{Field: "entered", Found: quote(r.Entered.String()), Want: "an instant"}
	case !r.Happened.Valid():
		return &RuleError{Field: "happened", Found: quote(r.Happened.String()), Want: "an instant"}
	case r.Happened > r.Entered+Ahead:
		return &RuleError{Field: "happened", Found: r.Happened.String(), Want: "no later than it is entered, " + r.Entered.String()}
	case r.Who.Account != "" && !r.Who.Account.is(AccountAsset):
		return &RuleError{Field: "who.account", Found: quote(string(r.Who.Account)), Want: "an account, or nothing for the program itself"}
	}
	if err := checkText("who.name", r.Who.Name, MaxName, true); err != nil {
		return err
	}
	if err := checkText("reason", r.Reason, MaxReason, false); err != nil {
		return err
	}
	if len(r.Blobs) > MaxBlobs {
		return &RuleError{Field: "blobs", Found: fmt.Sprintf("%d", len(r.Blobs)), Want: fmt.Sprintf("at most %d", MaxBlobs)}
	}
	for i, d := range r.Blobs {
		if d.Zero() {
			return &RuleError{Field: fmt.Sprintf("blobs[%d]", i), Found: "an empty digest", Want: "the digest of a blob"}
		}
	}
	if r.Corrects != "" {
		switch {
		case !r.Corrects.Valid():
			return &RuleError{Field: "corrects", Found: quote(string(r.Corrects)), Want: "the id of a record"}
		case r.Corrects == r.ID:
			return &RuleError{Field: "corrects", Found: "the record itself", Want: "the record that was first entered"}
		case r.Reason == "":
			return &RuleError{Field: "reason", Found: "nothing", Want: "why the record is corrected"}
		case r.Seq == 1:
			return &RuleError{Field: "corrects", Found: quote(string(r.Corrects)), Want: "nothing: the chain has no record yet"}
		}
	}
	return r.checkPlace()
}

// checkPlace tells whether a record of this kind may stand here in this chain.
func (r *Record) checkPlace() error {
	info, known := kinds[r.Kind]
	if !known || r.Version < 1 || r.Version > info.version {
		return &UnknownKindError{ID: r.ID, Kind: r.Kind, Version: r.Version}
	}
	if !info.on(r.Asset.Kind()) {
		return &RuleError{Field: "kind", Found: r.Kind, Want: "a kind that belongs to a " + r.Asset.Kind()}
	}
	correction := r.Corrects != ""
	switch {
	case r.Kind == VoidKind && !correction:
		return &RuleError{Field: "corrects", Found: "nothing", Want: "the record to be voided"}
	case correction || info.repeats:
	case info.opens && r.Seq != 1:
		return &RuleError{Field: "kind", Found: r.Kind, Want: "a change: " + string(r.Asset) + " has been added before"}
	}
	if r.Seq == 1 && !info.opens {
		return &RuleError{Field: "kind", Found: r.Kind, Want: "the record that adds " + string(r.Asset)}
	}
	return nil
}

// checkText refuses text that is missing where it must be there, too long, not
// UTF-8, or holds control characters other than line breaks and tabs.
func checkText(field, s string, most int, must bool) error {
	switch {
	case s == "" && must:
		return &RuleError{Field: field, Found: "nothing", Want: "text"}
	case len(s) > most:
		return &RuleError{Field: field, Found: fmt.Sprintf("%d bytes", len(s)), Want: fmt.Sprintf("at most %d", most)}
	case !utf8.ValidString(s):
		return &RuleError{Field: field, Found: quote(s), Want: "text in UTF-8"}
	}
	for _, c := range s {
		if c < ' ' && c != '\n' && c != '\t' || c == 0x7f {
			return &RuleError{Field: field, Found: quote(s), Want: "text without control characters"}
		}
	}
	return nil
}
