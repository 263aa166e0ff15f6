package yard

import "strconv"

// couple is the flow of coupling, with the lines joined afterwards, some of them
// ahead, or all of them part-way under.
func (b *builder) couple() {
	partWay := b.card.Flow == Restricted
	b.halt(say("drive.approach"))
	b.before(partWay)
	if partWay {
		b.halt(say("drive.part-way"), say("drive.part-way-pin"))
		b.keyOut()
		b.bothBrakes()
		b.join(b.order.Couple)
		b.supplyOff()
		b.add(Step{Name: "still", Ask: seen(Yes), Stops: true, Reason: whyStill, Caution: say("caution.still")})
		b.halt(b.reverse(true)...)
		b.keyOut()
		b.tug()
		b.looks()
		b.leave()
		return
	}
	b.halt(b.reverse(!b.order.TugLater)...)
	b.keyOut()
	if !b.order.TugLater {
		b.tug()
	}
	b.looks()
	b.bothBrakes()
	b.join(b.order.Couple[b.order.Ahead:])
	if b.order.TugLater {
		b.halt(say("drive.tug"))
		b.keyOut()
		b.tug()
	} else {
		b.halt()
	}
	b.leave()
}

// before is the first standstill, just short of the trailer.
func (b *builder) before(partWay bool) {
	f := b.f
	b.keyOut()
	b.add(Step{Name: "ground", Ask: seen(Yes), Reason: whyGround})
	b.trailerBrake()
	b.chocks()
	if b.order.Ahead > 0 && !partWay {
		b.bothBrakes()
		b.join(b.order.Couple[:b.order.Ahead])
		b.supplyOff()
	} else if !partWay && f.Reach != Yes {
		s := Step{Name: "reach", Ask: seen(Yes), Reason: whyReach, Stops: true, Text: say("step.reach.any")}
		if f.Reach == No {
			s.Text, s.Refused = say("step.reach.no"), true
		}
		b.add(s)
	}
	b.add(Step{Name: "legs-stand", Ask: seen(Yes), Reason: whyLegs})
	b.add(Step{Name: "event", Ask: seen(No), Never: "never.event"})
	b.add(Step{Name: "pin", Ask: seen(No), Never: "never.pin"})
	b.size()
	b.wedge()
	b.add(Step{Name: "crack", Ask: seen(No), Never: "never.crack"})
	b.add(Step{Name: "lock-part", Ask: seen(No), Never: "never.lock-part", Caution: say("caution.hands")})
	b.add(Step{Name: "mount", Ask: seen(No), Never: "never.mount"})
	if may(f.Slider) {
		b.add(Step{Name: "slide-pins", Ask: seen(Yes), Never: "never.slider", Text: variant("step.slide-pins", f.Slider)})
	}
	b.add(Step{Name: "ready", Ask: seen(Yes), Reason: whyReady, Text: variant("step.ready", f.Opening)})
	if f.Plate != Pitching {
		b.add(Step{Name: "plate-level", Ask: seen(Yes), Reason: whyPlate, Text: variant("step.plate-level", f.Plate)})
	}
	if may(f.Height) {
		b.add(Step{Name: "height-set", Ask: seen(Yes), Reason: whySet, Text: variant("step.height-set", f.Height)})
	}
	b.height()
}

// supplyOff asks for the trailer's air to be shut off again where its spring
// brakes let go as soon as they get air.
func (b *builder) supplyOff() {
	if b.order.Springs {
		b.add(Step{Name: "supply-off", Ask: seen(Yes), Stops: true, Never: "never.brakes", Reason: whySupply, Caution: say("caution.supply-off")})
	}
}

// size asks for one size of pin and lock.
func (b *builder) size() {
	s := Step{Name: "size", Ask: seen(Yes), Never: "never.size", Text: say("step.size.any")}
	if pin, lock := b.f.Pin, b.f.Lock; pin != 0 && lock != 0 {
		s.Text = say("step.size.known", strconv.FormatInt(pin, 10))
		if pin != lock {
			s.Text, s.Refused = say("step.size.differ", strconv.FormatInt(pin, 10), strconv.FormatInt(lock, 10)), true
		}
	}
	b.add(s)
}

// wedge asks whether the coupling may meet a steering wedge.
func (b *builder) wedge() {
	s := Step{Name: "wedge", Ask: seen(Yes), Never: "never.wedge"}
	switch w, ok := b.f.Wedge, b.f.ForWedge; {
	case w == No:
		return
	case w == Yes && ok == No:
		s.Text, s.Refused = say("step.wedge.refused"), true
	case w == Yes && ok == Yes:
		s.Text, s.Never, s.Reason = say("step.wedge.approved"), "", whyAngle
	case w == Yes:
		s.Text = say("step.wedge.ask")
	case ok == Yes:
		s.Text, s.Never, s.Reason = say("step.wedge.straight"), "", whyAngle
	case ok == No:
		s.Text = say("step.wedge.none")
	default:
		s.Text = say("step.wedge.any")
	}
	b.add(s)
}

