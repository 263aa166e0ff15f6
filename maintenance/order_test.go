package maintenance_test

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/maintenance"
	"underpin/record"
	"underpin/unit"
)

// withTorque is the wheel's type record with a torque from a document.
func withTorque() maintenance.Regime {
	r := german()
	w := wheel("2.0 mm", "2.0 mm")
	w.Torques = []record.Torque{{Where: "pin flange", Thread: "M14", Grade: "10.9", Least: "190 N.m"}, {Where: "pad screws", Least: "270 N.m", Most: "300 N.m"}, {Where: "unreadable", Least: "hand tight"}}
	r.Types = []record.TypeAdded{europe("50"), w}
	return r
}

// signAll signs every step but those left out.
func signAll(o maintenance.Order, but ...string) (out []maintenance.Signature) {
	for _, it := range o.Items {
		for _, s := range it.Steps {
			if !slices.Contains(but, s.Key) {
				out = append(out, maintenance.Signature{Step: s.Key, Who: record.Who{Name: "A. Weber"}, At: 1})
			}
		}
	}
	return out
}

func TestRoundOfRepair(t *testing.T) {
	regime := withTorque()
	worn := judged(t, regime, plays("2.5 mm", "49.0 mm", "left"))
	after := judged(t, regime, nil)
	order := maintenance.NewOrder(worn, regime.Types)
	var keys []string
	for _, it := range order.Items {
		keys = append(keys, it.Work.Key)
		if !it.Blocking || len(it.Because) == 0 || len(it.Steps) == 0 {
			t.Errorf("%s: blocking %v, because %v", it.Work.Key, it.Blocking, it.Because)
		}
	}
	if want := []string{maintenance.ReplacePinWork, maintenance.SetLockWork}; !slices.Equal(keys, want) {
		t.Fatalf("items %v, want %v (handbook chapter 05, 6.1 R2: pin, then set the lock)", keys, want)
	}
	if len(order.Torques) != 2 || len(order.Problems) != 1 || len(order.MustNot) == 0 {
		t.Errorf("torques %+v, problems %v", order.Torques, order.Problems)
	}
	near(t, "setting of a range", float64(order.Torques[1].Setting), 285, 1e-9, "hand: the middle of 270 and 300")

	for _, tt := range []struct {
		name     string
		signed   []maintenance.Signature
		after    *maintenance.Outcome
		returned bool
	}{
		{"nothing done", nil, nil, false},
		{"all signed, not measured", signAll(order), nil, false},
		{"measured, one step not signed", signAll(order, "replace-pin/3"), &after, false},
		{"old fasteners", signAll(order, "replace-pin/fasteners"), &after, false},
		{"torque not signed", signAll(order, "replace-pin/torque"), &after, false},
		{"lock not set", signAll(order, "set-lock/2"), &after, false},
		{"still worn", signAll(order), &worn, false},
		{"all closed", signAll(order), &after, true},
	} {
		if r := order.Return(tt.signed, tt.after); r.Returned != tt.returned || r.Returned != (len(r.Open) == 0) {
			t.Errorf("%s: returned %v, open %v", tt.name, r.Returned, r.Open)
		}
	}
	r := order.Return(signAll(order), &after)
	if len(r.Lives) != 2 {
		t.Fatalf("lives %+v", r.Lives)
	}
	pin, lock := r.Lives[0], r.Lives[1]
	if pin.Part != record.Kingpin || pin.Rule != maintenance.LifeStarts || lock.Part != record.FifthWheel || lock.Rule != maintenance.LifeAdjusts {
		t.Errorf("lives %+v (a new pin is a new life, an adjustment is not)", r.Lives)
	}
	near(t, "new neck", pin.New.Millimetres(), 50.6, 1e-9, "hand: as measured afterwards")
	near(t, "play taken up", lock.Taken.Millimetres(), (2.5-1.8)-0.6, 1e-9, "hand: 0.7 with a true pin before, 0.6 after")
	old := maintenance.Moment{At: 400_000 * km, Size: unit.Length(49.0 * mm)}
	l := maintenance.LifeOf(unit.Length(50.8*mm), []maintenance.Moment{old, pin.Moment(400_000 * km), {At: 450_000 * km, Size: unit.Length(50.45 * mm)}})
	if l.Earlier != 1 || len(l.Readings) != 1 || l.Readings[0].Distance != 50_000*km {
		t.Errorf("the pin's life afterwards: %+v", l)
	} else {
		near(t, "wear of the new pin", l.Readings[0].Wear.Millimetres(), 0.15, 1e-9, "hand: 50.60 − 50.45")
	}
	l = maintenance.LifeOf(unit.Length(0.3*mm), []maintenance.Moment{{At: 400_000 * km, Size: unit.Length(0.7 * mm), Grows: true}, lock.Moment(400_000 * km), {At: 450_000 * km, Size: unit.Length(0.8 * mm), Grows: true}})
	if l.Earlier != 0 || len(l.Readings) != 2 {
		t.Errorf("the lock's life afterwards: %+v", l)
	} else {
		near(t, "wear of the lock", l.Readings[1].Wear.Millimetres(), 0.6, 1e-9, "hand: 0.8 − 0.3 and 0.1 taken up")
	}
	lost := lock
	lost.Taken = unit.Length(math.NaN())
	if l := maintenance.LifeOf(unit.Length(0.3*mm), []maintenance.Moment{lost.Moment(400_000 * km), {At: 450_000 * km, Size: unit.Length(0.8 * mm), Grows: true}}); len(l.Readings) != 0 || l.Left != 1 {
		t.Errorf("nobody knows what was taken up, and yet: %+v", l)
	}
	no := signAll(order)
	for i := range no {
		if no[i].Step == "set-lock/true-pin" {
			no[i].No = true
		}
	}
	if r := order.Return(no, &after); r.Returned {
		t.Error("set without a true pin, and returned (handbook chapter 05, 6.2)")
	}
	bare := german()
	order = maintenance.NewOrder(worn, bare.Types)
	if r := order.Return(signAll(order), &after); r.Returned {
		t.Error("returned without a torque from a document (handbook chapter 06, A2.5)")
	}
}

