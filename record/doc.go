// Package record is the fleet's memory as plain values: what a record is, how
// records hang together in chains, how a chain is proved, and how today's state
// follows from them. It has no clock, no files and no database; store keeps
// what it makes.
//
// # Records and chains
//
// Everything that happened is a [Record]. Each asset (a vehicle, a part, a type,
// a depot, a notice, an account, a set of limits) has a chain of its own, in
// which the records are numbered from 1 and each names the digest of the one
// before. The digest of a record is SHA-256 over the bytes as they are stored;
// nothing is ever encoded a second time to be checked. A [Seal] names the heads
// of all chains and the seal before it, and is signed with a key that the
// operator keeps.
//
// Nothing is changed and nothing is removed. A correction is a further record
// in the same chain that names the one it corrects and carries the whole body
// as it should have been, or voids it.
//
// # State
//
// The state of an asset is an [Entity]: the entries in force, one for each record
// that was not itself a correction, in the order in which things happened.
// [State] applies one record at a time. What is true at an instant is asked of
// an entity by its views: [Entity.Vehicle], [Entity.Part] and their like. So a
// correction needs no replay: it replaces one entry, and every view, of today
// or of any day before, follows.
//
// Three laws hold for every history h, and are tested on random ones:
//
//   - Applying records one at a time to stored state gives the state that a
//     rebuild from all records gives, in whatever order the chains are mixed.
//   - Views after h and a correction of r to the body b are the views after h in
//     which r was entered with b from the start.
//   - Views after h and a void of r are the views after h without r.
//
// The corrected record's own text stays in its chain for whoever asks who wrote
// what and when.
package record
