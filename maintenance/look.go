package maintenance

// A Look is something to look at that has no size: is it so, or not?
type Look struct {
	Key    string
	Name   Text // what is wrong, if the answer is yes
	Half   Half
	Weight Weight
	Apart  bool
	Slider bool // only where the fifth wheel slides
	Source string
}

// A Weight is what a found defect means.
type Weight string

const (
	HardStop Weight = "hard-stop" // never drive
	Worn     Weight = "worn"      // a limit reached, seen by eye: not in use again before it is renewed
	Mend     Weight = "mend"      // may run, to a latest date and distance
	Note     Weight = "note"      // worth a word
)

// A LookAnswer is what was seen.
type LookAnswer string

const (
	NotLooked LookAnswer = ""
	Fine      LookAnswer = "fine"
	Found     LookAnswer = "found"
	NotFitted LookAnswer = "not-fitted"
)

func look(key, english string) Text { return Text{"look." + key, english} }

// looks are what a sheet asks for beside sizes. The hard stops come first.
//
// Source: Utah Admin. Code R714-162-10 and DGUV Information 214-080 for what the
// law and the accident insurers say must not be driven; the rest is common
// practice, no source.
var looks = [...]Look{
	{"gap", look("gap", "gap or light between the plates"), Pair, HardStop, false, false, "Utah Admin. Code R714-162-10"},
	{"jaws-open", look("jaws-open", "jaws not closed behind the neck of the pin"), Pair, HardStop, false, false, "Utah Admin. Code R714-162-10"},
	{"handle-out", look("handle-out", "release handle not home"), Pair, HardStop, false, false, "Utah Admin. Code R714-162-10"},
	{"catch-off", look("catch-off", "second safety of the lock not in its place"), Pair, HardStop, false, false, "DGUV Information 214-080 (2020)"},
	{"indicator-out", look("indicator-out", "closed-lock indicator still out"), Pair, HardStop, false, false, "DGUV Information 214-080 (2020)"},
	{"display-open", look("display-open", "display shows open, nothing or a fault"), Pair, HardStop, false, false, practice},
	{"frame-moves", look("frame-moves", "movement between mounting parts and frame"), Pair, HardStop, false, false, "Utah Admin. Code R714-162-10"},
	{"slider-pin-out", look("slider-pin-out", "slider locking pin out, or a stop missing"), Pair, HardStop, false, true, "Utah Admin. Code R714-162-10"},
	{"brake-unproven", look("brake-unproven", "a parking brake does not hold"), Pair, HardStop, false, false, practice},
	{"wheel-cracked", look("wheel-cracked", "crack in plate, pedestal, bracket or weld, outside approach ramps"), Tractor, HardStop, true, false, "Utah Admin. Code R714-162-10"},
	{"lock-broken", look("lock-broken", "part of the lock missing, broken or bent"), Tractor, HardStop, true, false, "Utah Admin. Code R714-162-10"},
	{"lock-sticks", look("lock-sticks", "lock or catch does not move freely or does not close by itself"), Tractor, HardStop, true, false, practice},
	{"pin-loose", look("pin-loose", "pin moves by hand"), Trailer, HardStop, true, false, practice},
	{"pin-cracked", look("pin-cracked", "crack in the pin or where it is joined"), Trailer, HardStop, true, false, "Maryland COMAR 11.22.02.27 and 11.22.04.11"},
	{"pin-welded", look("pin-welded", "pin welded, ground or built up"), Trailer, HardStop, true, false, "New Zealand VIRM, 12-1; Quebec C-24.2, r. 32, s. 101"},
	{"wrong-size", look("wrong-size", "pin and jaw of different sizes, or an adaptor"), Trailer, HardStop, true, false, practice},
	{"wedge-unfit", look("wedge-unfit", "trailer with forced steering on a coupling not approved for it"), Pair, HardStop, false, false, "DGUV Information 214-080 (2020)"},
	{"plate-cracked", look("plate-cracked", "crack or hidden corrosion at or above the rubbing plate"), Trailer, HardStop, true, false, "skid plate information sheet (2019)"},

	{"liner-worn", look("liner-worn", "liner worn down to the heads of its screws"), Tractor, Worn, true, false, practice},
	{"lever-stop", look("lever-stop", "release lever has no clearance left to its stop: the adjuster is used up"), Tractor, Worn, true, false, practice},
	{"burr-proud", look("burr-proud", "burr standing proud on neck, collar or the flat faces beside the neck"), Trailer, Worn, true, false, practice},
	{"flats-worn", look("flats-worn", "wear on the flat faces above and below the neck"), Trailer, Worn, true, false, "TM 9-2330-335-14&P (2008)"},
	{"bolts-in-sweep", look("bolts-in-sweep", "bolts or nuts standing out where the fifth wheel sweeps"), Trailer, Worn, true, false, practice},

	{"ramp-crack", look("ramp-crack", "crack in an approach ramp only, or shrinkage crack in a rib of a cast plate"), Tractor, Mend, true, false, "Utah Admin. Code R714-162-10"},
	{"dry", look("dry", "dry or full of grit"), Tractor, Mend, true, false, practice},
	{"pad-torn", look("pad-torn", "rubber pad torn or soaked with oil"), Pair, Mend, false, false, practice},
	{"plate-groove", look("plate-groove", "grooves with burrs in the rubbing plate"), Trailer, Mend, true, false, practice},
	{"rating-plate", look("rating-plate", "rating plate missing or not readable"), Tractor, Mend, true, false, practice},
	{"paint-line", look("paint-line", "paint line over a bolt broken"), Pair, Mend, false, false, practice},

	{"grease-thrown", look("grease-thrown", "grease thrown off"), Tractor, Note, true, false, practice},
	{"one-sided", look("one-sided", "plate worn on one side"), Tractor, Note, true, false, practice},
}

func looksAt(h Half, slider bool) (out []Look) {
	for _, l := range looks {
		if l.Half == h && (slider || !l.Slider) {
			out = append(out, l)
		}
	}
	return out
}

// HardStops lists what must never be driven with.
func HardStops() (out []Look) {
	for _, l := range looks {
		if l.Weight == HardStop {
			out = append(out, l)
		}
	}
	return out
}
