package rating

import (
	"math"

	"underpin/unit"
)

// Kind is what a part of the connection is.
type Kind string

// The parts through which the force goes.
const (
	FifthWheel    Kind = "fifth wheel"
	MountingPlate Kind = "mounting plate" // also a slide
	Kingpin       Kind = "kingpin"
	SteeringWedge Kind = "steering wedge"
)

// carriesU tells whether the part is rated for the imposed load. A kingpin is
// rated for D alone.
//
// Source: UN Regulation No. 55, Annex 4, table of markings.
func (k Kind) carriesU() bool { return k == FifthWheel || k == MountingPlate }

func (k Kind) known() bool {
	return k == FifthWheel || k == MountingPlate || k == Kingpin || k == SteeringWedge
}

// A Part is one part of the connection with its ratings.
type Part struct {
	Kind     Kind
	D        *unit.Force // nil: not known
	U        *unit.Mass  // nil: not known; of no meaning on a kingpin or a wedge
	Evidence Evidence    // of both ratings: Read from the part's own marking or papers

	// NoPlate, of a fifth wheel: it is fastened without a mounting plate, as the
	// vehicle's maker permits.
	NoPlate bool
}

// A Weakest is the least rating of a connection.
type Weakest struct {
	D     unit.Force // NaN if no part's D is known
	DPart int        // -1 if none
	U     unit.Mass  // NaN if no part's U is known
	UPart int        // -1 if none

	Certifies bool   // every part is there, rated and read
	OpenPart  int    // the first part that keeps it from certifying, -1 if none or if a part is missing
	Open      string // and why, "" if it certifies
}

// WeakestPart returns the part that governs a connection: the least D of all
// parts, and the least U of those that carry the imposed load:
//
//	D = min over all parts ,   U = min over fifth wheel and mounting plate
//
//	D, U  ratings as marked on each part   N, kg
//
// A part that is missing, or whose rating is unknown, practice or from memory,
// keeps the connection from certifying; what is known of it still counts for the
// least value.
//
// Valid for at least one part and ratings above 0; a rating that is not a number
// or a part of no known kind is refused with a *unit.DomainError.
//
// Source: derived: the force goes through every part. What each part must be
// marked with: UN Regulation No. 55, Annex 4. Handbook chapter 01, 7.
func WeakestPart(parts []Part) (Weakest, error) {
	const name = "weakest part"
	w := Weakest{D: unit.Force(math.Inf(1)), DPart: -1, U: unit.Mass(math.Inf(1)), UPart: -1, OpenPart: -1}
	if len(parts) == 0 {
		return w, outside(name, "parts", 0.0, "at least one part")
	}
	open := func(part int, why string) {
		if w.Open == "" {
			w.OpenPart, w.Open = part, why
		}
	}
	var wheel, plate, pin bool
	for i := range parts {
		p := &parts[i]
		if !p.Kind.known() {
			return Weakest{}, outside(name, "kind", float64(i), "fifth wheel, mounting plate, kingpin or steering wedge")
		}
		wheel = wheel || p.Kind == FifthWheel
		plate = plate || p.Kind == MountingPlate || p.Kind == FifthWheel && p.NoPlate
		pin = pin || p.Kind == Kingpin
		if p.D != nil {
			if err := wantPositive(name, "d", *p.D); err != nil {
				return Weakest{}, err
			}
			if *p.D < w.D {
				w.D, w.DPart = *p.D, i
			}
		} else {
			open(i, "D of the "+string(p.Kind)+" is not known")
		}
		if p.Kind.carriesU() {
			if p.U != nil {
				if err := wantPositive(name, "u", *p.U); err != nil {
					return Weakest{}, err
				}
				if *p.U < w.U {
					w.U, w.UPart = *p.U, i
				}
			} else {
				open(i, "U of the "+string(p.Kind)+" is not known")
			}
		}
		if !p.Evidence.Certifies() {
			open(i, "the rating of the "+string(p.Kind)+" is not read from its marking or papers")
		}
	}
	switch {
	case !wheel:
		open(-1, "the fifth wheel is missing")
	case !plate:
		open(-1, "the mounting plate is missing")
	case !pin:
		open(-1, "the kingpin is missing")
	}
	if w.DPart < 0 {
		w.D = unit.Force(math.NaN())
	}
	if w.UPart < 0 {
		w.U = unit.Mass(math.NaN())
	}
	w.Certifies = w.Open == ""
	return w, nil
}

