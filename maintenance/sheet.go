package maintenance

import (
	"math"
	"slices"
	"strings"

	"underpin/record"
	"underpin/unit"
)

// A SheetAsk says for what a gauge sheet is wanted.
type SheetAsk struct {
	Halves []Half // what stands in the workshop
	Regime Regime // countries, pin and type records
	Slider bool
	Last   map[string]float64 // governing reading of each measure on the last sheet, SI
	LastOn Date
}

// A Sheet is an empty gauge sheet: what to do first, what to measure and what to
// look at. It is plain data, the same for page, print and one-time link.
type Sheet struct {
	Halves   []Half
	Prepare  []Text
	Cautions []Text
	Rows     []Row
	Looks    []Look
	Problems []Message // of the type records, for whoever keeps them
}

// A Row is one measure on a sheet.
type Row struct {
	Measure Measure
	Must    bool    // the outcome needs it
	New     float64 // SI; NaN when the size of a new part is not known
	Last    float64 // SI; NaN when there is no last sheet
	Limits  []Limit // of every layer, strictest first
}

var (
	prepareApart = keyed("prepare.sheet",
		"Stand on firm level ground. Trailer parking brake on, wheels chocked, legs down and carrying.",
		"Uncouple. Tractor parking brake on, engine off, key with you.",
		"Strip all grease and dirt off what is to be gauged: a gauge on grease measures grease.",
		"Note which gauge you use and until when it is calibrated.")
	preparePair = keyed("prepare.pair",
		"Coupled, on firm level ground, trailer empty and its parking brake on.",
		"The driver rocks the tractor gently. Nobody between the units or in the pit while it moves.",
		"Read with both parking brakes on and the engine off.",
		"Find first what else moves, in this order: frame mount, slider, pedestals and pads. Only what is left is play of pin in lock.")
	sheetCautions = keyed("caution.sheet",
		"Never put a hand into an open lock. Close an empty lock only with a bar or test pin, and leave it open.",
		"A coupled look never stands for a wear inspection.",
		"Never measure over grease, paint or rust.")
)

// mustMeasure are the measures without which an outcome cannot be told, as far as
// their half is there. LockPlay and Play make up for each other in part, which
// the outcome knows.
var mustMeasure = map[string]bool{
	PinNeck: true, PinCollar: true, PinTilt: true, PinGouge: true, BowDownWide: true, BowDownNear: true, BowUp: true,
	LockPlay: true, Play: true, PadMovement: true, PivotPlay: true, FastenersGone: true,
}

// NewSheet makes the gauge sheet for what stands in the workshop. Measures of
// uncoupled parts, the pin, the lock and the plate, stand only on the sheets of
// tractor or trailer alone, and play only on that of the coupled pair: several
// halves asked for at once give one sheet with all of it, in working order.
//
// Every dimension of the type records that has a limit gets a row, whether or
// not the program knows it by name.
func NewSheet(a SheetAsk) Sheet {
	s := Sheet{Cautions: sheetCautions}
	limits, problems := a.Regime.Limits()
	s.Problems = problems
	has := func(h Half) bool { return slices.Contains(a.Halves, h) }
	for _, h := range []Half{Pair, Tractor, Trailer} { // coupled first, then apart
		if has(h) {
			s.Halves = append(s.Halves, h)
		}
	}
	if has(Pair) {
		s.Prepare = append(s.Prepare, preparePair...)
	}
	if has(Tractor) || has(Trailer) {
		s.Prepare = append(s.Prepare, prepareApart...)
	}
	limited := func(key string) []Limit {
		h := Hold(key, math.NaN(), limits)
		out := make([]Limit, len(h.Findings))
		for i, f := range h.Findings {
			out[i] = f.Limit
		}
		return out
	}
	add := func(m Measure, must bool) {
		r := Row{Measure: m, Must: must, New: math.NaN(), Last: math.NaN(), Limits: limited(m.Key)}
		if n, ok := a.Regime.newSize(m.Key); ok {
			r.New = n
		}
		if v, ok := a.Last[m.Key]; ok {
			r.Last = v
		}
		s.Rows = append(s.Rows, r)
	}
	for _, h := range s.Halves {
		for _, m := range measures {
			if m.Half != h || !a.Slider && (m.Key == SliderPlay || m.Key == SliderPinsOut) {
				continue
			}
			must := mustMeasure[m.Key] || m.Key == SliderPlay || m.Key == SliderPinsOut
			if m.Key == PivotPlay && len(limited(m.Key)) == 0 {
				must = false // no figure of general use was found
			}
			if !must && len(limited(m.Key)) == 0 {
				continue
			}
			add(m, must)
		}
		for _, m := range further {
			if m.Half == h && len(limited(m.Key)) > 0 {
				add(m, m.Key != InsertLift && m.Key != InsertLeft) // inserts only where they are fitted
			}
		}
		for _, m := range ownMeasures(a.Regime.Types, h) {
			add(m, true)
		}
		s.Looks = append(s.Looks, looksAt(h, a.Slider)...)
	}
	return s
}

