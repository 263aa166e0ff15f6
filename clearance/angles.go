package clearance

import (
	"math"

	"underpin/unit"
)

// How well a value is known. Values that are practice or memory may warn and
// never certify.
const (
	Read     = "read"     // read in the source named
	Practice = "practice" // used in the trade, or drafted, without standing as a requirement
	Memory   = "memory"   // from memory, the clause not read
)

// An AngleSet is a set of angles for which a free space between tractor and
// trailer is asked. An angle that the source does not give is NaN, which no
// formula accepts: what is missing is not taken as zero.
type AngleSet struct {
	ID            string
	Name          string
	NoseDown      unit.Angle  // trailer nose-down (plate tilts forward)
	NoseUp        unit.Angle  // trailer nose-up (plate tilts rearward)
	Roll          unit.Angle  // to either side
	Yaw           unit.Angle  // articulation to either side
	TiltAxisDepth unit.Length // p that belongs to the set
	Evidence      string      // Read, Practice or Memory
	Source        string
	Note          string
}

var notGiven = math.NaN()

// AngleSets are the sets of angles known here, in the order in which they are
// offered.
var AngleSets = [...]AngleSet{
	{
		ID: "interchange", Name: "standard interchange",
		NoseDown: 6 * unit.Degree, NoseUp: 7 * unit.Degree, Roll: 3 * unit.Degree,
		Yaw: unit.Angle(notGiven), TiltAxisDepth: unit.Length(notGiven),
		Evidence: Memory, Source: "ISO 1726-1, clause not read",
	},
	{
		ID: "low-coupling", Name: "low coupling",
		NoseDown: 3.5 * unit.Degree, NoseUp: 4.5 * unit.Degree, Roll: unit.Angle(notGiven),
		Yaw: unit.Angle(notGiven), TiltAxisDepth: unit.Length(notGiven),
		Evidence: Read, Source: "ISO 1726-2, as reported by the UN R55 informal group, January 2016",
		Note: "the report gives no lateral angle",
	},
	{
		ID: "sae-grade", Name: "SAE J701 grade",
		NoseDown: SAEJ701Pitch, NoseUp: unit.Angle(notGiven), Roll: unit.Angle(notGiven),
		Yaw: unit.Angle(notGiven), TiltAxisDepth: SAEJ701TiltAxisDepth,
		Evidence: Read, Source: "SAE J701 (abstracts of the 1984 and 2017 editions)",
		Note: "an 11 % change of grade; asked of the gap to the cab only",
	},
	{
		ID: "trade-press-1990", Name: "nose-down 6° as reported in 1990",
		NoseDown: 6 * unit.Degree, NoseUp: unit.Angle(notGiven), Roll: unit.Angle(notGiven),
		Yaw: unit.Angle(notGiven), TiltAxisDepth: unit.Length(notGiven),
		Evidence: Practice, Source: "trade press on ISO 1726, 25 October 1990, p. 50",
		Note: "80 mm between cab back and trailer front, at 250 mm above the fifth wheel; the standard itself not read",
	},
	{
		ID: "r55-draft-installed", Name: "UN R55 draft, as installed",
		NoseDown: 7 * unit.Degree, NoseUp: 7 * unit.Degree, Roll: 3 * unit.Degree,
		Yaw: 90 * unit.Degree, TiltAxisDepth: unit.Length(notGiven),
		Evidence: Practice, Source: "UN R55 informal group, working document R55-07-10",
		Note: "a draft that was read but not adopted; it certifies nothing",
	},
	{
		ID: "r55-component", Name: "UN R55 component",
		NoseDown: 12 * unit.Degree, NoseUp: 12 * unit.Degree, Roll: 3 * unit.Degree,
		Yaw: 90 * unit.Degree, TiltAxisDepth: unit.Length(notGiven),
		Evidence: Memory, Source: "UN Regulation No. 55, component requirements, clause not read",
	},
}

// A Clearances holds what belongs to a case beside the angles.
type Clearances struct {
	TiltAxisDepth unit.Length
	Underside     unit.Length
	Bump          unit.Length
}

// Rearward returns the case in which the trailer pitches nose-up onto what
// lies behind the tilt axis and rolls at the same time.
func (s AngleSet) Rearward(c Clearances) TiltCase { return s.tilt("nose-up and roll", s.NoseUp, c) }

// Forward returns the case in which the trailer pitches nose-down onto what
// lies ahead of the tilt axis and rolls at the same time.
func (s AngleSet) Forward(c Clearances) TiltCase { return s.tilt("nose-down and roll", s.NoseDown, c) }

func (s AngleSet) tilt(movement string, pitch unit.Angle, c Clearances) TiltCase {
	name := s.Name + ", " + movement
	if c.Bump > 0 {
		name += " and bump"
	}
	return TiltCase{name, pitch, s.Roll, c.Bump, c.TiltAxisDepth, c.Underside}
}
