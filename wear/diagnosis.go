package wear

import (
	"strings"

	"underpin/unit"
)

// PinLimits are the sizes of one pin: of the layer (law, standard or maker) that
// is the strictest of those that apply. NaN is unknown.
type PinLimits struct {
	Neck        unit.Length // d0, neck when new
	NeckLimit   unit.Length // replace when reached
	CollarLimit unit.Length // replace when reached
}

// LockLimits are the plays of one type of coupling, from its type record. There
// is no play that is good for every coupling: the least play after adjusting is
// 0.3 mm for some and 1.6 mm for others. NaN is unknown.
type LockLimits struct {
	Base        unit.Length // p_base, with a true pin and the right setting
	Adjust      unit.Length // p_adjust: above it, adjust
	Most        unit.Length // p_max
	Uncertainty unit.Length // u, of a measured play
	Legal       unit.Length // play above which the law prohibits use; +Inf where it names none
}

// Travel says whether the adjuster of a lock can go any further.
type Travel int

const (
	TravelUnknown Travel = iota
	TravelLeft
	TravelNone
)

// Measured is what was gauged on pin and lock. NaN is not measured.
type Measured struct {
	Neck     unit.Length // d, the smallest reading
	Collar   unit.Length
	Play     unit.Length // p_meas, of this pin in the closed lock
	LockPlay unit.Length // p_lock, with a reference pin in the lock; NaN to work it out
	Travel   Travel
	HardStop bool // something found that forbids driving whatever the sizes
}

// A PinState is what the sizes say of a pin.
type PinState int

const (
	PinUnknown  PinState = iota // a size or its limit is missing
	PinFit                      // in its limits
	PinAdvisory                 // within 0.5 mm of a limit
	PinReplace                  // a limit is reached
)

func (s PinState) String() string {
	return stateName(int(s), "cannot tell", "fit", "advisory", "replace")
}

// A LockState is what the play of a lock says of it, the pin's wear taken out.
type LockState int

const (
	LockUnknown LockState = iota // a play or its limit is missing
	LockTight                    // set too tight, on a worn pin most likely
	LockFit                      // what play is left is the pin's
	LockAdjust                   // too much play, and the adjuster has travel
	LockRenew                    // too much play, and the adjuster has none
	LockOver                     // too much play; whether the adjuster has travel is not known
)

func (s LockState) String() string {
	return stateName(int(s), "cannot tell", "too tight", "fit", "adjust", "renew", "over")
}

func stateName(i int, names ...string) string {
	if i < 0 || i >= len(names) {
		return "unknown state"
	}
	return names[i]
}

// Actions are what to do, as a set.
type Actions uint16

const (
	Stop         Actions = 1 << iota // R1: a hard stop was found
	Prohibited                       // R8: play above the legal limit
	ReplacePin                       // R2
	BackOff                          // R3: give the lock its play back
	AdjustLock                       // R5: adjust, on a true pin or lock tester
	RenewLock                        // R6: new wear ring and jaw, together
	Readjust                         // a new pin, ring or jaw needs the lock set again
	LeaveSetting                     // R4: the play is the pin's; do not adjust it out
	LookFurther                      // R7: more play than pin and lock may have together
)

var actionNames = [...]string{
	"stop", "use prohibited", "replace the pin", "back the lock off", "adjust the lock",
	"renew ring and jaw", "set the lock afterwards", "do not adjust the pin's wear out", "look for another loose joint",
}

func (a Actions) String() string {
	var s []string
	for i, n := range actionNames {
		if a&(1<<i) != 0 {
			s = append(s, n)
		}
	}
	return strings.Join(s, "; ")
}

// Wants is what must be measured or entered before the answer is whole, as a
// set.
type Wants uint16

const (
	WantNeck Wants = 1 << iota
	WantNeckLimit
	WantCollar
	WantCollarLimit
	WantPlay
	WantLockLimits
	WantTravel
	WantLegal
)

var wantNames = [...]string{
	"neck diameter", "limit of the neck, with its new size", "collar diameter", "limit of the collar", "play in the lock",
	"plays of the coupling's type record", "travel left on the adjuster", "legal limit of play",
}

func (w Wants) String() string { return strings.Join(w.List(), ", ") }

// List names what is missing, one by one.
func (w Wants) List() []string {
	var s []string
	for i, n := range wantNames {
		if w&(1<<i) != 0 {
			s = append(s, n)
		}
	}
	return s
}

// A Diagnosis is what pin and lock need.
type Diagnosis struct {
	PinWear  unit.Length // w; NaN when not known
	LockPlay unit.Length // p_lock; NaN when not known
	Direct   bool        // p_lock was measured with a reference pin
	Together unit.Length // most play that pin and lock may have between them; NaN when not known
	Pin      PinState
	Lock     LockState
	OverMost bool // p_lock above p_max
	Do       Actions
	Missing  Wants // not empty: cannot tell
}

// advisoryBand is how near to its limit a pin is worth a word.
const advisoryBand = 0.5 * unit.Millimetre