func TestOnlyClosedOrdersReturn(t *testing.T) {
	regime := withTorque()
	after := judged(t, regime, nil)
	order := maintenance.NewOrder(judged(t, regime, plays("4.0 mm", "49.0 mm", "none")), regime.Types)
	all := signAll(order)
	rapid.Check(t, func(t *rapid.T) {
		var some []maintenance.Signature
		for i, s := range all {
			if rapid.Bool().Draw(t, fmt.Sprint(i)) {
				some = append(some, s)
			}
		}
		if r := order.Return(some, &after); r.Returned != (len(some) == len(all)) {
			t.Fatalf("%d of %d signed, returned %v", len(some), len(all), r.Returned)
		}
	})
}

func TestNothingToRepairIsNoReturn(t *testing.T) {
	blind := judged(t, german(), func(f *maintenance.Filled) { delete(f.Looks, "gap") })
	if o := maintenance.NewOrder(blind, nil); len(o.Items) != 0 || o.Return(nil, nil).Returned {
		t.Error("a sheet that cannot tell returned to service without another")
	}
	dry := judged(t, german(), func(f *maintenance.Filled) { f.Looks["dry"] = maintenance.Found })
	o := maintenance.NewOrder(dry, nil)
	if len(o.Items) != 1 || o.Items[0].Blocking || o.Items[0].Latest == nil {
		t.Fatalf("%+v", o.Items)
	}
	if r := o.Return(nil, nil); !r.Returned {
		t.Errorf("a repair that may wait keeps it out: %v", r.Open)
	}
}

func TestEveryRepairIsWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, w := range maintenance.Works() {
		if seen[w.Key] || w.Name.English == "" || len(w.Steps) == 0 || w.Life == "" || w.Half == "" {
			t.Errorf("%s is not whole, or stands twice", w.Key)
		}
		seen[w.Key] = true
		if w.Life == maintenance.LifeStarts && w.Part == "" && w.Key != maintenance.RenewDimension {
			t.Errorf("%s begins the life of nothing", w.Key)
		}
		for _, m := range w.Remeasure {
			if _, ok := maintenance.FindMeasure(m); !ok {
				t.Errorf("%s measures %s again, which is no measure", w.Key, m)
			}
		}
	}
	for _, s := range maintenance.Symptoms() {
		for _, c := range s.Causes {
			if c.Work != "" && !seen[c.Work] {
				t.Errorf("%s: no repair %s", c.Key, c.Work)
			}
			if _, ok := maintenance.FindMeasure(c.Measure); c.Measure != "" && !ok {
				t.Errorf("%s: no measure %s", c.Key, c.Measure)
			}
		}
	}
}

