// Package store keeps what the program must not forget: records with their
// chains and seals, the state that follows from them, readings, photos and
// documents, and beside the records what people sign in with. It interprets
// nothing: what a record means, record knows; who may do what, fleet decides.
//
// There are two stores: [OpenSQLite], in one folder on one machine, and
// [OpenPostgres], for several copies of the program on one database. Both keep
// the promises written down here, which one suite of tests holds against both.
//
// # Promises
//
//   - What a method has acknowledged is on the disk: it survives the end of the
//     process and of the power. What it has not acknowledged is there whole or not
//     at all.
//   - Records, seals and readings are only ever added. No method changes one, and
//     the database itself refuses.
//   - Methods may be called by many goroutines, and by several programs at once.
//   - There is no clock here: whatever depends on the time is given it.
//
// # Errors
//
// [ErrNotFound], [*Conflict], [*Stale], [*Taken], [*IDTaken], [*MissingBlob] and
// [*record.RuleError] are the caller's to answer. [*Unavailable] says that the
// machine failed: the disk is full, the database is gone, the folder cannot be
// written. After any error nothing of the call has taken effect; only where the
// connection broke while a call was being acknowledged can it have, and then
// sending the same again is safe, since records are known by their ids.
package store

import (
	"context"
	"encoding/json"
	"io"
	"iter"

	"underpin/record"
)

// A Store is everything together.
type Store interface {
	Records
	Rows
	Readings
	Blobs
	Access
	Jobs

	// Ping tells whether the store can be reached and written, for health checks.
	Ping(ctx context.Context) error
	// Backup writes a copy of the database, and of what belongs to it, into an empty
	// or new folder, while the store goes on working. PostgreSQL has better tools of
	// its own; there the error says which.
	Backup(ctx context.Context, dir string) error
	// About says what the store is, for people: sqlite or postgres, where, and the
	// version of its schema.
	About(ctx context.Context) (About, error)
	// Close gives back all connections. It waits for running calls.
	Close() error
}

// About says what a store is.
type About struct {
	Engine  string // sqlite or postgres
	Version string // of the engine
	Place   string // folder, or address without password
	Schema  int64
	Bytes   int64 // of the database, without photos kept beside it
}

// Records keeps records, chains and seals.
type Records interface {
	// Append enters a batch whole or not at all. The records of one chain must
	// follow one another and the chain's head; where somebody was quicker the error
	// is a *Conflict that holds the record that came first.
	//
	// It is idempotent by record id: when all the records of the batch are there
	// already, saying the same, nothing happens and Again is true. An id that is
	// there with another content is an *IDTaken.
	//
	// A record that corrects must name one of its own chain and kind that is itself
	// no correction, else the error is a *record.RuleError; and every blob that a
	// record names must have been put before, else it is a *MissingBlob.
	Append(ctx context.Context, b Batch) (Appended, error)

	// Record returns one record.
	Record(ctx context.Context, id record.ID) (*record.Record, error)
	// Head returns the end of a chain. A chain that has not begun has Seq 0, and is
	// no error.
	Head(ctx context.Context, a record.Asset) (record.Head, error)
	// History returns a chain's records from a number on, at most limit of them, in
	// their order.
	History(ctx context.Context, a record.Asset, from int64, limit int) ([]*record.Record, error)
	// Recent returns the records entered last, newest first, of all chains; before
	// is the Number of the last one seen, 0 to begin.
	Recent(ctx context.Context, before int64, limit int) ([]Numbered, error)
	// All yields every record, each chain in its order, as the store stood when it
	// began.
	All(ctx context.Context) iter.Seq2[*record.Record, error]

	// Snapshot gives fn the whole archive as it stands at one instant, for
	// verification. Writers are not held up.
	Snapshot(ctx context.Context, fn func(record.Archive) error) error

	// Heads returns the heads of all chains, sorted by asset, as they stand at one
	// instant, with how far each is sealed.
	Heads(ctx context.Context) ([]record.Head, error)
	// LastSeal returns the newest seal, or nil when there is none.
	LastSeal(ctx context.Context) (*record.Seal, error)
	// AddSeal adds a seal made by record.NewSeal from Heads and LastSeal. When
	// another was added in between the error is a *Conflict.
	AddSeal(ctx context.Context, s *record.Seal) error
}

// A Batch is what one command changes, all at once.
type Batch struct {
	Records []*record.Record
	Rows    []Put // the cached state that follows

	Secrets     []Secret
	Tokens      []Token
	EndSessions []record.Asset // accounts whose sessions all end
	Jobs        []Job
}

// Appended says what became of a batch.
type Appended struct {
	// Again tells that the batch was there already. Records are those that are
	// stored, which may have been entered at another time than those that were given.
	Again   bool
	Records []*record.Record
}

// Numbered is a record with its place in the order of entry. Numbers rise and may
// have gaps.
type Numbered struct {
	Number int64
	*record.Record
}

