// Package maintenance says what a coupling, its kingpin and its rubbing plate
// need after they were fitted: which work is due when, what to gauge and how,
// what the readings mean, what to repair, when a vehicle may return to service,
// and which jobs to do at one visit. It has no clock, no files and no database:
// the day is an argument, and who calls it brings records and keeps results.
//
// # What governs
//
// Limits come in three layers: law of a country, standard, and maker. The
// maker's values stand in the type record that a user copied from the
// instructions; where it is silent, common practice takes its place and is
// marked so. Every layer is shown and the strictest governs. Common practice may
// stop a vehicle and never certifies one: a part that is only held against
// practice is cannot-tell, and what is missing is named.
//
// Intervals start from common practice too. A document of the type may lengthen
// them; what has no document, a factor of use or a forecast, only shortens.
//
// # What is missing
//
// Missing data is never a pass. An outcome that lacks a reading, a limit or the
// other half of the combination is cannot-tell, which blocks the return to
// service as do-not-use does.
//
// # Words
//
// All text for people is a [Text]: a key that a translation goes by, and the
// English. [Texts] lists them all.
package maintenance