func TestLives(t *testing.T) {
	nan := unit.Length(math.NaN())
	at := func(x float64, size float64) maintenance.Moment {
		return maintenance.Moment{At: unit.Length(x) * 1000 * km, Size: unit.Length(size * mm), New: nan}
	}
	play := func(x float64, size float64) maintenance.Moment {
		m := at(x, size)
		m.Grows = true
		return m
	}
	pin := unit.Length(50.8 * mm)
	for _, tt := range []struct {
		name     string
		new      unit.Length
		history  []maintenance.Moment
		wear     []float64 // mm
		distance []float64 // 1000 km
		earlier  int
		left     int
		source   string
	}{
		{"one pin", pin, []maintenance.Moment{at(0, 50.8), at(100, 50.5), at(200, 50.2)}, []float64{0, 0.3, 0.6}, []float64{0, 100, 200}, 0, 0, "handbook chapter 05, section 8"},
		{"a new pin is a new life", pin, []maintenance.Moment{at(100, 50.5), at(200, 49.0), {At: 200_000 * km, Size: nan, Rule: maintenance.LifeStarts, New: nan}, at(250, 50.7)}, []float64{0.1}, []float64{50}, 1, 0, "handbook chapter 06, B1.1"},
		{"the reading that comes with the replacement is the old pin's", pin, []maintenance.Moment{{At: 200_000 * km, Size: unit.Length(49.0 * mm), Rule: maintenance.LifeStarts, New: unit.Length(50.7 * mm)}, at(300, 50.4)}, []float64{0.3}, []float64{100}, 1, 0, "hand: 50.7 − 50.4"},
		{"an adjustment is none", unit.Length(0.3 * mm), []maintenance.Moment{play(0, 0.3), play(50, 1.3), play(100, 2.1),
			{At: 100_000 * km, Size: nan, Rule: maintenance.LifeAdjusts, Taken: unit.Length(1.7 * mm), New: nan}, play(100, 0.4), play(150, 1.4)},
			[]float64{0, 1.0, 1.8, 1.8, 2.8}, []float64{0, 50, 100, 100, 150}, 0, 0, "handbook chapter 06, B1.1: wear is play plus what was taken up"},
		{"new ring and jaw forget the adjustments", unit.Length(0.3 * mm), []maintenance.Moment{
			{At: 100_000 * km, Size: nan, Rule: maintenance.LifeAdjusts, Taken: unit.Length(1.7 * mm), New: nan}, {At: 200_000 * km, Size: nan, Rule: maintenance.LifeStarts, New: nan}, play(250, 0.5)},
			[]float64{0.2}, []float64{50}, 1, 0, "hand"},
		{"a distance that nobody knows", pin, []maintenance.Moment{{At: nan, Size: unit.Length(50.5 * mm), New: nan}, at(100, 50.4)}, []float64{0.4}, []float64{100}, 0, 1, "missing data does not count"},
		{"a new size that nobody knows", nan, []maintenance.Moment{at(100, 50.4)}, nil, nil, 0, 1, "missing data does not count"},
	} {
		l := maintenance.LifeOf(tt.new, tt.history)
		if len(l.Readings) != len(tt.wear) || l.Earlier != tt.earlier || l.Left != tt.left {
			t.Errorf("%s: %+v (%s)", tt.name, l, tt.source)
			continue
		}
		for i, r := range l.Readings {
			near(t, tt.name+", wear", r.Wear.Millimetres(), tt.wear[i], 1e-9, tt.source)
			near(t, tt.name+", distance", float64(r.Distance/km)/1000, tt.distance[i], 1e-9, tt.source)
		}
	}
	for _, tt := range []struct {
		new     unit.Length
		history []maintenance.Moment
		known   bool
	}{
		{pin, nil, true}, {nan, nil, false}, {pin, []maintenance.Moment{{At: nan, Size: nan, Rule: maintenance.LifeStarts, New: nan}, at(300, 50.4)}, false},
		{nan, []maintenance.Moment{{At: 100_000 * km, Size: nan, Rule: maintenance.LifeStarts, New: pin}}, true},
	} {
		if l := maintenance.LifeOf(tt.new, tt.history); l.Known() != tt.known || !tt.known && len(l.Readings) > 0 {
			t.Errorf("%+v known is %v; a life of which nobody knows the beginning or the new size cannot be forecast", l, l.Known())
		}
	}
	l := maintenance.LifeOf(pin, nil)
	near(t, "limit of a pin", l.Limit(unit.Length(49*mm), false).Millimetres(), 1.8, 1e-9, "handbook chapter 05, 1.1: 50.8 to 49.0")
}