// A Row is the cached state of one entity: what lists show, what it is found by,
// and the entity itself. It follows from the records and can be rebuilt.
type Row struct {
	Asset record.Asset
	Rev   int64 // rises with each change

	Title  string
	Sort   string // order in lists; empty: not listed by List nor found by Find, only by Beside
	Text   string // what it is found by; lines are fields
	Depot  record.Asset
	Status string
	Due    record.Time // when something is due; 0: nothing
	At     record.Time // order in Beside

	Refs []record.Asset // assets beside which it stands; not read back
	Keys []string       // names that no second row may have; not read back

	Line  json.RawMessage // the few values that lists show
	State json.RawMessage // the entity; lists leave it out
}

// A Put writes a row. Was is the revision that the change was computed from, 0
// for a row that is new; when it is not that any more the error is a *Stale, and
// the caller loads and computes again.
type Put struct {
	Row
	Was int64
}

// Rows keeps cached state.
type Rows interface {
	// Row returns one row, with its state.
	Row(ctx context.Context, a record.Asset) (Row, error)
	// Rows returns several rows with their state, in the order asked, leaving out
	// those that are not there.
	Rows(ctx context.Context, all []record.Asset) ([]Row, error)
	// List returns one page of rows without state.
	List(ctx context.Context, q Query) ([]Row, error)
	// Count counts the rows of a query by status, regardless of page and of
	// q.Status.
	Count(ctx context.Context, q Query) (map[string]int, error)
	// Beside returns the rows of a kind that stand beside an asset, with their
	// state, latest At first.
	Beside(ctx context.Context, q BesideQuery) ([]Row, error)
	// Find returns rows whose text holds every word of what was typed, without
	// state. Words of one or two characters must begin a word of the text, longer
	// ones may stand anywhere in it. Case, accents and punctuation do not count, and
	// neither do blanks within one field: OS-HE 7 is found by oshe7. Rows whose
	// title begins with what was typed come first.
	Find(ctx context.Context, q FindQuery) ([]Row, error)
	// Key returns the asset that has a key.
	Key(ctx context.Context, key string) (record.Asset, error)
	// Rebuild makes the rows those that fn puts, whole or not at all: others go, what
	// differs is written, and what is as it was keeps its revision. Records cannot be
	// entered meanwhile; reading goes on with the old rows. The records that fn gets
	// are all there are.
	Rebuild(ctx context.Context, fn func(all iter.Seq2[*record.Record, error], put func(Row) error) error) error
}

// A Query says which rows a list shows.
type Query struct {
	Kind   string         // kind of asset; must be given
	Depots []record.Asset // of any of these; empty: of any
	Status []string       // any of these; empty: any
	ByDue  bool           // only what is due, soonest first; else by Sort
	After  *Row           // the last row of the page before
	Limit  int
}

// A BesideQuery says which rows stand beside an asset.
type BesideQuery struct {
	Asset  record.Asset
	Kind   string      // must be given
	Status string      // empty: any
	Until  record.Time // only At before this; 0: any
	Limit  int
}

// A FindQuery says what was typed into the one field.
type FindQuery struct {
	Text   string
	Kinds  []string       // empty: any
	Depots []record.Asset // of any of these, and those of no depot; empty: any
	Limit  int
}

// A Meter is one meter of one vehicle, whose readings are a series.
type Meter struct {
	Asset record.Asset
	Name  string // odometer, hub or brake
}

// A Reading is what a meter showed. Metres were given in Unit, which is kept so
// that nobody need guess what was typed.
type Reading struct {
	Meter
	record.Reading
	Unit string // m, km or mi
}

// An Import is one delivery of readings.
type Import struct {
	ID      record.ID // sending twice is the same as sending once
	Entered record.Time
	Who     record.Who
	Source  string // file or feed
}

// Readings keeps odometer readings, by the million.
type Readings interface {
	// AddReadings adds one delivery, whole or not at all. A reading that is there
	// already, same meter, instant and metres, is not added again; two that differ
	// are both kept. It returns how many were new.
	AddReadings(ctx context.Context, from Import, all []Reading) (added int, err error)
	// ReadingsOf returns the readings of one meter from an instant up to and with
	// another, in order of time.
	ReadingsOf(ctx context.Context, m Meter, from, to record.Time) ([]record.Reading, error)
	// LatestReadings returns the newest reading of each meter of some assets.
	LatestReadings(ctx context.Context, of []record.Asset) ([]Reading, error)
	// EachReading yields every reading by meter and time, for an export.
	EachReading(ctx context.Context) iter.Seq2[Reading, error]
	// Imports returns the deliveries, newest first.
	Imports(ctx context.Context, limit int) ([]Import, error)
}

// Blobs keeps photos and documents by their digest.
type Blobs interface {
	// PutBlob stores what r yields, at most MaxBlob bytes, and returns its digest.
	// What is there already stays. A blob is there before a record can name it.
	PutBlob(ctx context.Context, r io.Reader) (record.Digest, int64, error)
	// Blob returns what has a digest; the caller closes it.
	Blob(ctx context.Context, d record.Digest) (io.ReadSeekCloser, error)
	// BlobSizes yields every blob with its size, for an export.
	BlobSizes(ctx context.Context) iter.Seq2[BlobInfo, error]
}