// A Need is what a connection must be rated for.
type Need struct {
	D unit.Force // of RequiredD
	U unit.Mass  // the greatest imposed load

	// Rough tells that the train works on building sites or rough ground.
	// RoughUse is the part of the ratings that may then be used, the user's own
	// setting: no source gives one, so there is no default.
	Rough    bool
	RoughUse *float64
}

// A Strength is a connection held against what it must bear.
type Strength struct {
	Weakest
	Answer  Answer
	DMargin unit.Force // least D, less what is needed; NaN if none is known
	UMargin unit.Mass  // least U, less what is needed
	Short   int        // the first part, read, that is not enough; -1 if none
	Warn    string     // what is against it without deciding; "" if nothing
}

// CheckParts returns whether the parts of a connection are rated for what they
// must bear:
//
//	D_needed ≤ D of every part ,   U_needed ≤ U of fifth wheel and mounting plate
//
//	D, U  ratings as marked on each part   N, kg
//
// Equality is allowed. It fits only if every part is there, its ratings read and
// enough; it does not fit if a rating that was read is too small. All else
// cannot be told: a rating from memory or practice decides neither way. On rough
// ground the full ratings are not to be used: without RoughUse it cannot be
// told, and a rating that is too small only by RoughUse warns and cannot be told.
//
// Valid for D and U of 0 or more, 0 < RoughUse ≤ 1 and the ranges of WeakestPart;
// outside, the error is a *unit.DomainError.
//
// Source: derived: the force goes through every part; UN Regulation No. 55,
// Annex 4 for what is marked. That ratings assume paved roads is common practice,
// no source. Handbook chapter 01, 7.
func CheckParts(parts []Part, need Need) (Strength, error) {
	const name = "strength of the connection"
	if !(need.D >= 0 && finite(float64(need.D))) {
		return Strength{}, outside(name, "d", need.D, "0 or more, finite")
	}
	if !(need.U >= 0 && finite(float64(need.U))) {
		return Strength{}, outside(name, "u", need.U, "0 or more, finite")
	}
	use := 1.0
	if need.RoughUse != nil {
		if !(0 < *need.RoughUse && *need.RoughUse <= 1) {
			return Strength{}, outside(name, "rough-use", *need.RoughUse, "more than 0, at most 1")
		}
		if need.Rough {
			use = *need.RoughUse
		}
	}
	w, err := WeakestPart(parts)
	if err != nil {
		return Strength{}, err
	}
	s := Strength{Weakest: w, Answer: Fits, DMargin: w.D - need.D, UMargin: w.U - need.U, Short: -1}
	if !w.Certifies {
		s.Answer = CannotTell
	}
	if need.Rough && need.RoughUse == nil {
		s.Answer, s.Warn = CannotTell, "on rough ground the full ratings are not to be used, and no part of them is set (common practice, no source)"
	}
	for i := range parts {
		p := &parts[i]
		enough := func(use float64) bool {
			return (p.D == nil || need.D <= *p.D*unit.Force(use)) &&
				(!p.Kind.carriesU() || p.U == nil || need.U <= *p.U*unit.Mass(use))
		}
		switch {
		case enough(use):
		case p.Evidence.Certifies() && !enough(1):
			if s.Short < 0 {
				s.Short = i
			}
			s.Answer = DoesNotFit
		case s.Answer != DoesNotFit:
			s.Answer = CannotTell
			if s.Warn == "" {
				s.Warn = "the " + string(p.Kind) + " is not enough by a rating or a setting that does not decide"
			}
		}
	}
	return s, nil
}

// Marks are the values that a part must be marked with.
type Marks struct{ D, Dc, S, U, V bool }

// FindMarks returns which values the approval marking of a part shows: a row of
// a table, for reading a plate and telling what is missing on it.
//
// Valid for fifth wheel, kingpin and mounting plate; a steering wedge has no row
// that was read, and the error is a *unit.NoAnswerError.
//
// Source: UN Regulation No. 55, Annex 4, table of markings. Handbook chapter 01,
// 2.3.
func FindMarks(kind Kind) (Marks, error) {
	switch kind {
	case FifthWheel, MountingPlate:
		return Marks{D: true, U: true}, nil
	case Kingpin:
		return Marks{D: true}, nil
	}
	return Marks{}, &unit.NoAnswerError{Formula: "markings", Why: "no row of the table for " + string(kind) + " was read"}
}
