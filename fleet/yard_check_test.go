package fleet

import (
	"encoding/json"
	"strings"
	"testing"

	"underpin/record"
	"underpin/rule"
	yardcard "underpin/yard"
)

// checkID is an id such as a phone makes.
func checkID(n int) record.ID {
	return record.NewID(morning, [10]byte{9, 9, 9, 9, 0, 0, byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)})
}

// answered is a check in which each step got the answer that lets go on.
func answered(t testing.TB, flow yardcard.Flow, id record.ID, tractor, trailer record.Asset, began record.Time) yardcard.Check {
	t.Helper()
	ahead := int64(0)
	k := yardcard.Check{ID: id, Edition: yardcard.Edition, Flow: flow, Country: "de", Language: yardcard.English, Tractor: yardcard.Vehicle{Asset: tractor}, Trailer: yardcard.Vehicle{Asset: trailer},
		Phone: "p1", Clock: yardcard.Clock{Ahead: &ahead}, Began: began, Allowed: yardcard.Allowed{Says: rule.Fits}}
	card, err := yardcard.NewCard(flow, k.Pair())
	if err != nil {
		t.Fatal(err)
	}
	at := began
	for _, s := range card.Steps() {
		at += 20 * 1_000_000
		a := yardcard.Answer{Step: s.Key, At: at}
		n := int64(123_456)
		switch s.Ask.Kind {
		case yardcard.Seen:
			a.Seen = s.Ask.Safe
		case yardcard.Number:
			n = min(n, s.Ask.Most)
			a.Number = &n
		case yardcard.Words:
			a.Words = "Quay, row 4"
		case yardcard.Choice:
			a.Choice = s.Ask.Choices[0]
		case yardcard.Photo:
			continue
		}
		k.Answers = append(k.Answers, a)
	}
	k.Signed = &yardcard.Signature{Name: "somebody else", At: at}
	return k
}

// A coupling that was checked begins the coupled period at the time it was signed,
// once, however often the phone sends it; the drop ends it and says how the trailer
// was left.
func TestChecksMakePeriods(t *testing.T) {
	y := newYard(t)
	heron := y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": Text("heron-07")}}}).Asset
	marsh := y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.SemiTrailer, Fields: record.Fields{"id": Text("marsh-23")}}}).Asset
	y.clock.pass(3 * 3600e9)
	began := y.now() - 2*hour
	k := answered(t, yardcard.Restricted, checkID(1), heron, marsh, began)
	y.must(&EnterCheck{Check: k})
	if done := y.must(&EnterCheck{Check: k}); !done.Repeated {
		t.Error("sent twice it was entered twice")
	}
	p := y.vehiclePage(marsh)
	if len(p.Periods) != 1 || p.Periods[0].From != k.Signed.At || p.Periods[0].To != 0 || *p.Periods[0].FromBy.Metres != 123_456_000 {
		t.Fatalf("periods %+v", p.Periods)
	}
	c := p.Vehicle.Yard.Checks
	if len(c) != 1 || c[0].Signed != "test" || c[0].Doubted {
		t.Fatalf("check %+v", c)
	}
	var kept yardcard.Check
	if err := json.Unmarshal(c[0].Check, &kept); err != nil || len(kept.Answers) != len(k.Answers) {
		t.Errorf("the check as it was kept: %v", err)
	}
	y.must(&EnterCheck{Check: answered(t, yardcard.Drop, checkID(2), heron, marsh, began+hour)})
	p = y.vehiclePage(marsh)
	if len(p.Periods) != 1 || p.Periods[0].To == 0 || p.Periods[0].Dropped != "Quay, row 4" {
		t.Errorf("after the drop %+v", p.Periods)
	}
	d := p.Vehicle.Yard.Dropped
	if len(d) != 1 || d[0].Brake != "yes" || d[0].Lock != "yes" || d[0].Ground != "hard" || d[0].Load != "empty" {
		t.Errorf("dropped %+v", d)
	}
	forged := answered(t, yardcard.Couple, checkID(3), marsh, heron, began)
	if _, err := y.Do(y.ctx, &EnterCheck{Check: forged}); err == nil {
		t.Error("a trailer that tows was entered")
	}
}

// A defect of do-not-use is told on the card and in the fleet at once, and until a
// technician has closed it; a driver cannot.
func TestDefectStopsEverywhere(t *testing.T) {
	y := newYard(t)
	heron := y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": Text("heron-07")}}}).Asset
	held := func() (card, fleet, list bool) {
		h, err := y.YardHalf(t.Context(), heron) // nobody is signed in
		if err != nil {
			t.Fatal(err)
		}
		now, err := y.Fleet(y.ctx)
		if err != nil {
			t.Fatal(err)
		}
		all, err := y.NotInUse(y.ctx)
		if err != nil {
			t.Fatal(err)
		}
		return len(h.Blocks) == 1, len(now.Held["heron-07"]) == 1, len(all) == 1
	}
	d := yardcard.Defect{ID: checkID(1), Asset: heron, Words: "safety bent", DoNotUse: true, Name: "Ida", Phone: "p1", At: y.now()}
	y.must(&ReportDefect{Defect: d})
	if done := y.must(&ReportDefect{Defect: d}); !done.Repeated {
		t.Error("sent twice it was entered twice")
	}
	if card, fleet, list := held(); !card || !fleet || !list {
		t.Errorf("out of use: card %v, fleet %v, list %v", card, fleet, list)
	}
	driver := WithActor(t.Context(), Actor{Who: record.Who{Name: "Ida"}, Roles: []string{record.Driver}})
	if _, err := y.Do(driver, &CloseDefect{Vehicle: heron, Defect: d.ID, Done: "looked"}); err == nil || !strings.Contains(err.Error(), "Ida") {
		t.Errorf("a driver closed it: %v", err)
	}
	y.must(&CloseDefect{Vehicle: heron, Defect: d.ID, Done: "renewed"})
	if card, fleet, list := held(); card || fleet || list {
		t.Errorf("closed, and still out of use: card %v, fleet %v, list %v", card, fleet, list)
	}
}