// BlobInfo names one blob.
type BlobInfo struct {
	Digest record.Digest
	Bytes  int64
}

// MaxBlob is the largest blob, in bytes.
const MaxBlob = 64 << 20

// Access keeps what people and programs sign in with. None of it is a record;
// that an account, a permission or a token came or went is.
type Access interface {
	// Secret returns a secret of an account, such as its password's hash.
	Secret(ctx context.Context, account record.Asset, kind string) (Secret, error)
	// SecretByValue finds a secret by what it is, such as a one-time link's digest.
	SecretByValue(ctx context.Context, kind, value string) (Secret, error)
	PutSecret(ctx context.Context, s Secret) error
	// DropSecret takes a secret away and tells whether it was there: of several who
	// try to use a one-time link only one is told true.
	DropSecret(ctx context.Context, account record.Asset, kind string) (bool, error)

	// PutSession stores or replaces a session by its token's digest.
	PutSession(ctx context.Context, s Session) error
	// Session returns a session that has not expired at now.
	Session(ctx context.Context, token record.Digest, now record.Time) (Session, error)
	DropSession(ctx context.Context, token record.Digest) error
	// Sessions returns those of an account, or all for an empty one, newest first.
	Sessions(ctx context.Context, account record.Asset) ([]Session, error)
	DropSessions(ctx context.Context, account record.Asset) error

	// Token returns the token with a digest, revoked and expired ones too.
	Token(ctx context.Context, hash record.Digest) (Token, error)
	// Tokens returns those of an account, or all for an empty one, newest first.
	Tokens(ctx context.Context, account record.Asset) ([]Token, error)
	// TouchToken notes that a token was used.
	TouchToken(ctx context.Context, id record.ID, at record.Time) error

	// Setting returns a setting of this installation, or an empty text.
	Setting(ctx context.Context, name string) (string, error)
	PutSetting(ctx context.Context, name, value string) error
	// ClaimSetting sets a setting that is not set yet and returns what is set then:
	// of several programs that start at once all get the same.
	ClaimSetting(ctx context.Context, name, value string) (string, error)

	// Purge forgets sessions and secrets that expired before now, and jobs that
	// were done or given up before then.
	Purge(ctx context.Context, now, jobs record.Time) error
}

// A Secret is something that proves who someone is: a password's hash, the digest
// of a one-time link or of a personal code. Never the thing itself.
type Secret struct {
	Account record.Asset
	Kind    string
	Value   string
	Changed record.Time
	Expires record.Time // 0: never
}

// A Session is somebody who is signed in. Its key is the digest of the token that
// only the browser has.
type Session struct {
	Token   record.Digest
	Account record.Asset // empty before sign-in
	Data    []byte
	Created record.Time
	Seen    record.Time
	Expires record.Time
}

// A Token lets a program in. The token itself is nowhere kept, only its digest.
type Token struct {
	ID      record.ID
	Account record.Asset
	Hash    record.Digest
	Title   string
	Scopes  []string
	Created record.Time
	Expires record.Time
	Revoked record.Time // 0: in force
	Used    record.Time // last time; 0: never
}

// A Job is work that is to be done once, by whichever copy of the program comes
// first.
type Job struct {
	ID       int64 // given by the store
	Kind     string
	Key      string // with Kind, what makes it the same job; empty: none is the same
	Args     json.RawMessage
	RunAt    record.Time
	Attempts int         // times it was claimed
	Lease    record.Time // until when the claim holds
	State    string      // queued, running, done or failed
	Note     string      // what went wrong last
}

// States of a job.
const (
	JobQueued  = "queued"
	JobRunning = "running"
	JobDone    = "done"
	JobFailed  = "failed"
)

// Jobs keeps a queue. A job is claimed for a while; who does not finish it by
// then loses it to the next.
type Jobs interface {
	// Enqueue adds a job, and tells whether it was new: a second one with the same
	// kind and key is not added, whatever became of the first.
	Enqueue(ctx context.Context, j Job) (bool, error)
	// Claim takes the job that is due longest, of the given kinds, for the time up to
	// lease, or returns nil when there is none. Two claims never take the same job
	// while the lease holds.
	Claim(ctx context.Context, kinds []string, now, lease record.Time) (*Job, error)
	// Extend holds a claim for longer.
	Extend(ctx context.Context, j *Job, lease record.Time) error
	// Finish marks a claimed job as done.
	Finish(ctx context.Context, j *Job, now record.Time) error
	// Retry gives a claimed job back, to be run again at an instant, or for good when
	// at is 0.
	Retry(ctx context.Context, j *Job, at, now record.Time, why string) error
	// Jobs returns jobs of a state, or all, newest first.
	Jobs(ctx context.Context, state string, limit int) ([]Job, error)
}
