package maintenance

import (
	"underpin/unit"
)

// A Measure is one dimension that is gauged: what, where, with what.
type Measure struct {
	Key     string
	Name    Text
	Where   Text // how to measure it
	Gauge   Text
	Dim     unit.Dimension // LengthDim, AngleDim, or Number for counts and shares
	Half    Half
	Part    string // kind of part whose type record holds its limits
	Apart   bool   // only uncoupled and cleaned
	Takes   []Text // readings it is made of; one without a name when there is only one
	Worst   Worst  // which reading governs
	Drawing string // key of its drawing
}

// Worst says which of several readings of one measure governs.
type Worst string

const (
	Smallest Worst = "smallest"
	Largest  Worst = "largest"
)

// Keys of the measures that the program knows by name. A type record may hold
// any number of others.
const (
	PinNeck        = "pin-neck"
	PinCollar      = "pin-collar"
	PinHeight      = "pin-height"
	PinTilt        = "pin-tilt"
	PinGouge       = "pin-gouge"
	PinBurrLength  = "pin-burr-length"
	BowDownWide    = "plate-bow-down-483"
	BowDownNear    = "plate-bow-down-254"
	BowUp          = "plate-bow-up-483"
	Unevenness     = "plate-unevenness"
	PlateWear      = "plate-wear"
	LockPlay       = "lock-play"
	Play           = "play"
	JawMovement    = "jaw-movement"
	PivotPlay      = "pivot-play"
	BushingPlay    = "bushing-play"
	SliderPlay     = "slider-play"
	SliderPinsOut  = "slider-pins-out"
	PadMovement    = "pad-movement"
	InsertLift     = "insert-lift"
	InsertLeft     = "insert-thickness"
	FastenersGone  = "frame-fasteners-missing"
	TurntablePlay  = "turntable-play"
	LeastUpperBolt = "upper-plate-bolts"
)

func measureName(key, english string) Text { return Text{"measure." + key, english} }
func where(key, english string) Text       { return Text{"where." + key, english} }

var (
	callipers   = Text{"gauge.callipers", "go/no-go pin gauge; confirm with callipers or micrometer before a pin is replaced"}
	straight    = Text{"gauge.straightedge", "straightedge of 1.2 m and feeler gauges"}
	dial        = Text{"gauge.dial", "dial gauge on a magnet foot, from plate to pin"}
	testPin     = Text{"gauge.test-pin", "test pin of true size, or the lock gauge of the type"}
	square      = Text{"gauge.square", "square on the plate and feeler gauges, or an angle gauge"}
	depth       = Text{"gauge.depth", "depth gauge"}
	rule1       = Text{"gauge.rule", "steel rule"}
	byEye       = Text{"gauge.eye", "by eye, counting"}
	bar         = Text{"gauge.bar", "pry bar and dial gauge"}
	one         = []Text{{"take.one", ""}}
	foreAcross  = []Text{{"take.fore-aft", "fore and aft"}, {"take.across", "across"}}
	twoWays     = []Text{{"take.lengthwise", "lengthwise"}, {"take.crosswise", "crosswise"}}
	twice       = []Text{{"take.first", "first"}, {"take.second", "again, set up anew"}}
	leftRight   = []Text{{"take.left", "left"}, {"take.right", "right"}}
	kindPin     = "kingpin"
	kindWheel   = "fifth-wheel"
	kindPlate   = "rubbing-plate"
	kindMounted = "mounting"
)

