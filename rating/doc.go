// Package rating computes the strength that a fifth wheel, its mounting and a
// kingpin must be rated for, and compares it with what is marked on them: D, U,
// Dc and V, the weakest part of the chain, the sizes of pin and jaw, classes and
// the steering wedge.
//
// Masses go in as unit.Mass; a number in kilograms where tonnes were meant is
// for the caller to catch. Optional inputs are pointers, nil being "not given";
// a number that is given is checked, so a NaN never counts as a missing one.
//
// D is a rating for the approval test and not an upper bound of the force on a
// road.
package rating
