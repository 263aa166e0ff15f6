// Package formula is the one table of calculations. Each entry says what a
// calculation is called, what goes in, what comes out, its formula, for what it
// is valid, whence it comes and how well that is known, and runs it. The command
// line, the pages, the interface and the reference in doc/calculations.md are
// all made from it.
//
// It computes nothing itself: an entry reads its inputs, hands them to the
// calculation packages, and writes what they return in the units of the
// contract, with the formula filled in.
//
// Inputs come as words, key=value, in the order in which they were given;
// see Calculation.Parse. Outputs are in kg, m, kN, N.m and deg or, where a law
// or the trade has its own unit, in that; each Output says which.
package formula
