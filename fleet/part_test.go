package fleet

import (
	"errors"
	"strings"
	"sync"
	"testing"
	"time"

	"underpin/record"
)

const week = 7 * 24 * time.Hour

func TestPartLife(t *testing.T) {
	y := newYard(t)
	tractor, other, trailer := y.tractor("heron-07"), y.tractor("heron-08"), y.trailer("teal-23")
	wheel, pin := y.wheel("FW 1001"), y.pin("KP-1")
	depot := y.must(&AddDepot{Details: record.DepotAdded{Name: "North yard"}}).Asset
	then := Meta{Happened: y.at(4 * week)}
	fit := y.must(&FitPart{Meta: then, Part: wheel, Vehicle: tractor, Reading: odo(100_000)})
	if len(fit.Warnings) != 0 {
		t.Errorf("warnings: %v", fit.Warnings)
	}
	if w := y.must(&FitPart{Part: pin, Vehicle: trailer}).Warnings; len(w) != 0 {
		t.Errorf("a trailer without a meter: %v", w)
	}
	if w := y.must(&FitPart{Part: y.wheel("FW 1000"), Vehicle: y.tractor("heron-06")}).Warnings; len(w) != 1 || w[0].Where != "reading" {
		t.Errorf("a tractor whose odometer nobody read: %v", w)
	}
	for _, test := range []struct {
		name  string
		c     Command
		where string
		found string
	}{
		{"fitted twice", &FitPart{Part: wheel, Vehicle: other}, "happened", "fitted again"},
		{"a place that is taken", &FitPart{Part: y.wheel("FW 1002"), Vehicle: tractor}, "happened", "are both fitted as fifth-wheel"},
		{"before the other was removed", &FitPart{Meta: Meta{Happened: y.at(2 * week)}, Part: y.wheel("FW 1003"), Vehicle: tractor}, "happened", "both fitted"},
		{"a coupling on a trailer", &FitPart{Part: y.wheel("FW 1004"), Vehicle: trailer}, "vehicle", "a semi-trailer for a fifth-wheel"},
		{"a pin on a tractor", &FitPart{Part: y.pin("KP-2"), Vehicle: tractor}, "vehicle", "a tractor for a kingpin"},
		{"a pin as a coupling", &FitPart{Part: y.pin("KP-3"), Vehicle: tractor, Place: "fifth-wheel"}, "place", "fifth-wheel for a kingpin"},
		{"scrapped while fitted", &ScrapPart{Asset: wheel}, "asset", "fitted to"},
		{"removed before it was fitted", &RemovePart{Meta: Meta{Happened: y.at(5 * week)}, Part: wheel}, "happened", ""},
		{"removed from nowhere", &RemovePart{Part: y.wheel("FW 1005")}, "part", "not fitted"},
		{"the brake controller of a tractor", &RemovePart{Part: wheel, Reading: record.MeterReading{Meter: record.Brake, Metres: whole(1)}}, "reading.meter", "brake controller"},
		{"to no depot", &RemovePart{Part: wheel, Depot: "depot/none"}, "depot", "no depot"},
		{"a size that is none", &AddPart{Details: record.PartAdded{Part: record.Kingpin, Ratings: record.Ratings{Pin: whole(52)}, ReadFrom: "plate"}}, "pin_mm", "52 mm"},
		{"marked by nobody", &AddPart{Details: record.PartAdded{Part: record.Kingpin, Ratings: record.Ratings{Pin: whole(50)}}}, "read_from", "nothing"},
	} {
		if p := y.wrong(test.c); p.Where != test.where || !strings.Contains(p.Found, test.found) {
			t.Errorf("%s: %v, expected %s: found %s", test.name, p, test.where, test.found)
		}
	}
	y.must(&RemovePart{Meta: Meta{Happened: y.at(week)}, Part: wheel, Reading: odo(110_000), Depot: depot, Condition: "jaw worn"})
	y.must(&FitPart{Part: wheel, Vehicle: other, Reading: odo(500_000)})
	p := y.partPage(wheel)
	if len(p.Sat) != 2 || p.Sat[0].Vehicle != other || p.Sat[1].Vehicle != tractor {
		t.Fatalf("where it sat: %+v", p.Sat)
	}
	// Fitted at 100 000 km and removed at 110 000 km: the record's own readings tell.
	if ran := p.Sat[1].Ran; !ran.Whole() || ran.Known != 10_000_000 {
		t.Errorf("distance on the first tractor: %+v, expected 10 000 km and no gap", ran)
	}
	if ran := p.Sat[0].Ran; ran.Whole() {
		t.Errorf("distance on the second, where nothing was read since: %+v, expected a gap", ran)
	}
	if v := y.vehiclePage(tractor); len(v.Fitted) != 0 || len(v.Gone) != 1 || v.Gone[0].Title != "fifth-wheel FW 1001" {
		t.Errorf("the first tractor: %+v, %+v", v.Fitted, v.Gone)
	}
}

