package maintenance_test

import (
	"slices"
	"strings"
	"testing"

	"underpin/maintenance"
	"underpin/record"
	"underpin/wear"
)

// judged is the outcome of one whole inspection of tractor, trailer and pair.
func judged(t *testing.T, regime maintenance.Regime, change func(*maintenance.Filled)) maintenance.Outcome {
	t.Helper()
	sheet := maintenance.NewSheet(maintenance.SheetAsk{Halves: allHalves, Regime: regime})
	f := good(sheet)
	if change != nil {
		change(&f)
	}
	today := day(2026, 11, 25)
	open := maintenance.CheckSheet(maintenance.CheckAsk{Sheet: sheet, Filled: f, Today: today})
	return maintenance.Judge(maintenance.JudgeAsk{Of: maintenance.OfPair, Sheets: []maintenance.Inspection{{Sheet: sheet, Filled: f, Open: open}}, Regime: regime, Today: today})
}

// plays sets neck and play of the pair and leaves the lock to be worked out.
func plays(play, neck, travel string) func(*maintenance.Filled) {
	return func(f *maintenance.Filled) {
		delete(f.Readings, maintenance.LockPlay)
		put(f, maintenance.Play, play, play)
		put(f, maintenance.PinNeck, neck, neck)
		f.Travel = travel
	}
}

