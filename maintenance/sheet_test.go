package maintenance_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"underpin/maintenance"
	"underpin/record"
	"underpin/unit"
	"underpin/wear"
)

// wheel is an invented coupling's type record with the plays of the check values.
func wheel(adjust, most string, extra ...record.Dimension) record.TypeAdded {
	return record.TypeAdded{Part: record.FifthWheel, Name: "wheel", Source: doc, Dimensions: append([]record.Dimension{
		{Name: "play-base", Limit: "0.3 mm", Sense: "min"}, {Name: "play-adjust", Limit: adjust, Sense: "max"}, {Name: "play-most", Limit: most, Sense: "max"},
		{Name: "pad-movement", Limit: "3 mm", Sense: "max", Reached: "replace the pads"},
		{Name: "pivot-play", Limit: "5 mm", Sense: "max"},
		{Name: "lock-wear", What: "thickness of ring and jaw at the mark", New: "20 mm", Limit: "17.5 mm", Sense: "min", Reached: "replace ring and jaw together"},
	}, extra...)}
}

func german() maintenance.Regime {
	return maintenance.Regime{Countries: []string{"de"}, Pin: 50, Types: []record.TypeAdded{europe("50"), wheel("2.0 mm", "2.0 mm")}}
}

var allHalves = []maintenance.Half{maintenance.Tractor, maintenance.Trailer, maintenance.Pair}

// good fills a sheet with readings of parts that are nearly new.
func good(s maintenance.Sheet) maintenance.Filled {
	f := maintenance.Filled{Halves: s.Halves, On: "2026-11-25", Readings: map[string][]string{}, Looks: map[string]maintenance.LookAnswer{},
		Instrument: maintenance.Instrument{ID: "K-7", Calibrated: "2027-06-30"}, Uncoupled: true, Cleaned: true, Travel: "left", Measured: "A. Weber", Accepted: "B. Lang"}
	for _, r := range s.Rows {
		text := map[string]string{maintenance.PinNeck: "50.6 mm", maintenance.PinCollar: "72.8 mm", maintenance.PinHeight: "83.5 mm", maintenance.PinTilt: "0.2 deg",
			maintenance.LockPlay: "0.6 mm", maintenance.Play: "0.8 mm", "lock-wear": "19.5 mm", maintenance.InsertLeft: "6 mm", maintenance.LeastUpperBolt: "12"}[r.Measure.Key]
		if text == "" {
			text = "0 mm"
			if r.Measure.Dim == unit.Number {
				text = "0"
			}
		}
		for range r.Measure.Takes {
			f.Readings[r.Measure.Key] = append(f.Readings[r.Measure.Key], text)
		}
	}
	for _, l := range s.Looks {
		f.Looks[l.Key] = maintenance.Fine
	}
	return f
}

func put(f *maintenance.Filled, key string, readings ...string) { f.Readings[key] = readings }

func TestSheetsOfHalves(t *testing.T) {
	has := func(s maintenance.Sheet, key string) bool {
		return slices.ContainsFunc(s.Rows, func(r maintenance.Row) bool { return r.Measure.Key == key })
	}
	const source = "handbook chapter 05, section 1.2 and 6.1: pin, lock and plate uncoupled and cleaned, play coupled and braked"
	for _, tt := range []struct {
		half maintenance.Half
		with []string
		not  []string
	}{
		{maintenance.Tractor, []string{maintenance.LockPlay, "lock-wear"}, []string{maintenance.PinNeck, maintenance.Play, maintenance.BowUp}},
		{maintenance.Trailer, []string{maintenance.PinNeck, maintenance.PinCollar, maintenance.PinTilt, maintenance.BowDownWide}, []string{maintenance.LockPlay, maintenance.Play, "lock-wear"}},
		{maintenance.Pair, []string{maintenance.Play, maintenance.PadMovement, maintenance.FastenersGone}, []string{maintenance.PinNeck, maintenance.LockPlay, maintenance.SliderPlay}},
	} {
		s := maintenance.NewSheet(maintenance.SheetAsk{Halves: []maintenance.Half{tt.half}, Regime: german()})
		for _, k := range tt.with {
			if !has(s, k) {
				t.Errorf("%s: no %s (%s)", tt.half, k, source)
			}
		}
		for _, k := range tt.not {
			if has(s, k) {
				t.Errorf("%s: asks for %s (%s)", tt.half, k, source)
			}
		}
		if len(s.Prepare) == 0 || len(s.Looks) == 0 || len(s.Cautions) == 0 {
			t.Errorf("%s: nothing to do first, to look at or to beware of", tt.half)
		}
		for _, r := range s.Rows {
			if r.Measure.Apart == (tt.half == maintenance.Pair) {
				t.Errorf("%s: %s is measured apart: %v", tt.half, r.Measure.Key, r.Measure.Apart)
			}
			if r.Measure.Name.English == "" || len(r.Measure.Takes) == 0 || r.Measure.Worst == "" {
				t.Errorf("%s is not whole", r.Measure.Key)
			}
		}
	}
	s := maintenance.NewSheet(maintenance.SheetAsk{Halves: allHalves, Regime: german(), Slider: true, Last: map[string]float64{maintenance.PinNeck: 50.7 * mm}})
	for _, r := range s.Rows {
		switch r.Measure.Key {
		case maintenance.PinNeck:
			near(t, "new neck", r.New, 50.8*mm, 1e-12, "SAE J700")
			near(t, "last neck", r.Last, 50.7*mm, 1e-12, "hand")
			if len(r.Measure.Takes) != 2 || len(r.Limits) != 2 {
				t.Errorf("neck: %d takes, %d limits; fore-aft and across, maker and standard", len(r.Measure.Takes), len(r.Limits))
			}
		case "lock-wear":
			near(t, "new lock wear", r.New, 20*mm, 1e-12, "the type record")
		}
	}
	if !has(s, maintenance.SliderPlay) || s.Halves[0] != maintenance.Pair {
		t.Error("slider missing, or the coupled measurements do not come first")
	}
}

