// Package axleload computes how the masses of a combination come down on its
// axles and on the fifth wheel: the chain of units at rest, groups of axles and
// their lifted states, the permitted payload and the lawful lead of the fifth
// wheel, the standing trailer, the stages of a delivery round, and the load
// transfer in braking, on a gradient and in roll.
//
// Masses stand for loads (multiply by unit.Gravity for the force), as on a
// weighbridge ticket. Lengths run rearwards from the unit's front support: the
// front axle of a tractor, the kingpin of a semi-trailer, the eye of a rigid
// drawbar. The lead is the distance of the fifth wheel ahead of the rear
// reaction line of the tractor; behind the line it is negative.
//
// All of it is statics of rigid units on level supports, one reaction line per
// group of axles. It says where the mass goes, and is no proof of legality: a
// load centre estimated 0.1 m wrong moves some 0.3 t at the kingpin.
//
// Optional inputs are pointers, nil being "not given"; a number that is given
// is checked, so a NaN never counts as a missing limit. In results a number
// that cannot be known is NaN and a flag beside it says so. An unbounded
// result is an infinity, as each function states.
package axleload