func TestOutcomes(t *testing.T) {
	const ch5 = "handbook chapter 05, check value "
	for _, tt := range []struct {
		name    string
		change  func(*maintenance.Filled)
		verdict maintenance.Verdict
		lock    wear.LockState
		work    []string
		source  string
	}{
		{"nearly new", nil, maintenance.Serviceable, wear.LockFit, nil, "hand"},
		{"play 1.5, neck 50.8", plays("1.5 mm", "50.8 mm", "left"), maintenance.Serviceable, wear.LockFit, nil, ch5 + "26"},
		{"play 2.6, neck 50.8", plays("2.6 mm", "50.8 mm", "left"), maintenance.DoNotUse, wear.LockAdjust, []string{maintenance.AdjustLockWork}, ch5 + "27; over p_max, section 9"},
		{"play 2.6, neck 49.4", plays("2.6 mm", "49.4 mm", "left"), maintenance.Advisory, wear.LockFit, nil, ch5 + "28: pin wear, do not adjust"},
		{"play 1.2, neck 49.5", plays("1.2 mm", "49.5 mm", "left"), maintenance.DoNotUse, wear.LockTight, []string{maintenance.BackOffLock}, ch5 + "29: over-tight"},
		{"play 4.2, neck 49.3", plays("4.2 mm", "49.3 mm", "left"), maintenance.DoNotUse, wear.LockAdjust, []string{maintenance.IsolateJoint, maintenance.AdjustLockWork}, ch5 + "30: adjust, R7 flags"},
		{"play 2.6, used up", plays("2.6 mm", "50.8 mm", "none"), maintenance.DoNotUse, wear.LockRenew, []string{maintenance.RenewLockWork}, ch5 + "31"},
		{"play 2.6, travel not known", plays("2.6 mm", "50.8 mm", ""), maintenance.DoNotUse, wear.LockOver, nil, "over p_max whatever the adjuster says"},
		{"neck 49.0", plays("1.5 mm", "49.0 mm", "left"), maintenance.DoNotUse, wear.LockTight, []string{maintenance.ReplacePinWork, maintenance.BackOffLock}, "handbook chapter 05, 6.4: replace pin, then set"},
		{"neck 49.0, lock fit", plays("2.5 mm", "49.0 mm", "left"), maintenance.DoNotUse, wear.LockFit, []string{maintenance.ReplacePinWork, maintenance.SetLockWork}, "handbook chapter 05, 6.1 R2: readjustment mandatory"},
		{"neck 49.0, lock worn too", plays("4.0 mm", "49.0 mm", "none"), maintenance.DoNotUse, wear.LockRenew, []string{maintenance.IsolateJoint, maintenance.ReplacePinWork, maintenance.RenewLockWork}, "handbook chapter 05, 6.4: both; R7: 4.0 > 3.8"},
		{"pin loose by hand", func(f *maintenance.Filled) { f.Looks["pin-loose"] = maintenance.Found }, maintenance.DoNotUse, wear.LockFit, []string{maintenance.ReplacePinWork, maintenance.SetLockWork}, ch5 + "21: stop"},
		{"neck 49.5 is an advisory", func(f *maintenance.Filled) {
			put(f, maintenance.PinNeck, "49.5 mm", "49.5 mm")
			put(f, maintenance.Play, "1.8 mm", "1.8 mm")
		}, maintenance.Advisory, wear.LockFit, nil, "handbook chapter 05, section 9"},
		{"lock wear at its limit", func(f *maintenance.Filled) { put(f, "lock-wear", "17.5 mm", "17.6 mm") }, maintenance.DoNotUse, wear.LockFit, []string{maintenance.RenewLockWork}, "handbook chapter 05, 2.2: ring and jaw together at 17.5"},
		{"pads at 3.0", func(f *maintenance.Filled) { put(f, maintenance.PadMovement, "3.0 mm", "1 mm") }, maintenance.DoNotUse, wear.LockFit, []string{maintenance.ReplacePads}, ch5 + "40"},
		{"dry plate may run", func(f *maintenance.Filled) { f.Looks["dry"] = maintenance.Found }, maintenance.Repair, wear.LockFit, []string{maintenance.CleanGrease}, "hand"},
		{"grease thrown", func(f *maintenance.Filled) { f.Looks["grease-thrown"] = maintenance.Found }, maintenance.Advisory, wear.LockFit, []string{maintenance.CleanGrease}, "hand"},
		{"not looked at the gap", func(f *maintenance.Filled) { delete(f.Looks, "gap") }, maintenance.CannotTell, wear.LockFit, nil, "missing data is never a pass"},
		{"neck not measured", func(f *maintenance.Filled) { delete(f.Readings, maintenance.PinNeck) }, maintenance.CannotTell, wear.LockFit, nil, "missing data is never a pass"},
		{"gauge past calibration", func(f *maintenance.Filled) { f.Instrument.Calibrated = "2026-01-01" }, maintenance.CannotTell, wear.LockUnknown, nil, "readings with it do not count"},
		{"nobody can say that there is no gap to look at", func(f *maintenance.Filled) { f.Looks["gap"] = maintenance.NotFitted }, maintenance.CannotTell, wear.LockFit, nil, "hand"},
		{"no display fitted", func(f *maintenance.Filled) { f.Looks["display-open"] = maintenance.NotFitted }, maintenance.Serviceable, wear.LockFit, nil, "hand"},
		{"an answer that is none", func(f *maintenance.Filled) { f.Looks["gap"] = "maybe" }, maintenance.CannotTell, wear.LockFit, nil, "hand"},
		{"nobody measured", func(f *maintenance.Filled) { f.Measured = "" }, maintenance.CannotTell, wear.LockFit, nil, "the record names who measured"},
		{"an outside workshop's sheet that nobody accepted", func(f *maintenance.Filled) { f.Workshop, f.Accepted = "Yard 9", "" }, maintenance.CannotTell, wear.LockFit, nil, "the record names who accepted"},
		{"and one that somebody did", func(f *maintenance.Filled) { f.Workshop = "Yard 9" }, maintenance.Serviceable, wear.LockFit, nil, "hand"},
		{"ramp crack, no exemption here", func(f *maintenance.Filled) { f.Looks["ramp-crack"] = maintenance.Found }, maintenance.DoNotUse, wear.LockFit, nil, "no exemption was found outside the US"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			o := judged(t, german(), tt.change)
			if o.Verdict != tt.verdict || o.Diagnosis.Lock != tt.lock {
				t.Errorf("%v, lock %v; want %v, %v (%s)\n%v\nmissing %v", o.Verdict, o.Diagnosis.Lock, tt.verdict, tt.lock, tt.source, says(o.Reasons), o.Missing)
			}
			if tt.work != nil && !slices.Equal(o.Work, tt.work) {
				t.Errorf("work %v, want %v (%s)", o.Work, tt.work, tt.source)
			}
			if (o.Verdict == maintenance.Repair) != (o.Repair != nil) {
				t.Error("a repair without latest date and distance, or one without repair")
			}
			if o.Repair != nil && (o.Repair.On == (maintenance.Date{}) || !(o.Repair.Distance > 0)) {
				t.Errorf("bound %+v", o.Repair)
			}
			for _, r := range o.Reasons {
				if strings.Contains(r.Say.String(), "{") {
					t.Errorf("unfilled: %s", r.Say)
				}
			}
		})
	}
}

