// Package assess puts the question: one combination in, every quantity and
// every finding out. It is the only place that knows all calculations; they
// know nothing of each other, and what one needs from another passes through
// here.
//
// # The closed form
//
// For a given load and a given state of the lift axles, every axle load, length
// and gap is a straight line in the position of the coupling. A finding is such
// a line held against a limit, so it allows a half-line of positions; their
// intersection over all load cases is the lawful range. Findings that are not
// straight but monotone (the swing of the frame's corners) are inverted. Limits
// that step with the spacing of axles (the bridge formula) give a half-line for
// each step. Turning is checked where the coupling stands.
//
// # The lead
//
// Positions are leads: the distance of the fifth wheel's centre ahead of the
// drive axle, or of the centre of the drive bogie, in metres. Statics takes its
// own lead, from the reaction line of the rear group, and turning takes one from
// the centre of the axles that do not steer; both follow from this one.
package assess