func TestSerials(t *testing.T) {
	y := newYard(t)
	source := record.Source{Document: "Instructions", Edition: "2024-05"}
	typ := y.must(&AddType{Details: record.TypeAdded{Part: record.FifthWheel, Name: "Type A", Ratings: record.Ratings{D: whole(152_000)}, Source: source}}).Asset
	add := func(typ record.Asset) *AddPart {
		return &AddPart{Details: record.PartAdded{Part: record.FifthWheel, Serial: "A-77", Type: typ}}
	}
	y.must(add(typ))
	if p := y.wrong(add(typ)); p.Where != "serial" {
		t.Errorf("the serial of the same type twice: %v", p)
	}
	if w := y.must(add("")).Warnings; len(w) != 1 || w[0].Where != "serial" {
		t.Errorf("the serial again, of a type that is not known: %v, expected a warning", w)
	}
	if p := y.wrong(&AddPart{Details: record.PartAdded{Part: record.Kingpin, Type: typ}}); p.Where != "type" {
		t.Errorf("a pin of a type of coupling: %v", p)
	}
}

func TestTypesNameTheirDocument(t *testing.T) {
	y := newYard(t)
	for _, test := range []struct {
		details record.TypeAdded
		where   string
	}{
		{record.TypeAdded{Intervals: []record.Interval{{Task: "grease", Months: whole(3)}}}, "source.document"},
		{record.TypeAdded{Torques: []record.Torque{{Where: "mounting bolts", Least: "270 N.m"}}, Source: record.Source{Document: "Instructions"}}, "source.edition"},
		{record.TypeAdded{Dimensions: []record.Dimension{{Name: "lock-wear", Source: record.Source{Document: "Sheet 4"}}}, Source: record.Source{Document: "Instructions", Edition: "1"}}, "dimensions[0].source.edition"},
		{record.TypeAdded{Ratings: record.Ratings{D: whole(152_000)}}, "source.document"},
		{record.TypeAdded{Ratings: record.Ratings{Pin: whole(49)}}, "pin_mm"},
	} {
		d := test.details
		d.Part, d.Name = record.FifthWheel, "Type A"
		if p := y.wrong(&AddType{Details: d}); p.Where != test.where {
			t.Errorf("%+v: %v, expected %s", d, p, test.where)
		}
	}
}

