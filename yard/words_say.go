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

// judgeWords are the sentences of a verdict and of an outcome.
var judgeWords = []row{
	{"allow.do-not-use", [2]string{"Do not use {1}: {2}.", "{1} nicht benutzen: {2}."}},
	{"allow.do-not-use.tag", [2]string{"Do not use {1}: {2}. Hang a tag on it or lock its kingpin.", "{1} nicht benutzen: {2}. Schild anhängen oder Königszapfen sperren."}},
	{"allow.no-data", [2]string{"Cannot tell: nothing about this pair is on this phone.", "Nicht zu sagen: über dieses Paar ist nichts auf diesem Telefon."}},
	{"allow.no-limit", [2]string{"Cannot tell: nobody has set how old data may be.", "Nicht zu sagen: niemand hat festgelegt, wie alt Daten sein dürfen."}},
	{"allow.clock", [2]string{"Cannot tell: this phone's clock stands before the data.", "Nicht zu sagen: die Uhr dieses Telefons steht vor den Daten."}},
	{"allow.old", [2]string{"Cannot tell: last known {1} h ago, older than the {2} h allowed. Get a signal or ask the office.", "Nicht zu sagen: zuletzt bekannt vor {1} h, älter als die erlaubten {2} h. Empfang suchen oder Büro fragen."}},
	{"allow.fits", [2]string{"This pair fits as it stands.", "Dieses Paar passt, wie es steht."}},
	{"allow.fits-if", [2]string{"Fits only if set: {1}.", "Passt nur nach Einstellung: {1}."}},
	{"allow.does-not-fit", [2]string{"Does not fit: {1}.", "Passt nicht: {1}."}},
	{"allow.does-not-fit.plain", [2]string{"Does not fit. Ask the office why.", "Passt nicht. Büro nach dem Grund fragen."}},
	{"allow.missing", [2]string{"Cannot tell, missing: {1}.", "Nicht zu sagen, es fehlt: {1}."}},
	{"allow.not-worked-out", [2]string{"Cannot tell: this pair was not worked out.", "Nicht zu sagen: dieses Paar wurde nicht berechnet."}},

	{"out.not-signed", [2]string{"Not signed.", "Nicht unterschrieben."}},
	{"out.past", [2]string{"Went on before a stop was confirmed.", "Weitergegangen, bevor ein Halt bestätigt war."}},
	{"out.failed-twice", [2]string{"The lock failed a second time. Leave it coupled where it stands and call the workshop.", "Der Verschluss hat ein zweites Mal versagt. Stehen lassen und Werkstatt rufen."}},
	{"out.skipped", [2]string{"No answer yet.", "Noch keine Antwort."}},
	{"out.not-seen", [2]string{"Could not be seen.", "War nicht zu sehen."}},
	{"out.look-again", [2]string{"Look again: the lock failed or you were away since.", "Noch einmal ansehen: seitdem Fehler am Verschluss oder Unterbrechung."}},
	{"out.never", [2]string{"Do not drive: {1}.", "Nicht fahren: {1}."}},
	{"out.wrong", [2]string{"Not in order.", "Nicht in Ordnung."}},
	{"out.no-setting", [2]string{"Cannot tell whether this position is allowed.", "Nicht zu sagen, ob diese Stellung erlaubt ist."}},
	{"out.position", [2]string{"Slider at {1}; allowed is {2} to {3}.", "Verschiebung bei {1}; erlaubt ist {2} bis {3}."}},
}

// senseWords are what sensor events warn of.
var senseWords = []row{
	{"sense.contradiction", [2]string{"{1} says {2}, the driver saw it locked. Counts as unlocked: stop and look.", "{1} meldet {2}, der Fahrer sah verriegelt. Gilt als offen: anhalten, nachsehen."}},
	{"sense.moving", [2]string{"Moving at {3} km/h while the {1} says {2}. Stop and look.", "Fahrt mit {3} km/h, {1} meldet {2}. Anhalten, nachsehen."}},
	{"sense.fault", [2]string{"Fault of the {1}. Counts as unlocked until it is mended.", "Störung: {1}. Gilt als offen, bis sie behoben ist."}},
	{"sense.silent", [2]string{"Nothing more heard of the {1}; last it said {2}. Counts as unlocked.", "Nichts mehr gehört: {1}; zuletzt {2}. Gilt als offen."}},
	{"sense.empty-lock", [2]string{"Lock closed without a pin in it. Nothing is coupled there.", "Verschluss zu, aber kein Zapfen darin. Dort ist nichts aufgesattelt."}},
	{"sense.cartridge", [2]string{"{1}: {2}. Grease by hand until it is seen to.", "{1}: {2}. Von Hand schmieren, bis sie versorgt ist."}},
	{"sensor.cartridge", [2]string{"lubrication cartridge", "Schmierpatrone"}},
	{"state.low", [2]string{"nearly empty", "fast leer"}},
	{"state.empty", [2]string{"empty", "leer"}},
	{"sensor.lock", [2]string{"lock sensor", "Verschlusssensor"}},
	{"sensor.display", [2]string{"display", "Anzeige im Fahrerhaus"}},
	{"state.closed", [2]string{"closed", "geschlossen"}},
	{"state.open", [2]string{"open", "offen"}},
	{"state.fault", [2]string{"fault", "Störung"}},
	{"state.silent", [2]string{"nothing", "nichts"}},
}