// measures of the parts, in the order in which they are gauged.
//
// Source: common practice, no source, for how to measure; bow and squareness
// after TM 9-2330-335-14&P.
var measures = [...]Measure{
	{PinNeck, measureName(PinNeck, "neck of the pin"), where(PinNeck, "Narrowest place, where the jaw bears. Turn the gauge right round; note the smallest reading of each direction."),
		callipers, unit.LengthDim, Trailer, kindPin, true, foreAcross, Smallest, "pin-neck"},
	{PinCollar, measureName(PinCollar, "collar of the pin"), where(PinCollar, "Shoulder above the neck, close under the rubbing plate."),
		callipers, unit.LengthDim, Trailer, kindPin, true, foreAcross, Smallest, "pin-collar"},
	{PinHeight, measureName(PinHeight, "height of the pin"), where(PinHeight, "From the face of the rubbing plate, an added plate included, to the end of the pin. Say from which faces the document measures."),
		depth, unit.LengthDim, Trailer, kindPin, true, one, Smallest, "pin-height"},
	{PinTilt, measureName(PinTilt, "lean of the pin"), where(PinTilt, "Square against the plate in two directions; the offset at the pin's end over the length measured gives the angle."),
		square, unit.AngleDim, Trailer, kindPin, true, twoWays, Largest, "pin-tilt"},
	{PinGouge, measureName(PinGouge, "deepest nick or gouge"), where(PinGouge, "In neck and collar, where jaw and plate bear; 0 when there is none."),
		depth, unit.LengthDim, Trailer, kindPin, true, one, Largest, "pin-surface"},
	{PinBurrLength, measureName(PinBurrLength, "longest nick, burr or gouge"), where(PinBurrLength, "Its length along the surface; 0 when there is none."),
		rule1, unit.LengthDim, Trailer, kindPin, true, one, Largest, "pin-surface"},
	{BowDownNear, measureName(BowDownNear, "plate bowed down, near the pin"), where(BowDownNear, "Straightedge in all directions within 254 mm of the pin; largest gap at its ends."),
		straight, unit.LengthDim, Trailer, kindPlate, true, one, Largest, "plate-bow"},
	{BowDownWide, measureName(BowDownWide, "plate bowed down"), where(BowDownWide, "The same within 483 mm of the pin."),
		straight, unit.LengthDim, Trailer, kindPlate, true, one, Largest, "plate-bow"},
	{BowUp, measureName(BowUp, "plate bowed up"), where(BowUp, "Largest gap under the middle of the straightedge within 483 mm of the pin."),
		straight, unit.LengthDim, Trailer, kindPlate, true, one, Largest, "plate-bow"},
	{Unevenness, measureName(Unevenness, "unevenness of the plate"), where(Unevenness, "Largest gap under the straightedge where the fifth wheel slides."),
		straight, unit.LengthDim, Trailer, kindPlate, true, one, Largest, "plate-bow"},
	{PlateWear, measureName(PlateWear, "wear of the plate"), where(PlateWear, "Depth of the worn ring against the unworn face."),
		depth, unit.LengthDim, Trailer, kindPlate, true, one, Largest, "plate-wear"},
	{LockPlay, measureName(LockPlay, "play of the lock with a true pin"), where(LockPlay, "Clean lock closed on the test pin; move the pin fore and aft."),
		testPin, unit.LengthDim, Tractor, kindWheel, true, twice, Largest, "lock-play"},
	{Play, measureName(Play, "play of pin in lock"), where(Play, "Coupled, trailer braked. The driver rocks the tractor gently; nobody between the units or in the pit while it moves. Read with both brakes on and the engine off: pin against plate, not frame against frame."),
		dial, unit.LengthDim, Pair, kindWheel, false, twice, Largest, "play"},
	{PadMovement, measureName(PadMovement, "movement of the plate on its supports"), where(PadMovement, "Trailer empty and braked, tractor moved slowly."),
		dial, unit.LengthDim, Pair, kindWheel, false, leftRight, Largest, "pad"},
	{PivotPlay, measureName(PivotPlay, "play of pivot pin in bracket, level"), where(PivotPlay, "Fore and aft at each pedestal."),
		dial, unit.LengthDim, Pair, kindWheel, false, leftRight, Largest, "pad"},
	{SliderPlay, measureName(SliderPlay, "play of the slider, fore and aft"), where(SliderPlay, "Between slider bracket and base, locked, trailer braked."),
		dial, unit.LengthDim, Pair, kindWheel, false, one, Largest, "slider"},
	{SliderPinsOut, measureName(SliderPinsOut, "slider locking pins missing or not home"), where(SliderPinsOut, "As a share of all of them: 3 of 12 is 25 %."),
		byEye, unit.Number, Pair, kindWheel, false, one, Largest, "slider"},
	{FastenersGone, measureName(FastenersGone, "fasteners to the frame missing, broken or loose"), where(FastenersGone, "Count each side; both together."),
		byEye, unit.Number, Pair, kindMounted, false, leftRight, Largest, "frame"},
}

// further measures are asked for only where a law or a type record limits them.
var further = [...]Measure{
	{InsertLift, measureName(InsertLift, "lift at the ear on pocket inserts"), where(InsertLift, "Lift the plate at each ear without pressing the rubber together."),
		bar, unit.LengthDim, Tractor, kindWheel, true, leftRight, Largest, "pad"},
	{InsertLeft, measureName(InsertLeft, "pocket insert, thickness left"), where(InsertLeft, "At its thinnest; chipped or cracked ones are replaced at any thickness."),
		depth, unit.LengthDim, Tractor, kindWheel, true, leftRight, Smallest, "pad"},
	{JawMovement, measureName(JawMovement, "movement of jaw and latch"), where(JawMovement, "By hand and bar, lock closed."),
		bar, unit.LengthDim, Tractor, kindWheel, true, one, Largest, "lock-play"},
	{BushingPlay, measureName(BushingPlay, "play of steel saddle bushings"), where(BushingPlay, "With a pry bar at each pedestal."),
		bar, unit.LengthDim, Pair, kindWheel, false, leftRight, Largest, "pad"},
	{TurntablePlay, measureName(TurntablePlay, "vertical play of a turntable plate"), where(TurntablePlay, "Lift with a bar at the rim."),
		bar, unit.LengthDim, Trailer, kindPlate, true, one, Largest, "plate-bow"},
	{LeastUpperBolt, measureName(LeastUpperBolt, "bolts of the trailer's coupler plate"), where(LeastUpperBolt, "Count those of 5/8 in that are whole and tight."),
		byEye, unit.Number, Trailer, kindPlate, true, one, Smallest, "frame"},
}

// FindMeasure returns a measure by its key.
func FindMeasure(key string) (Measure, bool) {
	for _, m := range measures {
		if m.Key == key {
			return m, true
		}
	}
	for _, m := range further {
		if m.Key == key {
			return m, true
		}
	}
	return Measure{}, false
}
