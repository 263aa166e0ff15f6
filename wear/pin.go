package wear

import (
	"math"

	"underpin/unit"
)

// newPinTolerance is how far above its nominal size a new pin may read: 0.13 mm
// of tolerance (SAE J700) and 0.1 mm of a worn gauge. More is another pin.
const newPinTolerance = 0.23 * unit.Millimetre

// PinLock is how the play of a closed lock divides between pin and lock.
type PinLock struct {
	PinWear  unit.Length // w; below nothing for a pin at the top of its tolerance
	LockPlay unit.Length // p_lock; below nothing when the lock is set tight on a worn pin
	PinShare float64     // w/d0, the pin's wear as a share of its nominal size
}

// PinAndLock returns how much of the measured play comes from the pin and how
// much from the lock:
//
//	w = d0 − d        p_lock = p_meas − w
//
//	d0      nominal diameter of the neck                    mm
//	d       smallest diameter measured, fore and aft        mm
//	p_meas  play of this pin in the closed lock             mm
//	w       wear of the pin                                 mm
//	p_lock  play that a true pin would have in the lock     mm
//
// Valid for 0 < d ≤ d0 + 0.23 mm and p_meas ≥ 0 (otherwise a *unit.DomainError),
// when only the movement of pin against lock was measured, trailer braked. A reference pin in the lock measures p_lock directly
// and is to be preferred.
//
// Source: plane geometry, L = d + p_meas = d0 + p_lock; tolerance of a new pin
// from SAE J700.
func PinAndLock(nominal, measured, play unit.Length) (PinLock, error) {
	const name = "pin and lock"
	switch {
	case !(nominal > 0 && finite(float64(nominal))):
		return PinLock{}, &unit.DomainError{Formula: name, Input: "nominal", Value: float64(nominal), Want: "d0 > 0"}
	case !(0 < measured && measured <= nominal+newPinTolerance+dust):
		return PinLock{}, &unit.DomainError{Formula: name, Input: "measured", Value: float64(measured), Want: "0 < d ≤ d0 + 0.23 mm"}
	case !(play >= 0 && finite(float64(play))):
		return PinLock{}, &unit.DomainError{Formula: name, Input: "play", Value: float64(play), Want: "play ≥ 0"}
	}
	w := nominal - measured
	return PinLock{w, play - w, float64(w / nominal)}, nil
}

// dust is binary rounding of a length, no tolerance for measuring.
const dust = 1e-9 * unit.Millimetre

// PinTilt returns how far a pin leans from the square, from the offset of its
// end:
//
//	angle = atan(offset/length)
//
//	offset  of the pin's end from the square line   mm
//	length  over which it was measured              mm
//
// Valid for offset ≥ 0 and length > 0; otherwise the error is a
// *unit.DomainError.
//
// Source: plane geometry; the limit of 1° that it is held against is that of
// SAE J2228 as quoted in TM 9-2330-335-14&P.
func PinTilt(offset, length unit.Length) (unit.Angle, error) {
	switch {
	case !(offset >= 0 && finite(float64(offset))):
		return 0, &unit.DomainError{Formula: "tilt of the pin", Input: "offset", Value: float64(offset), Want: "offset ≥ 0"}
	case !(length > 0):
		return 0, &unit.DomainError{Formula: "tilt of the pin", Input: "length", Value: float64(length), Want: "length > 0"}
	}
	return unit.Angle(math.Atan2(float64(offset), float64(length))), nil
}
