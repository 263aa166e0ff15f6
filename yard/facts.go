package yard

import (
	"fmt"
	"strconv"

	"underpin/record"
	"underpin/unit"
)

// A YesNo is a fact or an answer that may be unknown: the empty one.
type YesNo string

const (
	Yes YesNo = "yes"
	No  YesNo = "no"
)

// An Opening is how a coupling is opened.
type Opening string

const (
	ByHand  Opening = "hand"     // pull a handle; it latches by itself on coupling
	OneHand Opening = "one-hand" // the same with a lock on the handle that one hand works
	ByAir   Opening = "air"      // a cylinder pulls it
)

// A Place is where a coupling is opened from.
type Place string

const (
	OnLeft   Place = "left"
	OnRight  Place = "right"
	OnEither Place = "either" // a handle on each side
	OnFrame  Place = "frame"  // a valve on the frame behind the cab
	InCab    Place = "cab"
)

// A Securing is what keeps a closed lock from being opened by chance.
type Securing string

const (
	Flap     Securing = "flap"    // falls over the handle by itself
	SnapHook Securing = "hook"    // a snap hook through a hole
	Padlock  Securing = "padlock" // through the same kind of hole
	Clip     Securing = "clip"    // a spring clip on the handle
	Inside   Securing = "inside"  // a second lock within the coupling, shown by its mark
)

// A Plate is how the top plate moves.
type Plate string

const (
	Pitching        Plate = "pitching"
	PitchingRolling Plate = "pitching-rolling"
)

// A Suspension is what carries the rear of the tractor, or the trailer.
type Suspension string

const (
	Air   Suspension = "air"
	Steel Suspension = "steel"
)

// A LegDrive is how landing legs are worked.
type LegDrive string

const (
	Crank LegDrive = "crank"
	Motor LegDrive = "motor"
)

// LegSides says from where landing legs are worked.
type LegSides string

const (
	OneSide  LegSides = "one"  // both from one side
	TwoSides LegSides = "both" // each from its own side
)

// Facts are what is known of a pair, each for itself. The empty value of each
// says that it is not known.
type Facts struct {
	Opening  Opening  `json:"opening,omitempty"`
	From     Place    `json:"from,omitempty"`
	Securing Securing `json:"securing,omitempty"`

	Mark    YesNo `json:"mark,omitempty"`    // an indicator to see and feel
	Lamp    YesNo `json:"lamp,omitempty"`    // a lamp for the lock
	Display YesNo `json:"display,omitempty"` // a display in the cab

	Plate    Plate `json:"plate,omitempty"`
	Slider   YesNo `json:"slider,omitempty"`            // the fifth wheel slides
	Height   YesNo `json:"height_adjustable,omitempty"` // the coupling's height can be set
	Wedge    YesNo `json:"wedge,omitempty"`             // the trailer has a steering wedge
	ForWedge YesNo `json:"for_wedge,omitempty"`         // the coupling is approved for one
	Reach    YesNo `json:"reach,omitempty"`             // the lines can be reached once coupled

	Tractor  Suspension `json:"tractor,omitempty"` // of its driven rear
	Trailer  Suspension `json:"trailer,omitempty"`
	Legs     LegDrive   `json:"legs,omitempty"`
	LegSides LegSides   `json:"leg_sides,omitempty"`

	Pin  int64 `json:"pin_mm,omitempty"`  // size of the trailer's kingpin
	Lock int64 `json:"lock_mm,omitempty"` // size that the coupling takes
}

// Check refuses a value that no fact can have, and two that cannot both be.
func (f Facts) Check() error {
	return first(
		oneOf("opening", f.Opening, ByHand, OneHand, ByAir),
		oneOf("from", f.From, OnLeft, OnRight, OnEither, OnFrame, InCab),
		oneOf("securing", f.Securing, Flap, SnapHook, Padlock, Clip, Inside),
		oneOf("mark", f.Mark, Yes, No), oneOf("lamp", f.Lamp, Yes, No), oneOf("display", f.Display, Yes, No),
		oneOf("plate", f.Plate, Pitching, PitchingRolling),
		oneOf("slider", f.Slider, Yes, No), oneOf("height_adjustable", f.Height, Yes, No),
		oneOf("wedge", f.Wedge, Yes, No), oneOf("for_wedge", f.ForWedge, Yes, No), oneOf("reach", f.Reach, Yes, No),
		oneOf("tractor", f.Tractor, Air, Steel), oneOf("trailer", f.Trailer, Air, Steel),
		oneOf("legs", f.Legs, Crank, Motor), oneOf("leg_sides", f.LegSides, OneSide, TwoSides),
		size("pin_mm", f.Pin), size("lock_mm", f.Lock),
		f.together())
}

// together refuses a handle pulled from where no handle can be.
func (f Facts) together() error {
	byHand := f.Opening == ByHand || f.Opening == OneHand
	if byHand && (f.From == OnFrame || f.From == InCab) {
		return &record.RuleError{Field: "from", Found: strconv.Quote(string(f.From)), Want: "left, right or either for a coupling opened by hand"}
	}
	return nil
}

// NotKnown names each fact that is missing, in the order of the card.
func (f Facts) NotKnown() []Message {
	var out []Message
	miss := func(unknown bool, what Key) {
		if unknown {
			out = append(out, sayKeys("say.not-known", what))
		}
	}
	miss(f.Opening == "", "fact.opening")
	miss(f.From == "", "fact.from")
	miss(f.Securing == "", "fact.securing")
	miss(f.Mark == "", "fact.mark")
	miss(f.Lamp == "", "fact.lamp")
	miss(f.Display == "", "fact.display")
	miss(f.Plate == "", "fact.plate")
	miss(f.Slider == "", "fact.slider")
	miss(f.Height == "", "fact.height")
	miss(f.Wedge == "", "fact.wedge")
	miss(f.Wedge != No && f.ForWedge == "", "fact.for-wedge")
	miss(f.Reach == "", "fact.reach")
	miss(f.Tractor == "", "fact.tractor")
	miss(f.Trailer == "", "fact.trailer")
	miss(f.Legs == "", "fact.legs")
	miss(f.LegSides == "", "fact.leg-sides")
	miss(f.Pin == 0, "fact.pin")
	miss(f.Lock == 0, "fact.lock")
	return out
}

// mm writes whole millimetres.
func mm(l unit.Length) string { return unit.Format(float64(l), unit.MM, 0) }

func oneOf[S ~string](field string, got S, of ...S) error {
	if got == "" {
		return nil
	}
	want := ""
	for i, o := range of {
		if got == o {
			return nil
		}
		if i > 0 {
			want += ", "
		}
		want += string(o)
	}
	return &record.RuleError{Field: field, Found: short(string(got)), Want: "nothing or one of " + want}
}

func size(field string, n int64) error {
	if n == 0 || 20 <= n && n <= 200 {
		return nil
	}
	return &record.RuleError{Field: field, Found: fmt.Sprint(n), Want: "from 20 to 200"}
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// short quotes text of others, cut to what can be read.
func short(s string) string {
	const most = 60
	if len(s) > most {
		return strconv.Quote(s[:most]) + " and more"
	}
	return strconv.Quote(s)
}

// whole writes a whole number with its thousands apart.
func whole(n int64) string { return unit.Digits(float64(n), 0) }