func says(reasons []maintenance.Reason) (out []string) {
	for _, r := range reasons {
		out = append(out, r.Verdict.String()+": "+r.Say.String())
	}
	return out
}

// TestPinOrJaw is the matrix of what to do by neck and play of the lock.
func TestPinOrJaw(t *testing.T) {
	const source = "handbook chapter 05, 6.4"
	back, adjust, renew, pin, set := maintenance.BackOffLock, maintenance.AdjustLockWork, maintenance.RenewLockWork, maintenance.ReplacePinWork, maintenance.SetLockWork
	for _, tt := range []struct {
		lock, travel string
		neck         string
		work         []string
		plan         bool
	}{
		{"0.1 mm", "left", "50.5 mm", []string{back}, false},
		{"0.1 mm", "left", "49.6 mm", []string{back}, true},
		{"0.1 mm", "left", "48.9 mm", []string{pin, back}, true},
		{"0.3 mm", "left", "50.5 mm", nil, false},
		{"2.0 mm", "left", "50.0 mm", nil, true},
		{"1.0 mm", "left", "49.0 mm", []string{pin, set}, true},
		{"2.1 mm", "left", "50.5 mm", []string{adjust}, false},
		{"2.1 mm", "left", "49.6 mm", []string{adjust}, true},
		{"2.1 mm", "left", "48.9 mm", []string{pin, adjust}, true},
		{"2.1 mm", "none", "50.5 mm", []string{renew}, false},
		{"2.1 mm", "none", "49.6 mm", []string{renew}, true},
		{"2.1 mm", "none", "48.9 mm", []string{pin, renew}, true},
	} {
		o := judged(t, german(), func(f *maintenance.Filled) {
			put(f, maintenance.LockPlay, tt.lock, tt.lock)
			put(f, maintenance.PinNeck, tt.neck, tt.neck)
			f.Travel = tt.travel
		})
		if !slices.Equal(o.Work, tt.work) || o.PlanPin != tt.plan {
			t.Errorf("lock %s, travel %s, neck %s: %v, plan %v; want %v, %v (%s) %v", tt.lock, tt.travel, tt.neck, o.Work, o.PlanPin, tt.work, tt.plan, source, says(o.Reasons))
		}
	}
}

