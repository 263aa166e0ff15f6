package maintenance

func workName(key, english string) Text { return Text{"work." + key, english} }

var (
	safeUnder = keyed("caution.work",
		"Both parking brakes on, wheels chocked, key with you. Nobody under a raised trailer that does not stand on stands.",
		"Never put a hand into an open lock.")
	noHeat = keyed("caution.no-heat",
		"No welding, grinding or heat on pin, plate, lock part or frame.")
	torqueCaution = keyed("caution.torques",
		"Torque only from the document that was entered: where there is none, the work is not finished.",
		"Tighten crosswise in two rounds, wrench at rest before it clicks, and draw a paint line.")
)

func parts(key string, lines ...string) []Text { return keyed("part."+key, lines...) }
func steps(key string, lines ...string) []Text { return keyed("work-step."+key, lines...) }

// The repairs, in working order. All steps are common practice of the trade, no
// source, in our own words; instructions of the type go before them.
var works = [...]Work{
	{
		Key: RemoveFromUse, Name: workName(RemoveFromUse, "Take out of use"), Half: Pair, Life: LifeGoesOn,
		Steps: steps(RemoveFromUse,
			"Take the key, hang a notice at the wheel, and tell the planner.",
			"Find the cause with the instructions of the type; where the frame is cracked, with the vehicle maker's body-builder guide."),
		Cautions: safeUnder, Remeasure: []string{LockPlay},
	},
	{
		Key: IsolateJoint, Name: workName(IsolateJoint, "Find the joint that moves"), Half: Pair, Life: LifeGoesOn,
		Steps: steps(IsolateJoint,
			"Trailer parking brake on. The driver rocks the tractor gently; nobody between the units or in the pit.",
			"Watch in this order: frame mount, slider, pedestals and pads, and only then plate and pin.",
			"Cure what moves first; what is left is play of pin in lock: measure it again."),
		Cautions: safeUnder, Remeasure: []string{Play, PadMovement, PivotPlay, SliderPlay},
	},
	{
		Key: ReplaceBolts, Name: workName(ReplaceBolts, "Renew bolts and nuts"), Half: Pair, Fasteners: true, Torques: true, Life: LifeGoesOn,
		Steps: steps(ReplaceBolts,
			"One loose bolt: take it and its nut out, and look into the hole and around it.",
			"More than one loose on a side, or any broken: strip the whole set and look for cracks, worn holes and movement.",
			"Clean the faces bare; no paint between them.",
			"Fit new bolts, nuts and hardened washers of the grade in the document, all of one set."),
		Parts: parts(ReplaceBolts, "new bolts, nuts and washers, grade and length as in the document"), Cautions: torqueCaution, Remeasure: []string{FastenersGone},
	},
	{
		Key: ReplacePinWork, Name: workName(ReplacePinWork, "Replace the kingpin"), Half: Trailer, Fasteners: true, Torques: true, Life: LifeStarts, Part: kindPin,
		Steps: steps(ReplacePinWork,
			"Trailer on stands, uncoupled, plate bare. Confirm the reading with callipers before anything comes off.",
			"Take the old pin out by the instructions of its type, and cut it so that nobody fits it again.",
			"Look at seat, plate and structure from above and below for cracks and corrosion.",
			"Fit a pin of the same nominal size with new fasteners and seat it without gap.",
			"Check that it stands square in two directions, and its height with any added plate."),
		Parts: parts(ReplacePinWork, "kingpin of the same nominal size, with its approval marking", "new fasteners for it"), Cautions: append(append([]Text(nil), safeUnder...), noHeat...),
		Remeasure: []string{PinNeck, PinCollar, PinHeight, PinTilt},
	},
	{
		Key: ReplacePlate, Name: workName(ReplacePlate, "Repair or replace the rubbing plate"), Half: Trailer, Life: LifeStarts, Part: kindPlate,
		Steps: steps(ReplacePlate,
			"Find out what bent it: pads, frame twist, high coupling, hidden corrosion.",
			"Straighten or replace only by the instructions of the trailer's maker.",
			"Edges rounded, no weld beads, no bolt in the sweep.",
			"With a new or added plate check the height of the pin."),
		Cautions: safeUnder, Remeasure: []string{BowDownNear, BowDownWide, BowUp, PinHeight, PinTilt},
	},
	{
		Key: DressPlate, Name: workName(DressPlate, "Dress the rubbing plate"), Half: Trailer, Life: LifeGoesOn,
		Steps:    steps(DressPlate, "File burrs off grooves and edges until nothing catches.", "Measure the depth that is left."),
		Cautions: safeUnder[:1], Remeasure: []string{Unevenness},
	},
	{
		Key: ReplaceTurnBall, Name: workName(ReplaceTurnBall, "Renew the turntable's bearing"), Half: Trailer, Fasteners: true, Torques: true, Life: LifeGoesOn,
		Steps:    steps(ReplaceTurnBall, "Trailer on stands. Renew the bearing by its instructions, with new bolts."),
		Cautions: safeUnder, Remeasure: []string{TurntablePlay},
	},
	{
		Key: RenewLockWork, Name: workName(RenewLockWork, "Renew wear ring and jaw together"), Half: Tractor, Fasteners: true, Torques: true, Life: LifeStarts, Part: kindWheel,
		Steps: steps(RenewLockWork,
			"Strip the lock by the instructions of the type and clean every part.",
			"Look at plate, pocket, bar and pivots for cracks and wear.",
			"Fit ring and jaw as one set, with new bolts.",
			"Set the adjuster back to its beginning; then set the lock on a true pin."),
		Parts: parts(RenewLockWork, "wear ring and lock jaw as a set of the type", "new fasteners"), Cautions: append(append([]Text(nil), safeUnder...), noHeat...),
		Remeasure: []string{LockPlay},
	},
	{
		Key: BackOffLock, Name: workName(BackOffLock, "Give the lock its play back"), Half: Tractor, Life: LifeAdjusts, Part: kindWheel,
		Steps: steps(BackOffLock,
			"Put a true pin or the lock gauge of the type into the clean lock.",
			"Back the adjuster off by its instructions until the play is not below the base value.",
			"Gauge the pin it met: it is worn."),
		Cautions: safeUnder, Remeasure: []string{LockPlay, PinNeck},
	},
	{
		Key: AdjustLockWork, Name: workName(AdjustLockWork, "Adjust the lock"), Half: Tractor, Life: LifeAdjusts, Part: kindWheel,
		Steps: steps(AdjustLockWork,
			"Check every prerequisite and sign for each.",
			"Put a true pin or the lock gauge of the type into the clean lock.",
			"Adjust by its instructions, one step at a time; note turns and what is left.",
			"Open and close several times, then measure: not below the base value, not above the adjusting one.",
			"Couple, brake the trailer, tug gently, and look at the jaws."),
		Cautions: safeUnder, Remeasure: []string{LockPlay},
	},
	{
		Key: SetLockWork, Name: workName(SetLockWork, "Set the lock after a new pin"), Half: Tractor, Life: LifeAdjusts, Part: kindWheel,
		Steps: steps(SetLockWork,
			"A lock that was set on a worn pin may not close on a new one: do this before they first meet.",
			"Put a true pin or the lock gauge of the type into the clean lock and set it by its instructions.",
			"Open and close several times and measure."),
		Cautions: safeUnder, Remeasure: []string{LockPlay},
	},
	{
		Key: ReplaceLiner, Name: workName(ReplaceLiner, "Replace the plate liners"), Half: Tractor, Fasteners: true, Torques: true, Life: LifeStarts, Part: "liner",
		Steps: steps(ReplaceLiner,
			"Take the old liners off and clean their seats to bare metal.",
			"Fit liners of the type, screw heads below the surface, both sides together.",
			"Look at the trailer plates it meets: rust and burrs ate the old ones."),
		Parts: parts(ReplaceLiner, "liners of the type, one set", "new screws"), Cautions: safeUnder,
	},
	{
		Key: ReplacePads, Name: workName(ReplacePads, "Replace the pads"), Half: Tractor, Fasteners: true, Torques: true, Life: LifeStarts, Part: "pad",
		Steps: steps(ReplacePads,
			"Lift the plate by its instructions and put it on stands.",
			"Replace the pads of both sides, and the bearing screws.",
			"Look at pivots and brackets while they are bare."),
		Parts: parts(ReplacePads, "pads for both sides", "new screws"), Cautions: safeUnder, Remeasure: []string{PadMovement},
	},
	{
		Key: ReplaceInserts, Name: workName(ReplaceInserts, "Replace the pocket inserts"), Half: Tractor, Fasteners: true, Torques: true, Life: LifeStarts, Part: "insert",
		Steps:    steps(ReplaceInserts, "Take the plate off its brackets by its instructions.", "Replace the inserts of both sides and the retaining fasteners."),
		Parts:    parts(ReplaceInserts, "pocket inserts for both sides", "new fasteners"),
		Cautions: safeUnder, Remeasure: []string{InsertLift, InsertLeft},
	},
	{
		Key: RepairPivot, Name: workName(RepairPivot, "Renew pivot pins and bushings"), Half: Tractor, Fasteners: true, Torques: true, Life: LifeStarts, Part: "pivot",
		Steps:    steps(RepairPivot, "Plate off and on stands.", "Measure pin and bore; renew what is worn, both sides.", "Secure the pins with new fasteners."),
		Parts:    parts(RepairPivot, "pivot pins and bushings", "new fasteners"),
		Cautions: append(append([]Text(nil), safeUnder...), noHeat...), Remeasure: []string{PivotPlay},
	},
	{
		Key: SetSlider, Name: workName(SetSlider, "Set the slider"), Half: Tractor, Life: LifeGoesOn,
		Steps: steps(SetSlider,
			"Back off lock nut and set screw; work the locking pins in and out; replace bent or worn ones.",
			"Turn the screw in until it touches the rack, and then a further half turn; hold it and tighten the lock nut.",
			"Look that every pin is home and both stops are whole."),
		Cautions: safeUnder[:1], Remeasure: []string{SliderPlay, SliderPinsOut},
	},
	{
		Key: RenewDimension, Name: workName(RenewDimension, "Renew by the type's instructions"), Half: Tractor, Torques: true, Fasteners: true, Life: LifeStarts,
		Steps:    steps(RenewDimension, "Do what the type record says for this dimension when it is reached."),
		Cautions: safeUnder,
	},
	{
		Key: ReplaceSign, Name: workName(ReplaceSign, "Renew the rating plate"), Half: Tractor, Life: LifeGoesOn,
		Steps: steps(ReplaceSign, "Get a plate from the maker for the serial number; never stamp one from memory."),
	},
	{
		Key: CleanGrease, Name: workName(CleanGrease, "Clean and grease"), Half: Tractor, Life: LifeGoesOn,
		Steps: steps(CleanGrease,
			"Scrape the old grease off plate, lock, pin and rubbing plate and wipe them bare.",
			"Look at what the grease has hidden.",
			"Grease each point afresh; the lock must move freely and close by itself."),
		Cautions: greaseCautions,
	},
}
