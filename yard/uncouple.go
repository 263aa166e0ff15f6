package yard

// uncouple is the flow of uncoupling; a drop adds what stays behind.
func (b *builder) uncouple() {
	f := b.f
	b.halt(say("drive.park"))
	b.keyOut()
	b.add(Step{Name: "ground-legs", Ask: seen(Yes), Reason: whyGround})
	b.trailerBrake()
	b.chocks()
	b.add(Step{Name: "legs-down", Reason: whyDown, Text: variant("step.legs-down", f.Legs), Caution: b.legCaution()})
	b.bothBrakes()
	b.part()
	b.add(Step{Name: "unlock", Reason: whyUnlock, Text: b.unlock(), Caution: say("caution.unlock")})
	b.add(Step{Name: "unlocked", Ask: seen(Yes), Reason: whyUnlock, Text: variant("step.unlocked", f.Opening)})

	b.halt(variant("drive.leave", f.Tractor))
	b.keyOut()
	b.add(Step{Name: "carry", Ask: seen(Yes), Reason: whyCarry, Stops: true})
	if air(f.Tractor) {
		b.add(Step{Name: "lower", Reason: whyLower, Text: variant("step.lower", f.Tractor), Caution: say("caution.lower")})
	}

	b.halt(say("drive.pull-out"))
	b.keyOut()
	if air(f.Tractor) {
		b.add(Step{Name: "level", Ask: seen(Yes), Reason: whyLevel, Text: say("step.level.tractor")})
	}
	b.add(Step{Name: "brake-still", Ask: seen(Yes), Never: "never.brakes"})
	b.add(Step{Name: "chocks-still", Ask: seen(Yes), Reason: whyChocks})
	if b.card.Flow == Drop {
		b.add(Step{Name: "place", Ask: Ask{Kind: Words}, Reason: whyRecord})
		b.add(Step{Name: "stands-on", Ask: Ask{Kind: Choice, Choices: []Key{"ground.hard", "ground.gravel", "ground.boards", "ground.soft"}}, Reason: whyGround})
		b.add(Step{Name: "load-left", Ask: Ask{Kind: Choice, Choices: []Key{"load.empty", "load.part", "load.full"}}, Reason: whyRecord})
		b.add(Step{Name: "pin-lock", Ask: Ask{Kind: Choice, Choices: []Key{"pin-lock.on", "pin-lock.none"}}, Reason: whyPinLock})
		b.photo("photo-dropped")
	}
	b.odometer()
}

// unlock says how this coupling is opened, its safety first.
func (b *builder) unlock() Message {
	place := Key("place.any")
	if b.f.From != "" {
		place = Key("place." + string(b.f.From))
	}
	switch b.f.Opening {
	case ByHand, OneHand:
		return sayKeys("step.unlock.hand", place)
	case ByAir:
		return sayKeys("step.unlock.air", place)
	}
	return sayKeys("step.unlock.any", place)
}

// slide is the flow of moving the slider with the trailer coupled.
func (b *builder) slide() {
	b.halt(say("drive.straight"))
	b.keyOut()
	b.add(Step{Name: "ground", Ask: seen(Yes), Reason: whyGround})
	b.trailerBrake()
	b.chocks()
	aim := Step{Name: "aim", Reason: whySlide, Text: say("step.aim.any"), Ask: seen(Yes), Stops: true}
	if s := b.p.Setting; s != nil {
		aim.Text = say("step.aim.known", whole(s.Aim)+" mm", whole(s.Least)+" mm", whole(s.Most)+" mm")
	}
	b.add(aim)
	b.add(Step{Name: "slack", Ask: seen(Yes), Reason: whySlide, Caution: say("caution.slack")})
	b.add(Step{Name: "slide-free", Ask: seen(Yes), Reason: whySlide})

	b.halt(say("drive.slide"), say("drive.nobody"))
	b.keyOut()
	b.add(Step{Name: "slide-home", Ask: seen(Yes), Stops: true, Never: "never.slider", Caution: say("caution.slide-home")})
	b.add(Step{Name: "slide-stops", Ask: seen(Yes), Never: "never.slider"})
	b.add(Step{Name: "slide-at", Ask: Ask{Kind: Number, Unit: "mm", Least: -3000, Most: 5000}, Reason: whyRecord})

	b.halt(say("drive.pull-test"))
	b.keyOut()
	b.add(Step{Name: "slide-held", Ask: seen(Yes), Never: "never.slider"})
	b.add(Step{Name: "swing", Ask: seen(Yes), Reason: whySwing})
	b.add(Step{Name: "gap-cab", Ask: Ask{Kind: Number, Unit: "mm", Least: 0, Most: 5000}, Reason: whySwing})
	b.add(Step{Name: "lines-free", Ask: seen(Yes), Reason: whySwing})
	b.add(Step{Name: "chocks-away", Reason: whyChocks})
	b.add(Step{Name: "again", Ask: seen(Yes), Lock: true, Reason: whyAgain, Caution: say("caution.again")})
	b.photo("photo-slide")
	b.add(Step{Name: "release", Reason: whyRelease})
	b.card.After = []Message{say("drive.off")}
}