func TestOtherTypesPlays(t *testing.T) {
	least := record.TypeAdded{Part: record.FifthWheel, Name: "other", Source: doc, Dimensions: []record.Dimension{
		{Name: "play-least", Limit: "0.0625 in", Sense: "min"}, {Name: "play-adjust", Limit: "3.2 mm", Sense: "max"}}}
	step := record.TypeAdded{Part: record.FifthWheel, Name: "step", Source: doc, Dimensions: []record.Dimension{
		{Name: "play-base", Limit: "0.3 mm", Sense: "min"}, {Name: "play-adjust", Limit: "0.080 in", Sense: "max"}, {Name: "play-most", Limit: "4 mm", Sense: "max"}}}
	for _, tt := range []struct {
		wheel  record.TypeAdded
		lock   string
		want   wear.LockState
		source string
	}{
		{least, "1.2 mm", wear.LockTight, "handbook chapter 05, check value 37"},
		{least, "1.59 mm", wear.LockFit, "1/16 in = 1.5875 mm must remain"},
		{least, "1.58 mm", wear.LockTight, "1/16 in = 1.5875 mm must remain"},
		{step, "2.1 mm", wear.LockAdjust, "handbook chapter 05, check value 36"},
		{step, "2.03 mm", wear.LockFit, "0.080 in = 2.032 mm is not exceeded"},
	} {
		r := maintenance.Regime{Countries: []string{"us-ut"}, Pin: 50, Types: []record.TypeAdded{europe("50"), tt.wheel}}
		o := judged(t, r, func(f *maintenance.Filled) { put(f, maintenance.LockPlay, tt.lock, tt.lock) })
		if o.Diagnosis.Lock != tt.want {
			t.Errorf("%s, lock %s: %v, want %v (%s) %v", tt.wheel.Name, tt.lock, o.Diagnosis.Lock, tt.want, tt.source, o.Missing)
		}
		if tt.want == wear.LockAdjust && (o.Verdict < maintenance.Repair || !slices.Contains(o.Work, maintenance.AdjustLockWork)) {
			t.Errorf("%s: %v %v", tt.lock, o.Verdict, o.Work)
		}
	}
}

func TestMustNotIsSaidWhereItMatters(t *testing.T) {
	if o := judged(t, german(), nil); len(o.MustNot) != 0 {
		t.Error("nothing to do, and told what must not be done")
	}
	for name, change := range map[string]func(*maintenance.Filled){"pin wear": plays("2.6 mm", "49.6 mm", "left"), "adjust": plays("2.6 mm", "50.8 mm", "left")} {
		if o := judged(t, german(), change); len(o.MustNot) == 0 {
			t.Errorf("%s: not told what must not be done (handbook chapter 05, 6.2)", name)
		}
	}
}

func TestMissingDataNeverPasses(t *testing.T) {
	full := judged(t, german(), nil)
	if full.Verdict != maintenance.Serviceable {
		t.Fatalf("the whole sheet is %v: %v %v", full.Verdict, says(full.Reasons), full.Missing)
	}
	sheet := maintenance.NewSheet(maintenance.SheetAsk{Halves: allHalves, Regime: german()})
	tried := 0
	for _, r := range sheet.Rows {
		if !r.Must || r.Measure.Key == maintenance.LockPlay { // the lock follows from play and pin
			continue
		}
		tried++
		o := judged(t, german(), func(f *maintenance.Filled) { delete(f.Readings, r.Measure.Key) })
		if !o.Verdict.Blocks() || len(o.Missing) == 0 {
			t.Errorf("without %s: %v, missing %v", r.Measure.Key, o.Verdict, o.Missing)
		}
	}
	for _, l := range sheet.Looks {
		tried++
		o := judged(t, german(), func(f *maintenance.Filled) { delete(f.Looks, l.Key) })
		if !o.Verdict.Blocks() || len(o.Missing) == 0 {
			t.Errorf("without a look at %s: %v", l.Key, o.Verdict)
		}
	}
	if tried < 20 {
		t.Errorf("left out %d things only", tried)
	}
	for name, types := range map[string][]record.TypeAdded{"no type at all": nil, "pin alone": {europe("50")}, "coupling alone": {wheel("2.0 mm", "2.0 mm")}} {
		r := german()
		r.Types = types
		if o := judged(t, r, nil); o.Verdict != maintenance.CannotTell {
			t.Errorf("%s: %v (no stored type data is never a default pass)", name, o.Verdict)
		}
	}
	noSource := europe("50")
	noSource.Source = record.Source{}
	r := german()
	r.Types = []record.TypeAdded{noSource, wheel("2.0 mm", "2.0 mm")}
	if o := judged(t, r, nil); o.Verdict != maintenance.CannotTell {
		t.Errorf("a type record without a document certifies: %v", o.Verdict)
	}
}