// height asks where the plate meets the ramps. Where the numbers say no, the
// question stands behind the words that say what to alter first.
func (b *builder) height() {
	m := b.card.Meeting
	s := Step{Name: "height", Ask: seen(Yes), Reason: whyHeight, Caution: say("caution.height"), Text: say("step.height.any", mm(Deepest))}
	switch m.Meets {
	case MeetsWell:
		s.Text = say("step.height.well", mm(m.Below))
	case TooLow:
		s.Text = say("step.height.too-low", mm(m.Below), mm(Deepest))
	case TooHigh:
		s.Text = say("step.height.too-high", mm(-m.Below), mm(Deepest))
		s.Caution = say("caution.height.too-high")
	}
	b.add(s)
}

// reverse is the driving under the trailer.
func (b *builder) reverse(tug bool) []Message {
	drive := []Message{say("drive.reverse"), say("drive.lift")}
	if may(b.f.Wedge) {
		drive = append(drive, variant("drive.wedge", b.f.Wedge))
	}
	if tug {
		drive = append(drive, say("drive.tug"))
	}
	return drive
}

// tug asks how the tug went; it proves no lock.
func (b *builder) tug() {
	b.add(Step{Name: "tug", Ask: seen(Yes), Reason: whyTug, Caution: say("caution.tug")})
}

// looks are what proves the lock, all of them.
func (b *builder) looks() {
	f := b.f
	handle := func() {
		switch f.Opening {
		case ByHand, OneHand:
			s := variant("step.handle", f.Opening)
			place := Key("place.any")
			if f.From != "" {
				place = Key("place." + string(f.From))
			}
			s.Args = []Arg{{Key: place}}
			caution := Message{}
			if f.Opening == OneHand {
				caution = say("caution.gloves")
			}
			b.add(look("handle", Yes, "never.handle", s, caution))
		case ByAir:
			b.add(look("handle", Yes, "never.handle", say("step.handle.air"), say("caution.air")))
		default:
			b.add(look("handle", Yes, "never.handle", say("step.handle.any"), say("caution.air")))
		}
	}
	if b.order.HandleFirst {
		handle()
	}
	b.add(look("gap", No, "never.gap", Message{}, Message{}))
	b.add(look("jaws", Yes, "never.jaws", Message{}, say("caution.hands")))
	if !b.order.HandleFirst {
		handle()
	}
	caution := Message{}
	switch f.Securing {
	case Flap, "":
		caution = say("caution.flap")
	case SnapHook, Padlock, Clip:
		caution = say("caution.left-off")
	}
	b.add(look("secured", Yes, "never.safety", variant("step.secured", f.Securing), caution))
	if may(f.Mark) {
		b.add(look("mark", Yes, "never.indicator", variant("step.mark", f.Mark), say("caution.gloves")))
	}
}

// shown asks what lamp and display say. They need the ignition, so they come
// when the driver is back in the cab, behind the looks and never instead.
func (b *builder) shown() {
	if f := b.f; may(f.Lamp) {
		b.add(look("lamp", Yes, "never.display", variant("step.lamp", f.Lamp), say("caution.sensor")))
	}
	if f := b.f; may(f.Display) {
		b.add(look("display", Yes, "never.display", variant("step.display", f.Display), say("caution.sensor")))
	}
}

// leave is the last standstill: what stood under the trailer goes away, then
// everything is looked at once more.
func (b *builder) leave() {
	f := b.f
	legs := variant("step.legs-up", f.Legs)
	b.add(Step{Name: "legs-up", Reason: whyLegs, Text: legs, Caution: b.legCaution()})
	b.add(Step{Name: "chocks-away", Reason: whyChocks})
	b.add(Step{Name: "again", Ask: seen(Yes), Lock: true, Reason: whyAgain, Caution: say("caution.again")})
	b.shown()
	if air(f.Tractor) || air(f.Trailer) {
		b.add(Step{Name: "level", Ask: seen(Yes), Reason: whyLevel, Text: b.level()})
	}
	b.add(Step{Name: "lights", Ask: seen(Yes), Reason: whyLights})
	if h := b.card.Travelling; h != nil {
		b.add(Step{Name: "today", Reason: whyToday, Text: say("step.today.known", whole(*h)+" mm")})
	} else {
		b.add(Step{Name: "today", Reason: whyToday, Text: say("step.today.any"),
			Ask: Ask{Kind: Number, Unit: "mm", Least: 1500, Most: 9999, Optional: true}})
	}
	b.odometer()
	b.photo("photo")
	b.add(Step{Name: "release", Reason: whyRelease})
	b.card.After = []Message{say("drive.off")}
}

// level names whose driving level is asked for.
func (b *builder) level() Message {
	switch {
	case b.f.Tractor == Steel:
		return say("step.level.trailer")
	case b.f.Trailer == Steel:
		return say("step.level.tractor")
	}
	return say("step.level.both")
}

// legCaution warns of what the drive of the legs does.
func (b *builder) legCaution() Message {
	switch {
	case b.f.Legs == Motor && b.f.LegSides == OneSide:
		return Message{}
	case b.f.Legs == Motor:
		return say("caution.legs-sides")
	case b.f.LegSides == OneSide:
		return say("caution.crank")
	}
	return say("caution.crank-sides")
}