// TestAdjustingChangesNoWear takes up any play at any time: the wear that the
// forecast sees is the same as if nobody had.
func TestAdjustingChangesNoWear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var plain, adjusted []maintenance.Moment
		taken, wear := 0.0, 0.0
		for i := range rapid.IntRange(1, 12).Draw(t, "n") {
			wear += rapid.Float64Range(0, 0.5).Draw(t, "wear")
			x := unit.Length(i+1) * 10_000 * km
			plain = append(plain, maintenance.Moment{At: x, Size: unit.Length((0.3 + wear) * mm), Grows: true})
			adjusted = append(adjusted, maintenance.Moment{At: x, Size: unit.Length((0.3 + wear - taken) * mm), Grows: true})
			if rapid.Bool().Draw(t, "adjust") {
				up := wear - taken
				adjusted = append(adjusted, maintenance.Moment{At: x, Size: unit.Length(math.NaN()), Rule: maintenance.LifeAdjusts, Taken: unit.Length(up * mm)})
				taken += up
			}
		}
		a, b := maintenance.LifeOf(unit.Length(0.3*mm), plain), maintenance.LifeOf(unit.Length(0.3*mm), adjusted)
		if len(a.Readings) != len(b.Readings) || b.Earlier != 0 {
			t.Fatalf("%d and %d readings", len(a.Readings), len(b.Readings))
		}
		for i := range a.Readings {
			if !(math.Abs(float64(a.Readings[i].Wear-b.Readings[i].Wear)) <= 1e-12) {
				t.Fatalf("reading %d: %v with adjusting, %v without", i, b.Readings[i].Wear, a.Readings[i].Wear)
			}
		}
	})
}

func TestWrenchSetting(t *testing.T) {
	for _, tt := range []struct{ torque, grip, extension, want float64 }{
		{190, 0.5, 0, 190}, {280, 0.7, 0.14, 280 * 0.7 / 0.84}, {500, 1.0, 0.25, 400}, {100, 0.4, -0.1, 100 * 0.4 / 0.3},
	} {
		got, err := maintenance.WrenchSetting(unit.Torque(tt.torque), unit.Length(tt.grip), unit.Length(tt.extension))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "setting", float64(got), tt.want, 1e-9, "hand: force at the grip is M/(L + e), and the wrench sees it at L")
	}
	for _, bad := range [][3]float64{{0, 0.5, 0}, {math.NaN(), 0.5, 0}, {100, 0, 0}, {100, 0.5, -0.5}, {100, 0.5, math.NaN()}} {
		var domain *unit.DomainError
		if _, err := maintenance.WrenchSetting(unit.Torque(bad[0]), unit.Length(bad[1]), unit.Length(bad[2])); !errors.As(err, &domain) {
			t.Errorf("%v: %v; want a DomainError", bad, err)
		}
	}
}

func ExampleWrenchSetting() {
	set, err := maintenance.WrenchSetting(500*unit.NewtonMetre, 1*unit.Metre, 250*unit.Millimetre)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("set the wrench to %.0f N·m\n", set.NewtonMetres())
	// Output: set the wrench to 400 N·m
}