// TestHardStops finds each hard stop in turn.
func TestHardStops(t *testing.T) {
	stops := maintenance.HardStops()
	if len(stops) < 15 {
		t.Fatalf("%d hard stops (handbook chapter 05, 4.4)", len(stops))
	}
	for _, l := range stops {
		if l.Slider {
			continue
		}
		if o := judged(t, german(), func(f *maintenance.Filled) { f.Looks[l.Key] = maintenance.Found }); o.Verdict != maintenance.DoNotUse {
			t.Errorf("%s: %v", l.Key, o.Verdict)
		}
	}
}

// TestWhatIsNotFitted answers so of each thing in turn: what not every coupling
// has may be left out, the rest not.
func TestWhatIsNotFitted(t *testing.T) {
	sheet := maintenance.NewSheet(maintenance.SheetAsk{Halves: allHalves, Regime: german()})
	may := []string{"catch-off", "indicator-out", "display-open", "wedge-unfit", "liner-worn", "lever-stop", "pad-torn", "paint-line"}
	for _, l := range sheet.Looks {
		o := judged(t, german(), func(f *maintenance.Filled) { f.Looks[l.Key] = maintenance.NotFitted })
		if want := slices.Contains(may, l.Key); (o.Verdict == maintenance.Serviceable) != want || o.Verdict.Blocks() == want {
			t.Errorf("%s not fitted: %v", l.Key, o.Verdict)
		}
	}
}

func TestHalvesOfASubject(t *testing.T) {
	today := day(2026, 11, 25)
	one := func(halves ...maintenance.Half) maintenance.Inspection {
		s := maintenance.NewSheet(maintenance.SheetAsk{Halves: halves, Regime: german()})
		return maintenance.Inspection{Sheet: s, Filled: good(s)}
	}
	for _, tt := range []struct {
		of      maintenance.Subject
		sheets  []maintenance.Inspection
		verdict maintenance.Verdict
		lacking []maintenance.Half
	}{
		{maintenance.OfTrailer, []maintenance.Inspection{one(maintenance.Trailer)}, maintenance.Serviceable, nil},
		{maintenance.OfTractor, []maintenance.Inspection{one(maintenance.Tractor)}, maintenance.CannotTell, []maintenance.Half{maintenance.Pair}},
		{maintenance.OfTractor, []maintenance.Inspection{one(maintenance.Tractor), one(maintenance.Pair)}, maintenance.Serviceable, nil},
		{maintenance.OfPair, []maintenance.Inspection{one(maintenance.Pair)}, maintenance.CannotTell, []maintenance.Half{maintenance.Tractor, maintenance.Trailer}},
		{maintenance.OfPair, []maintenance.Inspection{one(maintenance.Tractor), one(maintenance.Trailer), one(maintenance.Pair)}, maintenance.Serviceable, nil},
		{maintenance.OfPair, nil, maintenance.CannotTell, []maintenance.Half{maintenance.Tractor, maintenance.Trailer, maintenance.Pair}},
	} {
		o := maintenance.Judge(maintenance.JudgeAsk{Of: tt.of, Sheets: tt.sheets, Regime: german(), Today: today})
		if o.Verdict != tt.verdict || !slices.Equal(o.Lacking, tt.lacking) {
			t.Errorf("%s by %d sheets: %v, lacking %v; want %v, %v; %v", tt.of, len(tt.sheets), o.Verdict, o.Lacking, tt.verdict, tt.lacking, o.Missing)
		}
	}
	o := maintenance.Judge(maintenance.JudgeAsk{Of: maintenance.OfTrailer, Sheets: []maintenance.Inspection{one(maintenance.Trailer)}, Regime: german(), Today: today,
		Blocks: maintenance.BlockAfter("jack-knife", []maintenance.Asset{"part/pin-1"})})
	if o.Verdict != maintenance.DoNotUse {
		t.Errorf("an unchecked jack-knife: %v", o.Verdict)
	}
}