// Diagnose returns whether pin or lock is worn, and what to do:
//
//	R1  a hard stop was found                    → stop
//	R2  d ≤ neck limit or collar ≤ collar limit  → replace the pin, then set the lock
//	R3  p_lock < p_base − u                      → too tight: back off
//	R4  p_base − u ≤ p_lock ≤ p_adjust           → lock fit; the rest is the pin's wear
//	R5  p_adjust < p_lock, travel left           → adjust
//	R6  p_adjust < p_lock, no travel left        → renew ring and jaw
//	R7  p_meas > p_max + (d0 − neck limit)       → another joint moves, or a share is over
//	R8  p_meas > legal limit                     → use prohibited
//
//	d, d0    neck, measured and new                       mm
//	p_meas   play of this pin in the closed lock          mm
//	p_lock   measured with a reference pin, or p_meas − (d0 − d)   mm
//	others   limits of the pin and of the coupling's type record    mm
//
// A size limit is reached when the size equals it; a play limit is exceeded only
// above it. What is missing is named, and the part of the answer that hangs on
// it is unknown, never fit.
//
// Valid for lengths that are NaN (not known) or not below 0, and a neck within
// 0.23 mm above its new size; otherwise the error is a *unit.DomainError.
//
// Source: handbook chapter 05, section 6, rules R1 to R8; the limits come from
// the caller with their own sources. That play from pin wear is not adjusted
// out, and that ring and jaw go together, is common practice.
func Diagnose(pin PinLimits, lock LockLimits, m Measured) (Diagnosis, error) {
	for _, v := range [...]unit.Length{
		pin.Neck, pin.NeckLimit, pin.CollarLimit, lock.Base, lock.Adjust, lock.Most, lock.Uncertainty, lock.Legal, m.Neck, m.Collar, m.Play,
	} {
		if v < 0 {
			return Diagnosis{}, &unit.DomainError{Formula: "diagnosis", Input: "length", Value: float64(v), Want: "0 or more, or NaN when not known"}
		}
	}
	if m.Neck > pin.Neck+newPinTolerance+dust {
		return Diagnosis{}, &unit.DomainError{Formula: "diagnosis", Input: "neck", Value: float64(m.Neck), Want: "d ≤ d0 + 0.23 mm"}
	}
	unknown := func(v unit.Length) bool { return v != v }
	out := Diagnosis{PinWear: pin.Neck - m.Neck, Together: lock.Most + pin.Neck - pin.NeckLimit}

	// The pin.
	want := func(w Wants, lengths ...unit.Length) bool {
		for _, v := range lengths {
			if unknown(v) {
				out.Missing |= w
				return false
			}
		}
		return true
	}
	neck, neckLimit := want(WantNeck, m.Neck), want(WantNeckLimit, pin.NeckLimit, pin.Neck)
	collar, collarLimit := want(WantCollar, m.Collar), want(WantCollarLimit, pin.CollarLimit)
	reached := neck && neckLimit && m.Neck <= pin.NeckLimit+dust || collar && collarLimit && m.Collar <= pin.CollarLimit+dust
	whole := neck && neckLimit && collar && collarLimit
	switch {
	case reached:
		out.Pin = PinReplace
		out.Do |= ReplacePin | Readjust
	case !whole:
		out.Pin = PinUnknown
	case m.Neck <= pin.NeckLimit+advisoryBand+dust || m.Collar <= pin.CollarLimit+advisoryBand+dust:
		out.Pin = PinAdvisory
	default:
		out.Pin = PinFit
	}

	// The lock.
	play := want(WantPlay, m.Play)
	out.LockPlay, out.Direct = m.LockPlay, !unknown(m.LockPlay)
	if !out.Direct {
		out.LockPlay = m.Play - out.PinWear
	}
	limits := want(WantLockLimits, lock.Base, lock.Adjust, lock.Most, lock.Uncertainty)
	if limits && !unknown(out.LockPlay) {
		p := out.LockPlay
		out.OverMost = p > lock.Most+dust
		switch {
		case p < lock.Base-lock.Uncertainty-dust:
			out.Lock = LockTight
			out.Do |= BackOff
		case p <= lock.Adjust+dust:
			out.Lock = LockFit
			if m.Play > lock.Adjust+dust {
				out.Do |= LeaveSetting
			}
		case m.Travel == TravelLeft:
			out.Lock = LockAdjust
			out.Do |= AdjustLock
		case m.Travel == TravelNone:
			out.Lock = LockRenew
			out.Do |= RenewLock | Readjust
		default:
			out.Lock = LockOver
			out.Missing |= WantTravel
		}
	}
	if play && !unknown(out.Together) && m.Play > out.Together+dust {
		out.Do |= LookFurther
	}
	if legal := want(WantLegal, lock.Legal); legal && play && m.Play > lock.Legal+dust {
		out.Do |= Prohibited
	}
	if m.HardStop {
		out.Do |= Stop
	}
	return out, nil
}