func TestFaultFinder(t *testing.T) {
	if n := len(maintenance.Symptoms()); n < 14 {
		t.Errorf("%d symptoms; handbook chapter 05, section 5 lists 14", n)
	}
	keys := map[string]bool{}
	for _, s := range maintenance.Symptoms() {
		if len(s.Causes) == 0 {
			t.Errorf("%s has no cause", s.Key)
		}
		for _, c := range s.Causes {
			if keys[s.Key+"/"+c.Key] || c.Name.English == "" || c.Check.English == "" || c.Action.English == "" {
				t.Errorf("%s is not whole, or stands twice", c.Key)
			}
			keys[s.Key+"/"+c.Key] = true
		}
		for _, r := range maintenance.Releases() {
			got, ok := maintenance.FindFault(s.Key, r)
			if !ok || len(got.Causes) == 0 {
				t.Errorf("%s by %s: nothing", s.Key, r)
			}
			for i, c := range got.Causes {
				if len(c.Only) > 0 && !slices.Contains(c.Only, r) {
					t.Errorf("%s by %s: %s", s.Key, r, c.Key)
				}
				if i > 0 && c.Weight < got.Causes[i-1].Weight {
					t.Errorf("%s: the likeliest does not come first", s.Key)
				}
			}
		}
	}
	for _, stop := range []string{"does-not-lock", "handle-not-home", "display-contradicts"} {
		if s, _ := maintenance.FindFault(stop, maintenance.RemoteRelease); !s.Stop {
			t.Errorf("%s is not a stop (handbook chapter 05, section 5)", stop)
		}
	}
	has := func(r maintenance.Release, key string) bool {
		s, _ := maintenance.FindFault("will-not-couple", r)
		return slices.ContainsFunc(s.Causes, func(c maintenance.Cause) bool { return strings.HasSuffix(c.Key, key) })
	}
	if has(maintenance.ManualRelease, "no-air") || !has(maintenance.AirRelease, "no-air") || has(maintenance.AirRelease, "interlock") {
		t.Error("causes do not follow the kind of release")
	}
	if _, ok := maintenance.FindFault("it-sings", maintenance.ManualRelease); ok {
		t.Error("found what is not there")
	}
	for _, r := range maintenance.Releases() {
		c := maintenance.ClosedBy(r)
		if len(c.Evidence) < 4 || len(c.Traps) == 0 || !strings.Contains(c.Evidence[1].English, "jaws") {
			t.Errorf("%s: %v (handbook chapter 05, 4.3: the look decides)", r, c)
		}
	}
}

func TestTextsHaveOneKeyEach(t *testing.T) {
	texts := maintenance.Texts()
	if len(texts) < 400 {
		t.Errorf("%d texts", len(texts))
	}
	by := map[string]string{}
	for _, x := range texts {
		if old, twice := by[x.Key]; twice {
			t.Errorf("%s: %q and %q", x.Key, old, x.English)
		}
		by[x.Key] = x.English
		if strings.TrimSpace(x.English) != x.English || x.Key != strings.ToLower(x.Key) {
			t.Errorf("%q: %q", x.Key, x.English)
		}
	}
	m := maintenance.Message{Text: maintenance.Text{Key: "k", English: "{1} before {2}"}, Args: []string{"a {2}", "b"}}
	if got := m.String(); got != "a {2} before b" {
		t.Errorf("%q", got)
	}
	if got := m.In(map[string]string{"k": "{2} nach {1}"}); got != "b nach a {2}" {
		t.Errorf("%q", got)
	}
	// A key that stands for two texts would translate one of them wrongly.
	for _, task := range maintenance.Tasks() {
		for _, x := range slices.Concat(task.Prepare, task.Steps, task.Cautions, []maintenance.Text{task.Name, task.Why}) {
			if by[x.Key] != x.English {
				t.Errorf("%s: %s is %q here and %q elsewhere", task.Key, x.Key, x.English, by[x.Key])
			}
		}
	}
	for _, w := range maintenance.Works() {
		for _, x := range slices.Concat(w.Steps, w.Cautions, w.Parts, []maintenance.Text{w.Name}) {
			if by[x.Key] != x.English {
				t.Errorf("%s: %s is %q here and %q elsewhere", w.Key, x.Key, x.English, by[x.Key])
			}
		}
	}
}