func TestRepairBounds(t *testing.T) {
	sheet := maintenance.NewSheet(maintenance.SheetAsk{Halves: allHalves, Regime: german()})
	f := good(sheet)
	f.Looks["dry"] = maintenance.Found
	ask := maintenance.JudgeAsk{Of: maintenance.OfPair, Sheets: []maintenance.Inspection{{Sheet: sheet, Filled: f}}, Regime: german(), Today: day(2026, 1, 31)}
	o := maintenance.Judge(ask)
	if o.Repair == nil || o.Repair.On != day(2026, 2, 28) || o.Repair.Distance != 5000*km || o.Repair.Evidence != "practice" {
		t.Errorf("%+v; want the greasing interval, clamped to the month's end", o.Repair)
	}
	ask.Allowed = maintenance.Bound{On: day(2026, 2, 10), Distance: 3000 * km, Evidence: "read", Source: "fleet"}
	ask.Forecast = maintenance.Bound{On: day(2026, 3, 1), Distance: 2000 * km, Source: "forecast"}
	if o := maintenance.Judge(ask); o.Repair == nil || o.Repair.On != day(2026, 2, 10) || o.Repair.Distance != 2000*km {
		t.Errorf("%+v; want the allowed day and the forecast's distance", o.Repair)
	}
}

func TestMayAdjust(t *testing.T) {
	yes := map[string]bool{}
	if ok, no := maintenance.MayAdjust(yes); ok || len(no) != len(maintenance.Prerequisites()) {
		t.Errorf("nothing answered: %v, %v", ok, no)
	}
	for _, p := range maintenance.Prerequisites() {
		yes[p.Key] = true
	}
	if ok, no := maintenance.MayAdjust(yes); !ok || len(no) != 0 {
		t.Errorf("all answered: %v, %v", ok, no)
	}
	for _, p := range maintenance.Prerequisites() {
		yes[p.Key] = false
		if ok, no := maintenance.MayAdjust(yes); ok || len(no) != 1 || no[0] != p.Name {
			t.Errorf("without %s: %v, %v (handbook chapter 05, 6.2: all must be true)", p.Key, ok, no)
		}
		yes[p.Key] = true
	}
	if len(maintenance.MustNot()) < 6 {
		t.Error("what must not be done is missing")
	}
}

func TestPartnersToCheck(t *testing.T) {
	met := []record.Partner{{Part: "part/a", Since: 10, Last: 20}, {Part: "part/b", Since: 30, Last: 40}, {Part: "part/c", Since: 15, Last: 0}}
	for _, tt := range []struct {
		lastGood record.Time
		want     []record.Asset
	}{
		{25, []record.Asset{"part/b", "part/c"}}, {0, []record.Asset{"part/a", "part/b", "part/c"}}, {40, []record.Asset{"part/c"}},
	} {
		var got []record.Asset
		for _, p := range maintenance.PartnersToCheck(met, tt.lastGood) {
			got = append(got, p.Part)
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("since %d: %v, want %v", tt.lastGood, got, tt.want)
		}
	}
	if o := judged(t, german(), plays("2.5 mm", "49.0 mm", "left")); !slices.Equal(o.Partners, []string{record.Kingpin}) {
		t.Errorf("a worn-out pin: look at the partners of %v", o.Partners)
	}
	if o := judged(t, german(), nil); len(o.Partners) != 0 {
		t.Errorf("nothing worn, and partners of %v", o.Partners)
	}
}

