// Package mounting turns an answer into a sheet that a fitter works from: which
// coupling, where along the frame, how high, on what, with which bolts and
// torque, why, and what else was possible.
//
// # Datum and signs
//
// Along the frame x runs from the front axle rearwards, as for the tractor. The
// holes of a part stand from the part's own middle, x rearwards and y to the
// left; on the web of a side member y is the height over the frame's top, so
// that holes in the web are below zero. Heights run up.
//
// # A stack
//
// A stack is what stands between the frame and the semi-trailer: a base of the
// chassis (frame, subframe or attachment angles), parts that stand on it, and
// on top one fifth wheel. Each kind of part occurs at most once: plates are not
// piled on plates. A part stands on another only where it is entered to, and
// where its holes meet holes of what is below.
//
// # What is exact
//
// The height of a stack is a sum, the sinking of the frame under load a
// parabola in the position, and every lawful range a set of intervals. Search
// cuts such sets with each other and samples nothing. Where a position is named
// it is a whole millimetre, because nobody measures finer along a frame.
//
// # What decides
//
// Findings follow package rule: what rests on common practice or memory warns
// and never certifies. What is missing is never a pass; a sheet with an open
// finding stays a draft.
package mounting
