package maintenance

func cause(symptom, key, name, check, action string) Cause {
	k := "fault." + symptom + "." + key
	return Cause{Key: key, Name: Text{k, name}, Check: Text{k + ".check", check}, Action: Text{k + ".action", action}, Weight: 2}
}

func (c Cause) likely() Cause           { c.Weight = 1; return c }
func (c Cause) rare() Cause             { c.Weight = 3; return c }
func (c Cause) work(key string) Cause   { c.Work = key; return c }
func (c Cause) tells(key string) Cause  { c.Measure = key; return c }
func (c Cause) only(r ...Release) Cause { c.Only = r; return c }

func symptom(key, name string, stop bool, causes ...Cause) Symptom {
	return Symptom{Key: key, Name: Text{"fault." + key, name}, Stop: stop, Causes: causes}
}

// Faults: what is noticed, what may be behind it, how to check, what to do.
//
// Source: common practice, no source; TM 9-2330-335-14&P for bent pins and bowed
// plates, DGUV Information 214-080 for a pin under load.
var symptoms = [...]Symptom{
	symptom("will-not-couple", "It will not couple", false,
		cause("will-not-couple", "too-high", "trailer too high: the pin goes over the jaws", "Does the trailer's plate stand above the top of the fifth wheel?", "Stop. Lower the trailer until its plate is lifted by the fifth wheel; then look for damage.").likely(),
		cause("will-not-couple", "lock-closed", "lock closed", "Look into the lock: jaw or bar across the throat?", "Open it by its release; never with the hand inside.").likely(),
		cause("will-not-couple", "dirt", "rust, dirt or ice in the lock", "Does it move freely by the release, empty?", "Clean, free of ice, grease.").work(CleanGrease),
		cause("will-not-couple", "too-tight", "lock set too tight", "Test pin or lock gauge: does it close?", "Set it on a true pin.").work(BackOffLock).tells(LockPlay),
		cause("will-not-couple", "long-pin", "pin too long, or an added plate makes it short", "Measure the pin's height with the added plate.", "Wrong pin for this coupling: replace it.").work(ReplacePinWork).tells(PinHeight),
		cause("will-not-couple", "handle", "bent handle or linkage", "Does the handle reach both ends freely?", "Replace it; never straighten.").work(RemoveFromUse).only(ManualRelease, OneHandRelease),
		cause("will-not-couple", "no-air", "no air at the release, or a valve shut", "Pressure at the cylinder? Valve open?", "Restore the air; look for leaks.").only(AirRelease, RemoteRelease),
		cause("will-not-couple", "interlock", "interlock holds the release", "Does the display name a condition: speed, brake, height sensor?", "Meet the condition by the instructions; never bridge a sensor.").only(RemoteRelease)),
	symptom("does-not-lock", "It couples and does not lock", true,
		cause("does-not-lock", "pin-on-top", "pin on top of the jaws", "Light or gap between the plates?", "Do not drive. Lower the legs, uncouple, set the height, couple once more; then workshop.").likely(),
		cause("does-not-lock", "set-on-worn-pin", "lock was set on a worn pin", "Test pin or lock gauge: does it close?", "Back it off on a true pin, and gauge the pin it was set on.").likely().work(BackOffLock).tells(LockPlay),
		cause("does-not-lock", "dirt", "dirt or old grease in the lock", "Open, clean, close on a test pin.", "Clean and grease.").work(CleanGrease),
		cause("does-not-lock", "bent-pin", "pin leans by more than 1°", "Square in two directions.", "Replace the pin.").work(ReplacePinWork).tells(PinTilt),
		cause("does-not-lock", "short-pin", "pin too short", "Measure its height, added plate included.", "Replace the pin.").work(ReplacePinWork).tells(PinHeight),
		cause("does-not-lock", "bowed-plate", "rubbing plate bowed", "Straightedge in all directions.", "Repair or replace the plate.").work(ReplacePlate).tells(BowDownWide),
		cause("does-not-lock", "wedge", "steering wedge of the trailer stands askew", "Was it coupled at an angle?", "Straighten up, couple again; look at wedge and lock for damage.").rare(),
		cause("does-not-lock", "air-left", "air left in the release cylinder", "Vent the line: does the lock fall in?", "Find the valve that holds the air.").only(AirRelease, RemoteRelease),
		cause("does-not-lock", "sensor", "display disagrees with the lock", "Look at the jaws: what the eye sees counts.", "Treat as open; repair the sensor.").only(RemoteRelease)),
	symptom("hard-release", "It releases hard", false,
		cause("hard-release", "pin-loaded", "pin under load from slope or braking", "Trailer braked: ease the tractor a little against the pin and try again.", "Unload the pin; never hammer or chain.").likely(),
		cause("hard-release", "dry", "dry, dirty or frozen", "Old grease, rust, ice?", "Free it, clean and grease.").work(CleanGrease),
		cause("hard-release", "too-tight", "lock set too tight", "Play with a test pin.", "Set it on a true pin.").work(BackOffLock).tells(LockPlay),
		cause("hard-release", "bent", "bent lever or linkage", "Does it move freely, empty?", "Replace the part.").work(RemoveFromUse).only(ManualRelease, OneHandRelease),
		cause("hard-release", "weak-air", "cylinder weak or leaking", "Pressure at the cylinder while it works?", "Repair cylinder or line.").only(AirRelease, RemoteRelease)),
	symptom("handle-not-home", "Handle not home, or indicator out", true,
		cause("handle-not-home", "worn-lock", "lock worn", "Play with a test pin, and the clearance of the lever to its stop.", "Renew ring and jaw.").likely().work(RenewLockWork).tells(LockPlay),
		cause("handle-not-home", "bent-lever", "bent lever", "Compare with a straight one; does it touch?", "Replace it.").work(RemoveFromUse).only(ManualRelease, OneHandRelease),
		cause("handle-not-home", "dirt", "dirt or ice under the catch", "Clean it: does the catch fall by itself?", "Clean and grease.").work(CleanGrease),
		cause("handle-not-home", "new-pin", "new pin in a lock that was set on a worn one", "Was a pin replaced lately?", "Set the lock on a true pin.").work(SetLockWork).tells(LockPlay),
		cause("handle-not-home", "piston", "piston not returned", "Is the cylinder vented?", "Repair cylinder or valve.").only(AirRelease, RemoteRelease)),
	symptom("knock", "It knocks on pulling away and braking", false,
		cause("knock", "frame", "frame mount loose", "Watch the brackets while the tractor is rocked.", "Renew bolts, look for cracks.").work(ReplaceBolts).tells(FastenersGone),
		cause("knock", "slider", "slider has play", "Watch the slider while the tractor is rocked.", "Set the slider.").work(SetSlider).tells(SliderPlay),
		cause("knock", "pads", "pads or pivots worn", "Movement of the plate on its supports.", "Replace the pads.").work(ReplacePads).tells(PadMovement),
		cause("knock", "lock", "lock worn", "Play with a test pin.", "Adjust, or renew ring and jaw.").likely().work(AdjustLockWork).tells(LockPlay),
		cause("knock", "pin", "pin worn", "Gauge the neck.", "Accept it within its limit, or replace the pin; never adjust it out.").likely().work(ReplacePinWork).tells(PinNeck)),
	symptom("knock-stays", "It still knocks after adjusting", false,
		cause("knock-stays", "pin", "the pin", "Gauge the neck.", "Do not tighten further; replace the pin at its limit.").likely().work(ReplacePinWork).tells(PinNeck),
		cause("knock-stays", "pedestals", "pedestals or pads", "Movement on the supports.", "Replace the pads.").work(ReplacePads).tells(PadMovement),
		cause("knock-stays", "slider", "slider", "Play of the slider.", "Set it.").work(SetSlider).tells(SliderPlay)),
	symptom("heavy-steering", "Steering heavy, the tractor pushes straight on", false,
		cause("heavy-steering", "dry", "dry plate, or grease full of grit", "Look at the plate.", "Strip, clean, grease.").likely().work(CleanGrease),
		cause("heavy-steering", "liner", "liner worn", "Screw heads near the surface?", "Replace the liners.").work(ReplaceLiner),
		cause("heavy-steering", "bow", "rubbing plate bowed", "Straightedge.", "Repair or replace the plate.").work(ReplacePlate).tells(BowDownWide)),
	symptom("pulls-aside", "The trailer runs aside", false,
		cause("pulls-aside", "alignment", "axles out of line", "Measure the alignment first.", "Align. Law of the US: no more than 3 in to each side.").likely(),
		cause("pulls-aside", "bent-pin", "bent pin", "Square in two directions.", "Replace the pin.").work(ReplacePinWork).tells(PinTilt),
		cause("pulls-aside", "one-sided", "lock or plate worn on one side", "Compare left and right.", "Gauge and renew.").rare().tells(LockPlay)),
	symptom("one-sided-wear", "Plate worn on one side", false,
		cause("one-sided-wear", "bow", "rubbing plate bowed or warped", "Straightedge.", "Repair or replace the plate.").likely().work(ReplacePlate).tells(BowDownWide),
		cause("one-sided-wear", "pads", "pads uneven", "Compare left and right.", "Replace both sides.").work(ReplacePads).tells(PadMovement),
		cause("one-sided-wear", "frame", "frame twisted", "Measure the diagonals and the level.", "By the vehicle maker's body-builder guide.").work(RemoveFromUse),
		cause("one-sided-wear", "lean", "pin leans", "Square in two directions.", "Replace the pin.").work(ReplacePinWork).tells(PinTilt)),
	symptom("fast-wear", "The lock wears fast", false,
		cause("fast-wear", "partners", "worn pins of the trailers it meets", "Gauge every trailer that it met.", "Replace pins at their limit: one bad pin wears the fleet.").likely().tells(PinNeck),
		cause("fast-wear", "bent-pin", "bent pin", "Square.", "Replace the pin.").work(ReplacePinWork).tells(PinTilt),
		cause("fast-wear", "length", "pin too long or too short", "Height, added plate included.", "Replace the pin.").work(ReplacePinWork).tells(PinHeight),
		cause("fast-wear", "dry", "run dry", "Grease interval kept?", "Clean and grease; shorten the interval.").work(CleanGrease)),
	symptom("sway", "It sways or rattles sideways", false,
		cause("sway", "pads", "pads", "Movement on the supports.", "Replace them.").likely().work(ReplacePads).tells(PadMovement),
		cause("sway", "pivot", "pivot pins", "Play of pivot in bracket.", "Renew pins and bushings.").work(RepairPivot).tells(PivotPlay),
		cause("sway", "slider", "slider", "Play of the slider.", "Set it.").work(SetSlider).tells(SliderPlay)),
	symptom("slider-stuck", "The slider will not move, or drops a pin", true,
		cause("slider-stuck", "bind", "locking pins bind", "Work them by hand.", "Clean, grease, set.").likely().work(SetSlider),
		cause("slider-stuck", "air", "air cylinder", "Pressure, travel?", "Repair it."),
		cause("slider-stuck", "setting", "wrong setting", "Half a turn past touching the rack?", "Set it.").work(SetSlider)),
	symptom("display-contradicts", "The display contradicts what is seen", true,
		cause("display-contradicts", "sensor", "sensor dirty or moved", "Clean it; gap by the instructions.", "Treat as open until it is repaired.").likely().only(RemoteRelease),
		cause("display-contradicts", "wiring", "wiring", "Plugs, breaks, water?", "Repair it.").only(RemoteRelease),
		cause("display-contradicts", "not-closed", "the display is right and the lock is not closed", "Torch, from behind.", "Do not drive.").likely()),
	symptom("grease-thrown", "Grease thrown about, dust sticks", false,
		cause("grease-thrown", "too-much", "too much grease, or old grease left under it", "How thick is it?", "Strip, grease afresh and evenly.").likely().work(CleanGrease),
		cause("grease-thrown", "wrong", "wrong grease", "What does the type's document name?", "Strip and change.").work(CleanGrease)),
}
