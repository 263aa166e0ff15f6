package maintenance

import (
	"slices"
)

// A Work is a repair: what it needs, its steps, and what has to be measured
// afterwards.
type Work struct {
	Key       string
	Name      Text
	Half      Half
	Steps     []Text
	Cautions  []Text
	Parts     []Text
	Fasteners bool     // new bolts and nuts, never the old ones
	Torques   bool     // tightened by the torque table of the document entered
	Remeasure []string // measures of the sheet afterwards
	Life      LifeRule
	Part      string // kind of part whose life it changes
}

// A LifeRule says what a repair does to the wear life of a part.
type LifeRule string

const (
	LifeGoesOn  LifeRule = "goes on"  // nothing of the part was renewed
	LifeStarts  LifeRule = "starts"   // a new part: distance and wear count from nothing
	LifeAdjusts LifeRule = "adjusted" // play was taken up: the wear stays, and what was taken up is added to later readings
)

// Keys of the repairs.
const (
	ReplacePinWork  = "replace-pin"
	RenewLockWork   = "renew-lock"
	BackOffLock     = "back-off-lock"
	SetLockWork     = "set-lock"
	ReplaceLiner    = "replace-liner"
	ReplacePads     = "replace-pads"
	ReplaceInserts  = "replace-inserts"
	ReplacePlate    = "replace-plate"
	DressPlate      = "dress-plate"
	RepairPivot     = "repair-pivot"
	SetSlider       = "set-slider"
	ReplaceBolts    = "replace-bolts"
	CleanGrease     = "clean-and-grease"
	RemoveFromUse   = "remove-from-use"
	IsolateJoint    = "isolate"
	ReplaceSign     = "replace-rating-plate"
	RenewDimension  = "renew-by-instructions"
	ReplaceTurnBall = "renew-turntable"
)

// FindWork returns a repair by its key.
func FindWork(key string) (Work, bool) {
	for _, w := range works {
		if w.Key == key {
			return w, true
		}
	}
	return Work{}, false
}

// Works lists every repair.
func Works() []Work { return slices.Clone(works[:]) }

// workOrder is the order in which repairs are done: what is loose or cracked
// first, the pin before the lock that is set on it, grease last.
func workOrder(key string) int {
	i := slices.IndexFunc(works[:], func(w Work) bool { return w.Key == key })
	if i < 0 {
		return len(works)
	}
	return i
}

// workFor is the repair that a reading at its limit needs.
func workFor(key string, m Measure) string {
	switch key {
	case PinNeck, PinCollar, PinHeight, PinTilt, PinGouge, PinBurrLength:
		return ReplacePinWork
	case BowDownNear, BowDownWide, BowUp, Unevenness, PlateWear:
		return ReplacePlate
	case TurntablePlay:
		return ReplaceTurnBall
	case Play:
		return IsolateJoint
	case LockPlay, JawMovement:
		return RenewLockWork
	case PivotPlay, BushingPlay:
		return RepairPivot
	case PadMovement:
		return ReplacePads
	case InsertLift, InsertLeft:
		return ReplaceInserts
	case SliderPlay, SliderPinsOut:
		return SetSlider
	case FastenersGone, LeastUpperBolt:
		return ReplaceBolts
	}
	if m.Part == kindWheel && m.Key == "lock-wear" {
		return RenewLockWork
	}
	return RenewDimension
}

// workForLook is the repair that something seen needs.
func workForLook(l Look) string {
	switch l.Key {
	case "pin-loose", "pin-cracked", "pin-welded", "burr-proud", "flats-worn":
		return ReplacePinWork
	case "liner-worn":
		return ReplaceLiner
	case "lever-stop", "lock-broken":
		return RenewLockWork
	case "slider-pin-out":
		return SetSlider
	case "frame-moves", "bolts-in-sweep", "paint-line":
		return ReplaceBolts
	case "pad-torn":
		return ReplacePads
	case "plate-groove":
		return DressPlate
	case "plate-cracked":
		return ReplacePlate
	case "dry", "lock-sticks", "grease-thrown":
		return CleanGrease
	case "rating-plate":
		return ReplaceSign
	case "one-sided", "handle-out", "indicator-out", "catch-off", "display-open", "gap", "jaws-open":
		return IsolateJoint
	}
	return RemoveFromUse
}
