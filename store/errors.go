package store

import (
	"errors"
	"fmt"

	"underpin/record"
)

// ErrNotFound is wrapped when nothing has the name that was asked for.
var ErrNotFound = errors.New("not found")

// ErrLostClaim is wrapped when a job is no longer the caller's: its lease ran out
// and another took it.
var ErrLostClaim = errors.New("the claim on the job was lost")

// A Conflict says that somebody was quicker: the chain went on since it was read.
type Conflict struct {
	Asset record.Asset
	Seq   int64          // the number that both wanted
	Came  *record.Record // the record that came first; nil for a seal, and where the chain is shorter than was thought
}

func (e *Conflict) Error() string {
	if e.Came != nil {
		return fmt.Sprintf("%s was changed meanwhile: record %d, %s, was entered by %s on %s", e.Asset, e.Seq, e.Came.Kind, e.Came.Who.Name, e.Came.Entered)
	}
	if e.Asset == "" {
		return fmt.Sprintf("seal %d was made meanwhile", e.Seq)
	}
	return fmt.Sprintf("%s does not end where record %d could follow", e.Asset, e.Seq)
}

// A Stale says that the cached state of an entity changed since it was read.
type Stale struct{ Asset record.Asset }

func (e *Stale) Error() string { return fmt.Sprintf("the state of %s changed meanwhile", e.Asset) }

// A Taken says that another asset has a name already that no two may have.
type Taken struct {
	Key string
	By  record.Asset
}

func (e *Taken) Error() string { return fmt.Sprintf("%s is taken by %s", e.Key, e.By) }

// An IDTaken says that a record with this id is there and says something else.
type IDTaken struct{ ID record.ID }

func (e *IDTaken) Error() string {
	return fmt.Sprintf("the id %s belongs to another record already", e.ID)
}

// A MissingBlob says that a record names a document that is not there.
type MissingBlob struct {
	ID   record.ID
	Blob record.Digest
}

func (e *MissingBlob) Error() string {
	return fmt.Sprintf("record %s names the document %s, which was not put before", e.ID, e.Blob)
}

// A NewerSchema says that a later version of the program wrote this store.
type NewerSchema struct{ Has, Known int64 }

func (e *NewerSchema) Error() string {
	return fmt.Sprintf("the store was written by a later version of the program: its schema is %d, and this one knows up to %d; start that version, or restore the backup that was made before it", e.Has, e.Known)
}

// An Unavailable says that the machine failed, and in plain words how.
type Unavailable struct {
	Doing string // what was tried
	Why   string // what is wrong, for people
	Err   error
}

func (e *Unavailable) Error() string {
	if e.Why == "" {
		return fmt.Sprintf("%s: %v", e.Doing, e.Err)
	}
	return fmt.Sprintf("%s: %s (%v)", e.Doing, e.Why, e.Err)
}

func (e *Unavailable) Unwrap() error { return e.Err }
