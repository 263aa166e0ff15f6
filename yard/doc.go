// Package yard is what a driver needs beside the vehicles: the steps for exactly
// this coupling, the questions that must never be passed over, the record of a
// check, and the way a record takes from a phone without a signal. It has no
// clock, no files and no network: times and ids are arguments.
//
// # A card
//
// [NewCard] builds the steps of one [Flow] for one [Pair] from [Facts] that are
// independent of each other. Steps stand in three standstills. Between two
// standstills the driver drives, and there is nothing to tap: what he does at
// the wheel is text without an answer.
//
// # What is missing
//
// A fact that is not known gives the strictest step and a sentence that names
// it. A sensor that is faulty, dark or silent counts as unlocked. Nothing that
// is missing ever becomes a pass: [Check.Outcome] says may drive only when every
// step has the answer it waits for.
//
// # What proves a lock
//
// The looks do: no gap, jaws closed behind the pin, handle home, safety in, and
// whatever else this coupling shows. A display stands beside them and never
// instead; the tug never counts as one. A look that failed sends all looks of
// the lock back to be taken again, once; after that the workshop looks. A break
// sends them back too.
//
// # Words
//
// All text is keyed and stands in each [Language]. The order of lines of each
// country and the reason behind each step are data with source and evidence.
// The marks are those of package rule: practice and memory warn and ask, and
// certify nothing.
package yard