// ownMeasures are the dimensions of type records that the program does not know
// by name.
func ownMeasures(types []record.TypeAdded, h Half) (out []Measure) {
	for _, t := range types {
		if halfOf(t.Part) != h {
			continue
		}
		for _, d := range t.Dimensions {
			if _, known := FindMeasure(d.Name); known || playNames[d.Name] || d.Limit == "" {
				continue
			}
			_, dim, err := parseAny(d.Limit)
			if err != nil {
				continue
			}
			m := Measure{Key: d.Name, Name: Text{English: d.Name}, Where: Text{English: d.What}, Dim: dim, Half: h, Part: t.Part, Apart: true, Takes: twice, Worst: Smallest}
			if d.Sense == "max" {
				m.Worst = Largest
			}
			out = append(out, m)
		}
	}
	return out
}

// halfOf is the half on which a kind of part is gauged.
func halfOf(part string) Half {
	switch part {
	case record.Kingpin, record.RubbingPlate:
		return Trailer
	case record.Mounting:
		return Pair
	}
	return Tractor
}

// A Filled is a sheet as it was filled in. What was typed stays as it was typed.
type Filled struct {
	Halves     []Half                `json:"halves"`
	On         string                `json:"on"` // the day, ISO 8601
	Metres     *int64                `json:"metres,omitempty"`
	Readings   map[string][]string   `json:"readings"` // by measure, in the order of its takes; text with unit
	Looks      map[string]LookAnswer `json:"looks"`
	Instrument Instrument            `json:"instrument"`
	Uncoupled  bool                  `json:"uncoupled"`
	Cleaned    bool                  `json:"cleaned"`
	Travel     string                `json:"travel,omitempty"` // of the adjuster: left, none
	Measured   string                `json:"measured_by"`      // who measured
	Workshop   string                `json:"workshop,omitempty"`
	Accepted   string                `json:"accepted_by,omitempty"` // who accepted it
	Photos     []record.Digest       `json:"photos,omitempty"`
	Confirmed  map[string]string     `json:"confirmed,omitempty"` // questions that were answered: by their key, the reason
}

// An Instrument is what was measured with.
type Instrument struct {
	ID         string `json:"id"`
	Calibrated string `json:"calibrated,omitempty"` // until which day, ISO 8601
	ErrorUM    *int64 `json:"error_um,omitempty"`   // uncertainty in µm; left out: 50 for callipers
}

// Value is the reading that governs a measure, NaN when it was not taken whole.
func (f Filled) Value(m Measure) float64 {
	typed := f.Readings[m.Key]
	if len(typed) < len(m.Takes) {
		return math.NaN()
	}
	worst := math.NaN()
	for i, t := range typed {
		if t == "" && i >= len(m.Takes) {
			continue
		}
		v, err := parseTyped(t, m.Dim)
		if err != nil {
			return math.NaN()
		}
		if math.IsNaN(worst) || m.Worst == Smallest && v < worst || m.Worst == Largest && v > worst {
			worst = v
		}
	}
	return worst
}

// parseTyped reads what was typed for a measure. A share may be written as it was
// counted, "3 of 12" or "3/12".
func parseTyped(text string, d unit.Dimension) (float64, error) {
	if d == unit.Number {
		for _, sign := range [...]string{" of ", "/"} {
			a, b, cut := strings.Cut(text, sign)
			if !cut {
				continue
			}
			x, err1 := unit.Parse(a, d)
			y, err2 := unit.Parse(b, d)
			if err1 == nil && err2 == nil && y > 0 {
				return x / y, nil
			}
		}
	}
	return unit.Parse(text, d)
}

// Values are the governing readings of all rows that were taken, to be kept as
// Last for the next sheet.
func (f Filled) Values(s Sheet) map[string]float64 {
	out := map[string]float64{}
	for _, r := range s.Rows {
		if v := f.Value(r.Measure); !math.IsNaN(v) {
			out[r.Measure.Key] = v
		}
	}
	return out
}

// MissingHalves are the halves that a whole inspection still needs.
func MissingHalves(have []Half) (out []Half) {
	for _, h := range []Half{Tractor, Trailer, Pair} {
		if !slices.Contains(have, h) {
			out = append(out, h)
		}
	}
	return out
}
