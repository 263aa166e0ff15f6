package maintenance

import (
	"underpin/rule"
	"underpin/unit"
)

const (
	mm = float64(unit.Millimetre)
	in = float64(unit.Inch)
)

// What is to be done when a limit is reached.
var (
	newPin     = Text{"reached.pin", "replace the pin, then set the lock afresh"}
	newPlate   = Text{"reached.plate", "replace or straighten the plate by its maker's instructions"}
	newPads    = Text{"reached.pads", "replace the pads, both sides"}
	newInserts = Text{"reached.inserts", "replace the pocket inserts, both sides"}
	fixPivot   = Text{"reached.pivot", "replace pivot pin and bushing or bracket"}
	fixSlider  = Text{"reached.slider", "set the slider; replace worn locking pins and rails"}
	fixBolts   = Text{"reached.bolts", "fit new bolts and nuts and look for cracks and movement"}
	fixLock    = Text{"reached.lock", "find the joint that moves; use is prohibited until it is cured"}
	fixHeight  = Text{"reached.height", "wrong height: replace the pin, or see which pattern of coupling it meets"}
	fixMove    = Text{"reached.turntable", "renew the turntable's bearing"}
)

type nominalKey struct {
	pin     int
	measure string
}

// nominal are the sizes of new pins.
//
// Source: SAE J700 for the 50 mm pin; 89 mm and 114 mm for the 90 mm pin and 73 mm
// are common practice, no source.
var nominal = map[nominalKey]float64{
	{50, PinNeck}: 50.8 * mm, {50, PinCollar}: 73.0 * mm, {90, PinNeck}: 89 * mm, {90, PinCollar}: 114 * mm,
}

// newTolerance is how far above its nominal size a new pin may be: 0.005 in on
// 2 in, with the difference of the collar's rounded nominal size.
//
// Source: SAE J700.
const newTolerance = 0.23 * mm

const (
	utah     = "Utah Admin. Code R714-162-10"
	federal  = "49 CFR 396, Appendix A, from memory; repeated in Utah Admin. Code R714-162-10, which was read"
	maryland = "Maryland COMAR 11.22.02.27 and 11.22.04.11"
	quebec   = "Quebec C-24.2, r. 32, s. 101, 102, 169"
	army     = "TM 9-2330-335-14&P (2008), after SAE J2228"
	iso      = "ISO/TS 20825:2003, from memory: the figures were not readable"
	fmcsa    = "49 CFR 393.70, guidance, question 1"
	ausList  = "an Australian check list at second hand, from memory"
)