func TestMissingHalves(t *testing.T) {
	got := maintenance.MissingHalves([]maintenance.Half{maintenance.Trailer})
	if !slices.Equal(got, []maintenance.Half{maintenance.Tractor, maintenance.Pair}) {
		t.Errorf("%v", got)
	}
}

func TestQuestions(t *testing.T) {
	sheet := maintenance.NewSheet(maintenance.SheetAsk{Halves: allHalves, Regime: german(), Last: map[string]float64{maintenance.PinNeck: 50.5 * mm}})
	last := int64(412_000_000)
	for _, tt := range []struct {
		name     string
		change   func(*maintenance.CheckAsk)
		key      string // of the question expected; empty: none at all
		refused  bool
		proposed string
		source   string
	}{
		{"all good", func(*maintenance.CheckAsk) {}, "", false, "", "hand"},
		{"larger than new", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "51.2 mm", "50.6 mm") }, "pin-neck.larger-than-new", false, "", "SAE J700: at most 50.93"},
		{"top of a new pin's tolerance", func(a *maintenance.CheckAsk) {
			a.Sheet.Rows = slices.Clone(a.Sheet.Rows)
			for i := range a.Sheet.Rows {
				a.Sheet.Rows[i].Last = math.NaN()
			}
			put(&a.Filled, maintenance.PinNeck, "50.93 mm", "50.93 mm")
		}, "", false, "", "SAE J700: 2.000 + 0.005 in"},
		{"inches typed as millimetres", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "1.99 mm", "50.6 mm") }, "pin-neck.inches-as-mm", true, "50.546 mm", "1.99 in = 50.546 mm"},
		{"millimetres typed as inches", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "50.5 in", "50.6 mm") }, "pin-neck.mm-as-inches", true, "50.5 mm", "hand"},
		{"decimal mark", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "505 mm", "50.6 mm") }, "pin-neck.decimal", true, "50.5 mm", "hand"},
		{"inches are read as such", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "1.99 in", "1.99 in") }, "", false, "", "hand"},
		{"the 90 mm pin", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "88.5 mm", "88.5 mm") }, "pin-neck.other-pin", false, "", "ISO 4086 pin: 89 mm"},
		{"far too small", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "31 mm", "50.6 mm") }, "pin-neck.far-too-small", false, "", "hand"},
		{"grew back", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "50.75 mm", "50.75 mm") }, "pin-neck.grew-back", false, "", "handbook chapter 06, B1.1: lower wear than before by 3·√2·σ, here 0.21 mm"},
		{"wore fast", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "49.4 mm", "49.6 mm") }, "pin-neck.wore-fast", false, "", "hand: 1.1 mm since the last sheet"},
		{"takes apart", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.Play, "0.5 mm", "0.9 mm") }, "play.takes-apart", false, "", "hand"},
		{"oval pins are no fault of the gauge", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "50.2 mm", "50.6 mm") }, "", false, "", "two directions may differ"},
		{"no unit", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.PinNeck, "50.6", "50.6 mm") }, "pin-neck.unreadable", true, "", "package unit"},
		{"below nothing", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.Play, "-0.5 mm", "0.5 mm") }, "play.negative", true, "", "hand"},
		{"tomorrow", func(a *maintenance.CheckAsk) { a.Filled.On = "2026-11-26" }, "day.future", true, "", "issue: date in the future"},
		{"no day", func(a *maintenance.CheckAsk) { a.Filled.On = "25.11.2026" }, "day.unreadable", true, "", "hand"},
		{"before the last sheet", func(a *maintenance.CheckAsk) { a.LastOn = day(2026, 11, 26) }, "day.before-last", false, "", "hand"},
		{"odometer back", func(a *maintenance.CheckAsk) { m := int64(411_000_000); a.Filled.Metres, a.Last = &m, &last }, "odometer.back", false, "", "issue: odometer going back"},
		{"gauge past calibration", func(a *maintenance.CheckAsk) { a.Filled.Instrument.Calibrated = "2026-11-24" }, "instrument.past", false, "", "issue"},
		{"the last day of calibration", func(a *maintenance.CheckAsk) { a.Filled.Instrument.Calibrated = "2026-11-25" }, "", false, "", "hand"},
		{"gauge not named", func(a *maintenance.CheckAsk) { a.Filled.Instrument = maintenance.Instrument{} }, "instrument.unknown", false, "", "hand"},
		{"coupled", func(a *maintenance.CheckAsk) { a.Filled.Uncoupled = false }, "sheet.coupled", true, "", "handbook chapter 05, 4.2: a coupled look is no wear inspection"},
		{"greasy", func(a *maintenance.CheckAsk) { a.Filled.Cleaned = false }, "sheet.greasy", true, "", "handbook chapter 05, section 7: mandatory yes"},
		{"unknown row", func(a *maintenance.CheckAsk) { put(&a.Filled, "moon-phase", "3 mm") }, "moon-phase.no-row", false, "", "hand: nothing typed is lost"},
		{"half a fastener", func(a *maintenance.CheckAsk) { put(&a.Filled, maintenance.FastenersGone, "0.5", "0") }, "frame-fasteners-missing.not-whole", true, "", "hand"},
		{"a known part that looks new", func(a *maintenance.CheckAsk) {
			put(&a.Filled, maintenance.PinNeck, "50.78 mm", "50.8 mm")
			a.Wear = map[string]maintenance.WearKnown{maintenance.PinNeck: known(0.85)}
		}, "pin-neck.replaced", false, "", "handbook chapter 06, B1.6: likelihood ratio below 1/100"},
		{"a known part that leaps", func(a *maintenance.CheckAsk) {
			put(&a.Filled, maintenance.PinNeck, "48.0 mm", "48.0 mm")
			a.Wear = map[string]maintenance.WearKnown{maintenance.PinNeck: known(0.85)}
		}, "pin-neck.unlikely", false, "", "handbook chapter 06, B1.6: more than three spreads"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a := maintenance.CheckAsk{Sheet: sheet, Filled: good(sheet), Today: day(2026, 11, 25)}
			tt.change(&a)
			before, _ := json.Marshal(a.Filled)
			qs := maintenance.CheckSheet(a)
			after, _ := json.Marshal(a.Filled)
			if string(before) != string(after) {
				t.Error("checking changed what was typed")
			}
			if tt.key == "" {
				if len(qs) > 0 {
					t.Errorf("asked %+v (%s)", qs, tt.source)
				}
				return
			}
			i := slices.IndexFunc(qs, func(q maintenance.Question) bool { return q.Key == tt.key })
			if i < 0 {
				t.Fatalf("asked %+v, want %s (%s)", qs, tt.key, tt.source)
			}
			if q := qs[i]; q.Refused != tt.refused || q.Proposed != tt.proposed || strings.Contains(q.Say.String(), "{") {
				t.Errorf("%+v: %s", q, q.Say)
			}
			// A question that is only asked can be answered; what is refused cannot.
			a.Filled.Confirmed = map[string]string{tt.key: "looked at twice"}
			still := slices.ContainsFunc(maintenance.CheckSheet(a), func(q maintenance.Question) bool { return q.Key == tt.key })
			if still != tt.refused {
				t.Errorf("confirmed, and still asked is %v", still)
			}
		})
	}
}

