// Package bolting answers what holds the fifth wheel to its mounting plate and
// the plate to the frame: thread and property-class data, the preload that a
// bolt can take and the torque that gives it, the forces on the bolts of a
// pattern, and whether the joint slips, opens, wears out its bolts or crushes
// what lies under their heads.
//
// Co-ordinates of a pattern: x rearwards, y to the left, from any datum; forces
// on the fitting are positive towards +x and +y, Down is positive downwards.
//
// Two systems of strength values live side by side and are never mixed: the
// minimum values of ISO 898-1 for preloads after VDI 2230, and the nominal
// values of EN 1993-1-8 for the resistances that carry Rd in their names.
//
// No torque in this package is a fitting torque. The torque for a coupling
// comes from the instructions of that coupling; what is computed here is the
// theoretical maximum, against which such a torque can be held for plausibility.
//
// Not validated for: bolts with a waisted shank, blind holes, tapped plates,
// hot joints, and painted or zinc-coated faces in the grip.
package bolting

// Evidence says how well a number is known. Practice and Memory may warn and
// never certify.
type Evidence string

const (
	Read     Evidence = "read"     // read in the law, standard or published document cited
	Derived  Evidence = "derived"  // arithmetic or mechanics from values that were read
	Practice Evidence = "practice" // common practice, no source
	Memory   Evidence = "memory"   // not verified
)

// Certifies says whether a check that rests on this evidence may pass.
func (e Evidence) Certifies() bool { return e == Read || e == Derived }