func TestNoticeToTheLastPart(t *testing.T) {
	y := newYard(t)
	in, out, bare := y.wheel("FW 1005"), y.wheel("FW 2005"), y.wheel("")
	y.must(&FitPart{Part: in, Vehicle: y.tractor("heron-07"), Reading: odo(1)})
	n := y.must(&OpenNotice{Details: record.NoticeOpened{Title: "Crack at the lock", Part: record.FifthWheel, Action: "Look for cracks",
		Ranges: []record.SerialRange{{From: "FW 1000", To: "FW 1999"}}}}).Asset
	open := func(want int) *NoticePage {
		t.Helper()
		all, err := y.OpenNotices(y.ctx)
		if err != nil {
			t.Fatal(err)
		}
		if want == 0 && len(all) == 0 {
			return nil
		}
		p, err := y.NoticePage(y.ctx, n)
		if err != nil || len(all) != 1 || p.Open != want || all[0].Open != want {
			t.Fatalf("%d notices, %d parts open (%v), expected %d", len(all), p.Open, err, want)
		}
		return p
	}
	p := open(2)
	for _, f := range p.Parts {
		if f.Part.Asset == out {
			t.Error("a part outside the range is listed")
		}
		if f.Part.Asset == bare && f.Match != record.CannotTell {
			t.Errorf("a part without serial: %v, expected cannot tell", f.Match)
		}
	}
	if v := y.vehiclePage(p.Parts[0].Part.Vehicle + p.Parts[1].Part.Vehicle); len(v.Notices) != 1 || v.Notices[0].Notice != n {
		t.Errorf("the tractor's page names the notice: %+v", v.Notices)
	}
	if p := y.wrong(&CloseNotice{Notice: n}); !strings.Contains(p.Found, "2 parts still open") {
		t.Errorf("closed too early: %v", p)
	}
	if p := y.wrong(&ClosePart{Notice: n, Part: out, Done: "looked"}); p.Where != "part" {
		t.Errorf("a part that it is not about: %v", p)
	}
	y.must(&ClosePart{Notice: n, Part: in, Done: "no crack"})
	if p := y.wrong(&ClosePart{Notice: n, Part: in, Done: "no crack"}); p.Where != "part" {
		t.Errorf("closed twice: %v", p)
	}
	y.must(&ClosePart{Notice: n, Part: bare, Done: "serial read: FW 3000"})
	y.must(&CloseNotice{Notice: n})
	open(0)
	// A part that comes to the register afterwards brings the notice back.
	late := y.wheel("FW 1500")
	open(1)
	y.must(&ScrapPart{Asset: late})
	open(0)
}

func TestCoupledPeriods(t *testing.T) {
	y := newYard(t)
	tractor, trailer := y.tractor("heron-07"), y.trailer("teal-23")
	wheel, pin := y.wheel("FW 1"), y.pin("KP 1")
	y.must(&FitPart{Meta: Meta{Happened: y.at(10 * week)}, Part: wheel, Vehicle: tractor, Reading: odo(100_000)})
	y.must(&FitPart{Meta: Meta{Happened: y.at(10 * week)}, Part: pin, Vehicle: trailer})
	couple := func(ago time.Duration, km int64) *Couple {
		return &Couple{Meta: Meta{Happened: y.at(ago)}, Towed: trailer, By: tractor, ByReading: odo(km), Place: "North yard"}
	}
	begun := y.must(couple(6*week, 110_000))
	if p := y.wrong(&ScrapVehicle{Asset: trailer}); !strings.Contains(p.Found, "coupled") {
		t.Errorf("scrapped while coupled: %v", p)
	}
	if p := y.wrong(&Uncouple{Meta: Meta{Happened: y.at(7 * week)}, Towed: trailer}); p.Where != "happened" {
		t.Errorf("uncoupled before it was coupled: %v", p)
	}
	if w := y.must(couple(5*week, 111_000)).Warnings; len(w) != 2 {
		t.Errorf("coupled again without an end: %v, expected a warning for each vehicle", w)
	}
	y.must(&Uncouple{Meta: Meta{Happened: y.at(4 * week)}, Towed: trailer, ByReading: odo(115_000), Place: "North yard"})
	if p := y.wrong(&Uncouple{Towed: trailer, Period: begun.Record, Meta: Meta{Happened: y.at(7 * week)}}); p.Where != "happened" {
		t.Errorf("the first period by its name, ended before it began: %v", p)
	}
	for _, test := range []struct {
		c     Command
		where string
	}{
		{&Couple{Towed: tractor, By: tractor}, "by"},
		{&Couple{Towed: tractor, By: y.tractor("heron-08")}, "towed"},
		{&Couple{Towed: trailer, By: y.trailer("teal-24")}, "by"},
		{&Couple{Towed: trailer, By: tractor, ByReading: hub(1), Reading: odo(1)}, "reading.meter"},
		{&Uncouple{Towed: y.trailer("teal-25")}, "towed"},
	} {
		if p := y.wrong(test.c); p.Where != test.where {
			t.Errorf("%+v: %v, expected %s", test.c, p, test.where)
		}
	}
	page := y.vehiclePage(trailer)
	if len(page.Periods) != 2 {
		t.Fatalf("%d periods", len(page.Periods))
	}
	// The pin ran 4 000 km in the second period; of the first nobody entered the end,
	// and before it nothing is known: these are gaps.
	sat := page.Fitted[0]
	if sat.Ran.Known != 4_000_000 || len(sat.Ran.Gaps) != 2 {
		t.Errorf("the pin: %.0f km, %d gaps: %+v", sat.Ran.Known.Metres()/1000, len(sat.Ran.Gaps), sat.Ran.Gaps)
	}
	partners := y.partPage(pin)
	if len(partners.Partners) != 1 || partners.Partners[0].Part != wheel || partners.Partners[0].Times != 2 || partners.Titles[wheel] == "" {
		t.Errorf("the pin's partners: %+v", partners.Partners)
	}
	if p := y.partPage(wheel); len(p.Partners) != 1 || p.Partners[0].Part != pin {
		t.Errorf("the coupling's partners: %+v", p.Partners)
	}
}