// known is a pin with the model of handbook chapter 06, B2, read once.
func known(worn float64) maintenance.WearKnown {
	return maintenance.WearKnown{
		Prior: wear.Prior{StartSD: unit.Length(0.05 * mm), Rate: 0.30 * wear.MillimetrePer100000km, RateSD: 0.08 * wear.MillimetrePer100000km,
			Drift: 0.0025 * wear.SquareMillimetrePer100000km, GaugeSD: unit.Length(0.10 * mm)},
		Earlier: []wear.Reading{{Distance: 200_000 * km, Wear: unit.Length(worn * mm)}}, Distance: 250_000 * km, New: unit.Length(50.8 * mm),
	}
}

func TestFilledKeepsWhatWasTyped(t *testing.T) {
	sheet := maintenance.NewSheet(maintenance.SheetAsk{Halves: allHalves, Regime: german()})
	f := good(sheet)
	put(&f, maintenance.PinNeck, "  50,2mm ", "nonsense ½")
	m := int64(1)
	f.Metres = &m
	text, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	var back maintenance.Filled
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(f, back); diff != "" {
		t.Error(diff)
	}
	neck, _ := maintenance.FindMeasure(maintenance.PinNeck)
	if v := f.Value(neck); !math.IsNaN(v) {
		t.Errorf("a reading that cannot be read gives %g", v)
	}
	put(&f, maintenance.PinNeck, "50.4 mm")
	if v := f.Value(neck); !math.IsNaN(v) {
		t.Errorf("one of two readings gives %g", v)
	}
	put(&f, maintenance.PinNeck, "50.4 mm", "1.98 in")
	near(t, "smallest of both", f.Value(neck), 1.98*in, 1e-12, "1.98 in = 50.292 mm")
}