// limits are those of law and standards, and what common practice puts in the
// place of a type record. Values of one type belong in its type record, never
// here.
var limits = [...]Limit{
	// The pin.
	{Key: "practice-neck-50", Measure: PinNeck, Layer: Maker, Pin: 50, Fails: AtOrBelow, Value: 49.0 * mm, Printed: "49.0 mm", Reached: newPin, Evidence: rule.Practice, Source: practice},
	{Key: "practice-collar-50", Measure: PinCollar, Layer: Maker, Pin: 50, Fails: AtOrBelow, Value: 71.0 * mm, Printed: "71.0 mm", Reached: newPin, Evidence: rule.Practice, Source: practice},
	{Key: "practice-neck-90", Measure: PinNeck, Layer: Maker, Pin: 90, Fails: AtOrBelow, Value: 86 * mm, Printed: "86 mm", Reached: newPin, Evidence: rule.Practice, Source: practice},
	{Key: "practice-collar-90", Measure: PinCollar, Layer: Maker, Pin: 90, Fails: AtOrBelow, Value: 112 * mm, Printed: "112 mm", Reached: newPin, Evidence: rule.Practice, Source: practice},
	{Key: "iso-neck-50", Measure: PinNeck, Layer: Standard, Pin: 50, Fails: AtOrBelow, Value: 49.0 * mm, Printed: "49.0 mm", Reached: newPin, Evidence: rule.Memory, Source: iso},
	{Key: "iso-collar-50", Measure: PinCollar, Layer: Standard, Pin: 50, Fails: AtOrBelow, Value: 71.0 * mm, Printed: "71.0 mm", Reached: newPin, Evidence: rule.Memory, Source: iso},
	{Key: "iso-neck-90", Measure: PinNeck, Layer: Standard, Pin: 90, Fails: AtOrBelow, Value: 86 * mm, Printed: "86 mm", Reached: newPin, Evidence: rule.Memory, Source: iso},
	{Key: "iso-collar-90", Measure: PinCollar, Layer: Standard, Pin: 90, Fails: AtOrBelow, Value: 112 * mm, Printed: "112 mm", Reached: newPin, Evidence: rule.Memory, Source: iso},
	{Key: "us-neck", Measure: PinNeck, Layer: Law, Country: "us", Pin: 50, Fails: AtOrBelow, Value: 1.875 * in, Printed: "1.875 in", Reached: newPin, Evidence: rule.Practice, Source: "1/8 in rule: common practice in the US; law in Maryland, COMAR 11.22"},
	{Key: "us-collar", Measure: PinCollar, Layer: Law, Country: "us", Pin: 50, Fails: AtOrBelow, Value: 2.750 * in, Printed: "2.750 in", Reached: newPin, Evidence: rule.Practice, Source: "1/8 in rule: common practice in the US; law in Maryland, COMAR 11.22"},
	{Key: "us-md-neck", Measure: PinNeck, Layer: Law, Country: "us-md", Pin: 50, Fails: AtOrBelow, Value: 1.875 * in, Printed: "1/8 in worn", Reached: newPin, Evidence: rule.Read, Source: maryland},
	{Key: "us-md-collar", Measure: PinCollar, Layer: Law, Country: "us-md", Pin: 50, Fails: AtOrBelow, Value: 2.750 * in, Printed: "1/8 in worn", Reached: newPin, Evidence: rule.Read, Source: maryland},
	{Key: "nz-neck", Measure: PinNeck, Layer: Law, Country: "nz", Fails: Below, OfNew: 0.95, NoMaker: true, Reached: newPin, Evidence: rule.Read, Source: "New Zealand VIRM, unclassified vehicles, 12-1: more than 5 % where no maker's limit exists"},
	{Key: "height-eu-least", Measure: PinHeight, Layer: Maker, Regime: "eu", Pin: 50, Fails: Below, Value: 82.5 * mm, Printed: "82.5 mm", Reached: fixHeight, Evidence: rule.Practice, Source: "common practice, no source; provisional: the reference faces are from memory"},
	{Key: "height-eu-most", Measure: PinHeight, Layer: Maker, Regime: "eu", Pin: 50, Fails: Above, Value: 84.0 * mm, Printed: "84.0 mm", Reached: fixHeight, Evidence: rule.Practice, Source: "common practice, no source; provisional: the reference faces are from memory"},
	{Key: "height-us-least", Measure: PinHeight, Layer: Maker, Regime: "us", Pin: 50, Fails: Below, Value: 82.70 * mm, Printed: "3.256 in", Reached: fixHeight, Evidence: rule.Practice, Source: practice},
	{Key: "height-us-most", Measure: PinHeight, Layer: Maker, Regime: "us", Pin: 50, Fails: Above, Value: 85.19 * mm, Printed: "3.354 in", Reached: fixHeight, Evidence: rule.Practice, Source: practice},
	{Key: "tilt", Measure: PinTilt, Layer: Standard, Fails: Above, Value: float64(unit.Degree), Printed: "1°", Reached: newPin, Evidence: rule.Read, Source: army},
	{Key: "gouge", Measure: PinGouge, Layer: Standard, Fails: Above, Value: 0.12 * in, Printed: "0.12 in", Reached: newPin, Evidence: rule.Read, Source: army},
	{Key: "burr-length", Measure: PinBurrLength, Layer: Maker, Fails: Above, Value: 0.25 * in, Printed: "0.25 in", Reached: newPin, Evidence: rule.Practice, Source: practice},

	// The rubbing plate.
	{Key: "bow-down-wide", Measure: BowDownWide, Layer: Standard, Fails: Above, Value: 6.35 * mm, Printed: "1/4 in", Reached: newPlate, Evidence: rule.Read, Source: army},
	{Key: "bow-down-near", Measure: BowDownNear, Layer: Standard, Fails: Above, Value: 3.18 * mm, Printed: "1/8 in", Reached: newPlate, Evidence: rule.Read, Source: army},
	{Key: "bow-up", Measure: BowUp, Layer: Standard, Fails: Above, Value: 1.6 * mm, Printed: "1/16 in", Reached: newPlate, Evidence: rule.Read, Source: army},
	{Key: "ca-qc-bow-down", Measure: BowDownWide, Layer: Law, Country: "ca-qc", Fails: Above, Value: 6.4 * mm, Printed: "6.4 mm", Reached: newPlate, Evidence: rule.Read, Source: quebec},
	{Key: "ca-qc-bow-up", Measure: BowUp, Layer: Law, Country: "ca-qc", Fails: Above, Value: 1.6 * mm, Printed: "1.6 mm", Reached: newPlate, Evidence: rule.Read, Source: quebec},
	{Key: "ca-qc-turntable", Measure: TurntablePlay, Layer: Law, Country: "ca-qc", Fails: Above, Value: 6.4 * mm, Printed: "6.4 mm", Reached: fixMove, Evidence: rule.Read, Source: quebec},
	{Key: "unevenness", Measure: Unevenness, Layer: Maker, Regime: "eu", Fails: Above, Value: 2 * mm, Printed: "2 mm", Reached: newPlate, Evidence: rule.Practice, Source: practice},
	{Key: "us-md-plate-wear", Measure: PlateWear, Layer: Law, Country: "us-md", Fails: AtOrAbove, Value: 0.125 * in, Printed: "1/8 in", Reached: newPlate, Evidence: rule.Read, Source: maryland},
	{Key: "us-upper-bolts", Measure: LeastUpperBolt, Layer: Law, Country: "us", Fails: Below, Value: 10, Printed: "ten of 5/8 in", Reached: fixBolts, Evidence: rule.Read, Source: fmcsa},

	// Play of pin in lock, upper half against lower half.
	{Key: "us-play", Measure: Play, Layer: Law, Country: "us", Fails: Above, Value: 0.5 * in, Printed: "1/2 in", Reached: fixLock, Evidence: rule.Memory, Source: federal},
	{Key: "us-ut-play", Measure: Play, Layer: Law, Country: "us-ut", Fails: Above, Value: 0.5 * in, Printed: "1/2 in", Reached: fixLock, Evidence: rule.Read, Source: utah},
	{Key: "ca-qc-play", Measure: Play, Layer: Law, Country: "ca-qc", Fails: Above, Value: 12.8 * mm, Printed: "12.8 mm", Reached: fixLock, Evidence: rule.Read, Source: quebec},
	{Key: "us-md-jaw", Measure: JawMovement, Layer: Law, Country: "us-md", Fails: Above, Value: 0.25 * in, Printed: "1/4 in", Reached: fixLock, Evidence: rule.Read, Source: maryland},

	// Bearings, pedestals, pads.
	{Key: "us-pivot", Measure: PivotPlay, Layer: Law, Country: "us", Fails: Above, Value: 0.375 * in, Printed: "3/8 in", Reached: fixPivot, Evidence: rule.Memory, Source: federal},
	{Key: "us-ut-pivot", Measure: PivotPlay, Layer: Law, Country: "us-ut", Fails: Above, Value: 0.375 * in, Printed: "3/8 in", Reached: fixPivot, Evidence: rule.Read, Source: utah},
	{Key: "au-pivot", Measure: PivotPlay, Layer: Law, Country: "au", Fails: Above, Value: 5 * mm, Printed: "5 mm", Reached: fixPivot, Evidence: rule.Memory, Source: ausList},
	{Key: "us-md-bushing", Measure: BushingPlay, Layer: Law, Country: "us-md", Fails: Above, Value: 0.375 * in, Printed: "3/8 in", Reached: fixPivot, Evidence: rule.Read, Source: maryland},
	{Key: "pad", Measure: PadMovement, Layer: Maker, Fails: AtOrAbove, Value: 3 * mm, Printed: "3 mm", Reached: newPads, Evidence: rule.Practice, Source: practice},
	{Key: "insert-lift", Measure: InsertLift, Layer: Maker, Regime: "us", Fails: AtOrAbove, Value: 0.5 * in, Printed: "1/2 in", Reached: newInserts, Evidence: rule.Practice, Source: practice},
	{Key: "insert-thickness", Measure: InsertLeft, Layer: Maker, Regime: "us", Fails: AtOrBelow, Value: 1.0 / 16 * in, Printed: "1/16 in", Reached: newInserts, Evidence: rule.Practice, Source: practice},

	// Slider and fasteners.
	{Key: "us-slider", Measure: SliderPlay, Layer: Law, Country: "us", Fails: Above, Value: 0.375 * in, Printed: "3/8 in", Reached: fixSlider, Evidence: rule.Memory, Source: federal},
	{Key: "us-ut-slider", Measure: SliderPlay, Layer: Law, Country: "us-ut", Fails: Above, Value: 0.375 * in, Printed: "3/8 in", Reached: fixSlider, Evidence: rule.Read, Source: utah},
	{Key: "us-md-slider", Measure: SliderPlay, Layer: Law, Country: "us-md", Fails: Above, Value: 0.25 * in, Printed: "1/4 in", Reached: fixSlider, Evidence: rule.Read, Source: maryland},
	{Key: "ca-qc-slider", Measure: SliderPlay, Layer: Law, Country: "ca-qc", Fails: Above, Value: 9.5 * mm, Printed: "9.5 mm", Reached: fixSlider, Evidence: rule.Read, Source: quebec},
	{Key: "au-slider", Measure: SliderPlay, Layer: Law, Country: "au", Fails: Above, Value: 5 * mm, Printed: "5 mm", Reached: fixSlider, Evidence: rule.Memory, Source: ausList},
	{Key: "ca-qc-slider-pins", Measure: SliderPinsOut, Layer: Law, Country: "ca-qc", Fails: AtOrAbove, Value: 0.25, Printed: "25 %", Reached: fixSlider, Evidence: rule.Read, Source: quebec},
	{Key: "us-slider-pins", Measure: SliderPinsOut, Layer: Law, Country: "us", Fails: Above, Value: 0, Printed: "any, at the periodic inspection", Reached: fixSlider, Evidence: rule.Memory, Source: federal},
	{Key: "us-ut-slider-pins", Measure: SliderPinsOut, Layer: Law, Country: "us-ut", Fails: Above, Value: 0, Printed: "any, at the periodic inspection", Reached: fixSlider, Evidence: rule.Read, Source: utah},
	{Key: "slider-pins", Measure: SliderPinsOut, Layer: Maker, Fails: Above, Value: 0, Printed: "any", Reached: fixSlider, Evidence: rule.Practice, Source: practice},
	{Key: "us-fasteners", Measure: FastenersGone, Layer: Law, Country: "us", Fails: Above, Value: 0, Printed: "any, at the periodic inspection", Reached: fixBolts, Evidence: rule.Memory, Source: federal},
	{Key: "us-ut-fasteners", Measure: FastenersGone, Layer: Law, Country: "us-ut", Fails: Above, Value: 0, Printed: "any, at the periodic inspection", Reached: fixBolts, Evidence: rule.Read, Source: utah},
	{Key: "fasteners", Measure: FastenersGone, Layer: Maker, Fails: Above, Value: 0, Printed: "any", Reached: fixBolts, Evidence: rule.Practice, Source: practice},
}

// playNames are the dimensions of a type record that bound the play of a lock
// together; Diagnose reads them as a set.
var playNames = map[string]bool{"play-base": true, "play-least": true, "play-adjust": true, "play-most": true, "play-uncertainty": true}