func TestGuardBandMovesNoVerdict(t *testing.T) {
	three := int64(100)
	for _, tt := range []struct {
		neck    string
		error   *int64
		verdict maintenance.Verdict
		guard   bool
	}{
		{"49.04 mm", nil, maintenance.Advisory, true}, {"49.06 mm", nil, maintenance.Advisory, false}, {"49.06 mm", &three, maintenance.Advisory, true},
		{"48.97 mm", nil, maintenance.DoNotUse, true},
	} {
		o := judged(t, german(), func(f *maintenance.Filled) {
			put(f, maintenance.PinNeck, tt.neck, tt.neck)
			f.Instrument.ErrorUM = tt.error
		})
		for _, h := range o.Held {
			if h.Measure == maintenance.PinNeck && (h.Guard != 0) != tt.guard {
				t.Errorf("%s: guard %g (handbook chapter 05, section 9: shown beside the reading)", tt.neck, h.Guard)
			}
		}
		if o.Verdict != tt.verdict {
			t.Errorf("%s: %v, want %v (the guard band does not move the verdict)", tt.neck, o.Verdict, tt.verdict)
		}
	}
}

func TestRemarks(t *testing.T) {
	for country, want := range map[string]int{"de": 1, "us-md": 2, "ca-qc": 1, "nz": 1, "au": 1, "uk": 1, "jp": 0} {
		if got := (maintenance.Regime{Countries: []string{country}}).Remarks(); len(got) != want {
			t.Errorf("%s: %d remarks, want %d", country, len(got), want)
		}
	}
	r := german()
	r.Countries = nil
	if o := judged(t, r, nil); o.Verdict != maintenance.CannotTell {
		t.Errorf("no country: %v; its law is missing", o.Verdict)
	}
}

func TestSizesOfPinAndJaw(t *testing.T) {
	r, ninety := german(), int64(90)
	big := wheel("2.0 mm", "2.0 mm")
	big.Ratings.Pin = &ninety
	r.Types = []record.TypeAdded{europe("50"), big}
	if o := judged(t, r, nil); o.Verdict != maintenance.DoNotUse {
		t.Errorf("a 50 mm pin in a 90 mm jaw: %v (handbook chapter 05, 1.2: corresponding size, no adaptor)", o.Verdict)
	}
}

// TestLawAloneIsNoPass drives in Maryland with a pin whose type nobody entered:
// the law's 1/8 in is kept, and that is not enough.
func TestLawAloneIsNoPass(t *testing.T) {
	r := maintenance.Regime{Countries: []string{"us-md"}, Pin: 50, Types: []record.TypeAdded{wheel("2.0 mm", "2.0 mm")}}
	if o := judged(t, r, nil); o.Verdict != maintenance.CannotTell {
		t.Errorf("%v: %v", o.Verdict, says(o.Reasons))
	}
	r.Types = append(r.Types, europe("50"))
	if o := judged(t, r, nil); o.Verdict != maintenance.Serviceable {
		t.Errorf("%v: %v, missing %v", o.Verdict, says(o.Reasons), o.Missing)
	}
}

func TestValuesHaveWords(t *testing.T) {
	for _, x := range []maintenance.Text{maintenance.Tractor.Text(), maintenance.LockPoint.Text(), maintenance.Central.Text(), maintenance.Law.Text(), maintenance.AtOrBelow.Text(),
		maintenance.ByWear.Text(), maintenance.HardStop.Text(), maintenance.OfPair.Text(), maintenance.AirRelease.Text(), maintenance.LifeAdjusts.Text(), maintenance.HoldsUnproven.Text(),
		maintenance.ApproachHigh.Text(), maintenance.DueSoon.Text(), maintenance.DoNotUse.Text()} {
		found := slices.ContainsFunc(maintenance.Texts(), func(y maintenance.Text) bool { return x == y })
		if !found || x.English == "" {
			t.Errorf("%+v is not among the texts", x)
		}
	}
}