func TestSharesAsCounted(t *testing.T) {
	pins, _ := maintenance.FindMeasure(maintenance.SliderPinsOut)
	for text, want := range map[string]float64{"3 of 12": 0.25, "3/12": 0.25, "25%": 0.25, "0.25": 0.25, "0": 0, "0 of 8": 0, "1/0": math.NaN(), "three": math.NaN(), "/": math.NaN()} {
		f := maintenance.Filled{Readings: map[string][]string{maintenance.SliderPinsOut: {text}}}
		near(t, text, f.Value(pins), want, 1e-15, "hand")
	}
}

func TestGoverningReading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := maintenance.Filled{Readings: map[string][]string{}}
		a, b := rapid.IntRange(0, 90_000).Draw(t, "a"), rapid.IntRange(0, 90_000).Draw(t, "b")
		text := func(um int) string { return unit.Text(float64(um)*1e-6, unit.MM) }
		put(&f, maintenance.PinNeck, text(a), text(b))
		put(&f, maintenance.Play, text(a), text(b))
		neck, _ := maintenance.FindMeasure(maintenance.PinNeck)
		play, _ := maintenance.FindMeasure(maintenance.Play)
		if got := f.Value(neck); math.Abs(got-float64(min(a, b))*1e-6) > 1e-12 {
			t.Fatalf("neck %g of %d and %d", got, a, b)
		}
		if got := f.Value(play); math.Abs(got-float64(max(a, b))*1e-6) > 1e-12 {
			t.Fatalf("play %g of %d and %d", got, a, b)
		}
	})
}

func FuzzCheckSheet(f *testing.F) {
	for _, s := range []string{"50.6 mm", "1.99 in", "", "½", "1e309 mm", "-3mm", "2026-11-25", "12ft 2in", "NaN mm"} {
		f.Add(s, s, s)
	}
	sheet := maintenance.NewSheet(maintenance.SheetAsk{Halves: allHalves, Regime: german()})
	f.Fuzz(func(t *testing.T, one, two, on string) {
		filled := good(sheet)
		put(&filled, maintenance.PinNeck, one, two)
		put(&filled, maintenance.FastenersGone, two, one)
		filled.On, filled.Instrument.Calibrated = on, one
		qs := maintenance.CheckSheet(maintenance.CheckAsk{Sheet: sheet, Filled: filled, Today: day(2026, 11, 25)})
		neck, _ := maintenance.FindMeasure(maintenance.PinNeck)
		v := filled.Value(neck)
		asked := slices.ContainsFunc(qs, func(q maintenance.Question) bool { return strings.HasPrefix(q.Key, "pin-neck.") })
		if !math.IsNaN(v) && !asked && !(0.8*50.8*mm <= v && v <= 50.8*mm+0.24*mm) {
			t.Errorf("%q and %q give %g, and nobody asks", one, two, v)
		}
	})
}
