package yard

// sayWords are sentences with values.
var sayWords = []row{
	{"say.not-known", [2]string{"not known: {1}", "nicht bekannt: {1}"}},
	{"fact.opening", [2]string{"how the coupling is opened", "wie die Kupplung geöffnet wird"}},
	{"fact.from", [2]string{"from where it is opened", "von wo sie geöffnet wird"}},
	{"fact.securing", [2]string{"what secures the handle", "was den Griff sichert"}},
	{"fact.mark", [2]string{"whether there is an indicator to see and feel", "ob es einen Anzeiger zum Sehen und Fühlen gibt"}},
	{"fact.lamp", [2]string{"whether there is a lamp for the lock", "ob es eine Lampe für den Verschluss gibt"}},
	{"fact.display", [2]string{"whether there is a display in the cab", "ob es eine Anzeige im Fahrerhaus gibt"}},
	{"fact.plate", [2]string{"whether the plate can roll sideways", "ob die Platte seitlich kippen kann"}},
	{"fact.slider", [2]string{"whether the fifth wheel slides", "ob die Kupplung verschiebbar ist"}},
	{"fact.height", [2]string{"whether the coupling's height can be set", "ob die Kupplung höhenverstellbar ist"}},
	{"fact.wedge", [2]string{"whether the trailer has a steering wedge", "ob der Auflieger einen Lenkkeil hat"}},
	{"fact.for-wedge", [2]string{"whether the coupling is approved for a steering wedge", "ob die Kupplung für einen Lenkkeil genehmigt ist"}},
	{"fact.reach", [2]string{"whether the lines can be reached once coupled", "ob die Leitungen aufgesattelt erreichbar sind"}},
	{"fact.tractor", [2]string{"the suspension of the tractor", "die Federung der Zugmaschine"}},
	{"fact.trailer", [2]string{"the suspension of the trailer", "die Federung des Aufliegers"}},
	{"fact.legs", [2]string{"how the landing legs are worked", "wie die Stützen bedient werden"}},
	{"fact.leg-sides", [2]string{"from which sides the legs are worked", "von welchen Seiten die Stützen bedient werden"}},
	{"fact.pin", [2]string{"the size of the kingpin", "die Größe des Königszapfens"}},
	{"fact.lock", [2]string{"the size that the coupling takes", "die Größe, die die Kupplung aufnimmt"}},
	{"fact.country", [2]string{"whose order of lines applies", "wessen Reihenfolge der Leitungen gilt"}},
	{"fact.meeting", [2]string{"the heights of coupling and trailer plate before coupling", "die Höhen von Kupplung und Aufliegerplatte vor dem Aufsatteln"}},
	{"fact.travelling", [2]string{"the height of the pair on the road today", "die Höhe des Zuges heute"}},
	{"fact.setting", [2]string{"where the slider may stand for this trailer", "wo die Verschiebung für diesen Auflieger stehen darf"}},
}