func TestCorrections(t *testing.T) {
	y := newYard(t)
	tractor, wheel := y.tractor("heron-07"), y.wheel("FW 1")
	fit := y.must(&FitPart{Part: wheel, Vehicle: tractor, Reading: odo(100_000)})
	if p := y.wrong(&Void{Record: fit.Record}); p.Where != "reason" {
		t.Errorf("a void without a reason: %v", p)
	}
	because := Meta{Reason: "wrong odometer"}
	right := record.PartFitted{Vehicle: tractor, Place: record.AtFifthWheel, Reading: odo(101_000)}
	fixed := y.must(&Correct{Meta: because, Record: fit.Record, Body: right})
	if got := y.partPage(wheel).Sat[0].FromReading; *got.Metres != 101_000_000 {
		t.Errorf("after the correction: %d m", *got.Metres)
	}
	if p := y.wrong(&Undo{Meta: because, Record: fit.Record}); p.Where != "record" {
		t.Errorf("undoing what was corrected since: %v", p)
	}
	if p := y.wrong(&Correct{Meta: because, Record: fit.Record, Body: record.PartScrapped{}}); p.Where != "body" {
		t.Errorf("another kind: %v", p)
	}
	undone := y.must(&Undo{Meta: because, Record: fixed.Record})
	if got := y.partPage(wheel).Sat[0].FromReading; *got.Metres != 100_000_000 {
		t.Errorf("after undoing the correction: %d m", *got.Metres)
	}
	y.must(&Undo{Meta: because, Record: undone.Record}) // and back again
	if got := y.partPage(wheel).Sat[0].FromReading; *got.Metres != 101_000_000 {
		t.Errorf("after undoing the undoing: %d m", *got.Metres)
	}
	// The addition of a part that has a history is not taken back.
	h, err := y.History(y.ctx, wheel, 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	added := h.Events[len(h.Events)-1].ID
	if p := y.wrong(&Void{Meta: because, Record: added}); !strings.Contains(p.Found, "rest on it") {
		t.Errorf("taking back the addition: %v", p)
	}
	y.must(&Void{Meta: because, Record: fit.Record})
	if p := y.partPage(wheel); len(p.Sat) != 0 {
		t.Errorf("after the void: %+v", p.Sat)
	}
	if p := y.wrong(&Void{Meta: because, Record: fit.Record}); !strings.Contains(p.Found, "took back") {
		t.Errorf("voided twice: %v", p)
	}
	y.must(&Void{Meta: because, Record: added})
	if all, err := y.Find(y.ctx, "FW 1", 10); err != nil || len(all) != 0 {
		t.Errorf("a part that was taken back is found: %+v, %v", all, err)
	}
	// A correction that names what is not there is refused.
	other := y.wheel("FW 2")
	sits := y.must(&FitPart{Part: other, Vehicle: tractor, Reading: odo(1)})
	for _, body := range []record.Body{
		record.PartFitted{Vehicle: "vehicle/none", Place: record.AtFifthWheel},
		record.PartFitted{Vehicle: tractor, Place: record.AtKingpin},
		record.PartFitted{Vehicle: tractor, Place: record.AtFifthWheel, Reading: record.MeterReading{Meter: record.Brake, Metres: whole(1)}},
	} {
		if _, err := y.Do(y.ctx, &Correct{Meta: because, Record: sits.Record, Body: body}); err == nil {
			t.Errorf("corrected to %+v", body)
		}
	}
	h, err = y.History(y.ctx, other, 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	if p := y.wrong(&Correct{Meta: because, Record: h.Events[1].ID, Body: record.PartAdded{Part: record.FifthWheel, Type: "type/none"}}); p.Where != "type" {
		t.Errorf("a type that is not there: %v", p)
	}
	// A correction that no vehicle could be is refused.
	h, err = y.History(y.ctx, tractor, 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	bad := y.numbered(tractorFields, "heron-07")
	bad["width"] = Text("25 m")
	if p := y.wrong(&Correct{Meta: because, Record: h.Events[len(h.Events)-1].ID, Body: record.VehicleAdded{Vehicle: record.Tractor, Fields: bad}}); p.Where != "width" {
		t.Errorf("an impossible correction: %v", p)
	}
}

// TestCorrectionThatContradicts: setting two records right may lead through a
// contradiction, which is told and not refused.
func TestCorrectionThatContradicts(t *testing.T) {
	y := newYard(t)
	tractor := y.tractor("heron-07")
	one, two := y.wheel("FW 1"), y.wheel("FW 2")
	y.must(&FitPart{Meta: Meta{Happened: y.at(4 * week)}, Part: one, Vehicle: tractor, Reading: odo(1)})
	removed := y.must(&RemovePart{Meta: Meta{Happened: y.at(2 * week)}, Part: one, Reading: odo(2)})
	y.must(&FitPart{Meta: Meta{Happened: y.at(week)}, Part: two, Vehicle: tractor, Reading: odo(3)})
	done := y.must(&Void{Meta: Meta{Reason: "it was another"}, Record: removed.Record})
	if len(done.Warnings) == 0 || !strings.Contains(done.Warnings[0].Found, "both fitted") {
		t.Errorf("warnings: %v", done.Warnings)
	}
	if p := y.vehiclePage(tractor).Vehicle.Problems; len(p) == 0 {
		t.Error("the page does not name the contradiction")
	}
}

func TestConflictLosesNothing(t *testing.T) {
	y := newYard(t)
	a := y.tractor("heron-07")
	before := y.vehiclePage(a)
	typed := func(change func(*record.VehicleAdded)) record.VehicleAdded {
		d := y.vehiclePage(a).Vehicle.VehicleAdded
		change(&d)
		return d
	}
	mine := typed(func(d *record.VehicleAdded) { d.Registration = "OS HE 7"; d.Fields["width"] = Text("2550 mm") })
	theirs := typed(func(d *record.VehicleAdded) { d.Registration = "OS HE 8"; d.VIN = "X1" })
	// Something else happening to the vehicle is no conflict.
	y.must(&FitPart{Part: y.wheel("FW 1"), Vehicle: a, Reading: odo(1)})
	second := Actor{Who: record.Who{Name: "Bea"}, Roles: []string{record.Engineer}}
	if _, err := y.Do(y.as(second), &ChangeVehicle{Asset: a, Version: before.Version, Details: theirs}); err != nil {
		t.Fatal(err)
	}
	command := &ChangeVehicle{Asset: a, Version: before.Version, Details: mine}
	_, err := y.Do(y.ctx, command)
	c, ok := errors.AsType[*Conflict](err)
	if !ok {
		t.Fatalf("%v, expected a *Conflict", err)
	}
	if c.Who.Name != "Bea" || c.Typed != Command(command) || !strings.Contains(err.Error(), "registration") {
		t.Errorf("conflict: %v, typed %v", err, c.Typed)
	}
	want := map[string]Difference{
		"registration": {"registration", nil, Text("OS HE 8"), Text("OS HE 7"), true},
		"vin":          {"vin", nil, Text("X1"), nil, false},
		"width":        {"width", nil, nil, Text("2550 mm"), false},
	}
	if len(c.Fields) != len(want) {
		t.Errorf("differences %+v", c.Fields)
	}
	for _, d := range c.Fields {
		w := want[d.Field]
		if !same(d.Was, w.Was) || !same(d.Theirs, w.Theirs) || !same(d.Yours, w.Yours) || d.Clash != w.Clash {
			t.Errorf("%s: %s, %s, %s, %v", d.Field, d.Was, d.Theirs, d.Yours, d.Clash)
		}
	}
	if got := y.vehiclePage(a).Vehicle.Registration; got != "OS HE 8" {
		t.Errorf("registration %q: the first one's change was lost", got)
	}
	// Sent once more with the version that stands it goes through.
	command.Version = c.Version
	y.must(command)
	if _, err := y.Do(y.ctx, &ChangeVehicle{Asset: a, Version: "0123", Details: theirs}); err == nil {
		t.Error("a version that never was passed")
	}
	if p := y.wrong(&ChangeVehicle{Asset: a, Details: theirs}); p.Where != "version" {
		t.Errorf("no version: %v", p)
	}
}

func TestSendingTwice(t *testing.T) {
	y := newYard(t)
	id, err := y.newID()
	if err != nil {
		t.Fatal(err)
	}
	add := func() *AddVehicle {
		return &AddVehicle{Meta: Meta{ID: id}, Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: y.numbered(tractorFields, "heron-07")}}
	}
	first := y.must(add())
	y.clock.pass(time.Hour)
	again := y.must(add())
	if first.Repeated || !again.Repeated || again.Asset != first.Asset || again.Record != first.Record {
		t.Errorf("first %+v, again %+v", first, again)
	}
	if _, err := y.Do(y.ctx, &AddDepot{Meta: Meta{ID: id}, Details: record.DepotAdded{Name: "Yard"}}); err == nil {
		t.Error("the id with another command passed")
	}
	if _, err := y.Do(y.ctx, &AddDepot{Meta: Meta{ID: "none"}, Details: record.DepotAdded{Name: "Yard"}}); err == nil {
		t.Error("an id that is none passed")
	}
}

// TestSendingTwiceAtOnce: the same command from two hands at the same time is
// entered once, also where it makes several records and a link.
func TestSendingTwiceAtOnce(t *testing.T) {
	y := newYard(t)
	id, err := y.newID()
	if err != nil {
		t.Fatal(err)
	}
	const hands = 4
	var wg sync.WaitGroup
	all, errs := make([]*Done, hands), make([]error, hands)
	for i := range hands {
		wg.Go(func() {
			all[i], errs[i] = y.Do(y.ctx, &AddAccount{Meta: Meta{ID: id}, Name: "Ann", Login: "ann", Roles: []string{record.Manager}})
		})
	}
	wg.Wait()
	links := 0
	for i, done := range all {
		if errs[i] != nil {
			t.Errorf("%v", errs[i])
			continue
		}
		if done.Secret != "" {
			links++
			if _, err := y.LinkFor(y.ctx, done.Secret); err != nil {
				t.Errorf("a link that does not work: %v", err)
			}
		}
		if done.Asset != all[0].Asset || done.Repeated != (done.Secret == "") {
			t.Errorf("%+v", done)
		}
	}
	if links != 1 {
		t.Errorf("%d links, expected one", links)
	}
}

// TestClockSetBack: a little is made good, more is refused with a plain error, and
// nothing is entered.
func TestClockSetBack(t *testing.T) {
	y := newYard(t)
	a := y.tractor("heron-07")
	y.clock.pass(-30 * time.Second)
	w := y.wheel("FW 1")
	y.must(&FitPart{Part: w, Vehicle: a, Reading: odo(1)})
	y.clock.pass(-2 * time.Hour)
	before := y.vehiclePage(a)
	d := before.Vehicle.VehicleAdded
	d.Registration = "X"
	_, err := y.Do(y.ctx, &ChangeVehicle{Asset: a, Version: before.Version, Details: d})
	if !errors.Is(err, record.ErrClock) {
		t.Fatalf("%v, expected that the clock is behind", err)
	}
	if y.vehiclePage(a).Vehicle.Registration != "" {
		t.Error("it was entered nevertheless")
	}
	y.clock.pass(3 * time.Hour)
	y.must(&ChangeVehicle{Asset: a, Version: before.Version, Details: d})
}
