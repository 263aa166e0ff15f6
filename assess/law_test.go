package assess_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"underpin/assess"
	"underpin/examples"
	"underpin/exchange"
	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// fleetOf reads an example anew, so that a test may change it.
func fleetOf(t testing.TB, file string) *vehicle.Fleet {
	t.Helper()
	data, err := examples.Files.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	f, err := exchange.ParseFleet(file, data)
	if err != nil {
		t.Fatal(err)
	}
	return &f.Fleet
}

// book opens a shipped rulebook, or one of its own given as rules on top of
// nothing.
func book(t testing.TB, law string) *rule.Book {
	t.Helper()
	if !strings.Contains(law, "[[rule]]") {
		b, err := rule.Open(law)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	const head = "[book]\nname = \"own\"\ntitle = \"Own\"\ntext-date = \"\"\nPARENT\n[instrument.order]\ntitle = \"Fleet order 7\"\nversion = \"1\"\n"
	parent := ""
	if name, rest, ok := strings.Cut(law, "\n"); ok && strings.HasPrefix(name, "parent") {
		parent, law = name, rest
	}
	b, err := rule.Parse("own.toml", []byte(strings.Replace(head, "PARENT", parent, 1)+law), nil)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// ask assesses the pair of a fleet, by their ids, under a law.
func ask(t testing.TB, f *vehicle.Fleet, tractor, trailer string, law *rule.Book, loads ...string) *assess.Result {
	t.Helper()
	tr, ok := f.Tractor(tractor)
	st, ok2 := f.Trailer(trailer)
	if !ok || !ok2 {
		t.Fatalf("no %s or no %s", tractor, trailer)
	}
	cases, err := assess.Cases(f, st, loads...)
	if err != nil {
		t.Fatal(err)
	}
	return assess.Compile(assess.Combination{Tractor: tr, Trailer: st, Cases: cases, Law: law}).Assess(assess.AimMargin)
}

func find(r *assess.Result, id string) *assess.Finding {
	for i := range r.Findings {
		if r.Findings[i].ID == id {
			return &r.Findings[i]
		}
	}
	return nil
}

func missingText(r *assess.Result) string { return strings.Join(r.Missing, "\n") }

// A limit from memory never makes a pass, and one that is exceeded warns. Source
// of the promise: README, "How far to trust it". heron-07 with shoal-40 weighs
// 33.5 t laden (fleet file, tares and payload added up).
func TestMemoryIsNoPass(t *testing.T) {
	for _, tt := range []struct {
		limit    string
		exceeded bool
	}{{"20000", true}, {"60000", false}} {
		law := strings.Replace(own("gross", "mass-gross-combination", "kg", tt.limit, ""), `"read"`, `"memory"`, 1)
		r := ask(t, fleetOf(t, "demo.toml"), "heron-07", "shoal-40", book(t, law), "laden")
		if r.Answer != rule.CannotTell {
			t.Errorf("at most %s: %s", tt.limit, r.Answer)
		}
		f, warns := find(r, "unverified.own-gross"), find(r, "own-gross")
		if f == nil || !f.Binding || f.Answer != rule.CannotTell || !strings.Contains(missingText(r), "not verified") || !strings.Contains(missingText(r), "at most "+tt.limit+" kg") {
			t.Errorf("finding %+v, missing %q", f, r.Missing)
		}
		if warns == nil || warns.Binding || math.IsNaN(warns.Limit) || (warns.Answer == rule.DoesNotFit) != tt.exceeded {
			t.Errorf("the finding that warns: %+v", warns)
		}
	}
	// What is known to fail still decides: 18 109 kg on a plate of 18 000 kg.
	if r := ask(t, fleetOf(t, "demo.toml"), "heron-07", "marsh-23", book(t, "uk"), "laden"); r.Answer != rule.DoesNotFit {
		t.Errorf("beyond a plate under uk: %s", r.Answer)
	}
	// au: the spacing table was not read, and what is not covered binds.
	f := fleetOf(t, "demo.toml")
	tr, _ := f.Tractor("heron-07")
	st, _ := f.Trailer("shoal-40")
	*tr.Width, *st.Width = 2.5, 2.5
	r := ask(t, f, "heron-07", "shoal-40", book(t, "au"), "empty")
	if f := find(r, "au-gross-spacing"); f == nil || !f.Binding || f.Answer != rule.CannotTell || r.Answer != rule.CannotTell {
		t.Errorf("au: %s, %+v", r.Answer, f)
	}
}

// A limit read in a summary binds, and the answer says that it was. Source: UK
// gross masses at authorised weight, 36 t on four and 40 t on five axles, known
// from summaries of SI 1998/3111 Schedule 1 (handbook chapter 02, 2.2).
func TestSecondHandBindsWithACaution(t *testing.T) {
	for _, tt := range []struct {
		tractor, trailer string
		want             rule.Answer
	}{{"heron-07", "shoal-40", rule.Fits}, {"kingfisher-27", "reed-49", rule.DoesNotFit}} { // 41.8 t on five axles
		r := ask(t, fleetOf(t, "demo.toml"), tt.tractor, tt.trailer, book(t, "uk"), "laden")
		f := find(r, "uk-gross")
		if f == nil || !f.Binding || f.Evidence != rule.SecondHand || f.Answer != tt.want {
			t.Errorf("%s with %s: %+v", tt.tractor, tt.trailer, f)
		}
		if !slices.ContainsFunc(r.Cautions, func(c string) bool {
			return strings.Contains(c, "read in a summary") && strings.Contains(c, "1998/3111")
		}) {
			t.Errorf("%s with %s: cautions %q", tt.tractor, tt.trailer, r.Cautions)
		}
	}
}

// Whatever the pair and the law: what only warns never binds, and where the
// answer is fits no limit of law that must be kept rests on memory alone.
func TestOnlyWhatWasReadCertifies(t *testing.T) {
	f := fleetOf(t, "demo.toml")
	fits := 0
	for _, law := range rule.Names() {
		b := book(t, law)
		for i := range f.Tractors {
			for k := range f.Trailers {
				r := ask(t, f, f.Tractors[i].ID, f.Trailers[k].ID, b, "laden")
				certified := map[string]bool{}
				for n := range r.Findings {
					x := &r.Findings[n]
					if x.Binding && !x.Evidence.Certifies() {
						t.Fatalf("%s %s %s: %s binds on %s", law, f.Tractors[i].ID, f.Trailers[k].ID, x.ID, x.Evidence)
					}
					certified[x.Quantity] = certified[x.Quantity] || x.Binding && x.Answer == rule.Fits
				}
				if r.Answer != rule.Fits && r.Answer != rule.FitsIf {
					continue
				}
				fits++
				for n := range r.Findings {
					x := &r.Findings[n]
					switch x.Quantity {
					case "", "reference-wheelbase", "swing-out", "width", "lead-behind-axle", "share-steer", "share-drive":
						continue // they decide nothing by themselves, or are no law
					}
					if !certified[x.Quantity] && x.Evidence == rule.Memory {
						t.Errorf("%s %s %s: %s rests on %s alone", law, f.Tractors[i].ID, f.Trailers[k].ID, x.Quantity, x.ID)
					}
				}
			}
		}
	}
	if fits < 50 {
		t.Errorf("%d pairs fit: too few to prove anything", fits)
	}
}

// A mark from memory is shown with its number and warns where it is exceeded; it
// certifies nothing. D by UN R55, 2.11.1: 0.6·9.81·18·34/(18 + 34 − 12) = 90.06 kN.
func TestMarksFromMemory(t *testing.T) {
	for _, tt := range []struct {
		d    unit.Force
		want rule.Answer
	}{{152e3, rule.Fits}, {80e3, rule.DoesNotFit}} {
		f := fleetOf(t, "demo.toml")
		tr, _ := f.Tractor("heron-07")
		tr.FifthWheel.ReadFrom, tr.FifthWheel.D = "memory", &tt.d
		r := ask(t, f, "heron-07", "shoal-40", book(t, "eu"), "laden")
		shown, binds := find(r, "rating.d.fifth-wheel"), find(r, "unverified.rating.d.fifth-wheel")
		if shown == nil || shown.Binding || shown.Evidence != rule.Memory || shown.Answer != tt.want || !(math.Abs(shown.Limit-float64(tt.d)/1e3) < 1e-9) || !(math.Abs(shown.Value-90.06) < 0.005) {
			t.Errorf("%v: shown %+v", tt.d, shown)
		}
		if binds == nil || !binds.Binding || binds.Answer != rule.CannotTell || !strings.Contains(missingText(r), "fifth-wheel read-from plate or document") {
			t.Errorf("%v: binds %+v, missing %q", tt.d, binds, r.Missing)
		}
		if r.Answer != rule.CannotTell {
			t.Errorf("%v: %s", tt.d, r.Answer)
		}
		if warned := slices.ContainsFunc(r.Cautions, func(c string) bool { return strings.Contains(c, "D-value") }); warned != (tt.want == rule.DoesNotFit) {
			t.Errorf("%v: cautions %q", tt.d, r.Cautions)
		}
	}
}

const ownRule = `
[[rule]]
id = "own-ID"
title = "Own rule"
quantity = "QUANTITY"
sense = "at most"
unit = "UNIT"
limit = LIMIT
evidence = "read"
citation = { instrument = "order", point = "1" }
failed = "Not here."
EXTRA
`

func own(id, quantity, u, limit, extra string) string {
	return strings.NewReplacer("ID", id, "QUANTITY", quantity, "UNIT", u, "LIMIT", limit, "EXTRA", extra).Replace(ownRule)
}

// Every word of the vocabulary is evaluated: a rule of one's own on it gives a
// finding, with a value for vehicles of which everything is known. There is no
// source: a rule that is read has to be answered.
func TestEveryQuantityIsEvaluated(t *testing.T) {
	for _, q := range rule.Vocabulary() {
		u, extra := "m", ""
		switch {
		case q.Dim == unit.MassDim:
			u = "t"
		case q.Dim == unit.Number:
			u = "share"
		case q.Name == "ring-inner" || q.Name == "ring-width" || q.Name == "swing-out":
			extra = `outer-radius = "12.5 m"`
		}
		r := ask(t, fleetOf(t, "largest-eu.toml"), "tractor-e", "trailer-e", book(t, own("x", q.Name, u, "1", extra)), "laden")
		if !slices.ContainsFunc(r.Findings, func(f assess.Finding) bool {
			return f.Quantity == q.Name && strings.HasPrefix(f.ID, "own-x") && !math.IsNaN(f.Value)
		}) {
			t.Errorf("no finding on %s", q.Name)
		}
	}
}

// The front of the load area to the rear of a longer semi-trailer: kingpin to the
// inside of the headboard 1.6 m and to the rear 12.0 m are 13.6 m; the limit of
// 15.65 m is SI 2023/524's.
func TestLoadLengthOfLongerSemiTrailer(t *testing.T) {
	f := fleetOf(t, "largest-eu.toml")
	f.Facts["longer-semi-trailer"] = true
	*f.Trailers[0].Headboard, *f.Trailers[0].RearEnd = 1.6, 12.0
	r := ask(t, f, "tractor-e", "trailer-e", book(t, "uk"), "laden")
	x := find(r, "uk-load-length-longer")
	if x == nil || !(math.Abs(x.Value-13.6) < 1e-9) || x.Limit != 15.65 || x.Answer != rule.Fits || !x.Binding {
		t.Fatalf("%+v", x)
	}
	f.Trailers[0].Headboard = nil
	if x := find(ask(t, f, "tractor-e", "trailer-e", book(t, "uk"), "laden"), "uk-load-length-longer"); x == nil || x.Answer != rule.CannotTell || !strings.Contains(strings.Join(x.Missing, " "), "headboard") {
		t.Errorf("without a headboard: %+v", x)
	}
}

// A user's own rule on runs of axles holds whatever its conditions, and one on the
// circle is looked up for each load. No source: the rules are the test's own.
func TestOwnRulesAreAsked(t *testing.T) {
	two := own("two", "mass-axle-range", "t", "10", "when = { axles = 2, spread = { at-most = \"2 m\" } }")
	r := ask(t, fleetOf(t, "largest-eu.toml"), "tractor-e", "trailer-e", book(t, "parent = \"eu\"\n"+two), "laden")
	f := find(r, "own-two.axles-4-5")
	if f == nil || f.Answer != rule.DoesNotFit || r.Answer != rule.DoesNotFit {
		t.Errorf("two axles of the bogie against 10 t: %+v", f)
	}
	if find(r, "own-two.axles-1-2") != nil {
		t.Error("two axles 3.7 m apart were held against a rule for 2 m")
	}
	ring := strings.Replace(own("ring", "ring-inner", "m", "9", "outer-radius = \"12.5 m\"\nwhen = { traffic = \"national\" }"), "at most", "at least", 1)
	fl := fleetOf(t, "largest-eu.toml")
	at, mass := unit.Length(6), unit.Mass(1000)
	fl.Loads = []vehicle.Load{{ID: "home", Payload: &mass, At: &at, Facts: map[string]any{"traffic": "national"}}}
	r = ask(t, fl, "tractor-e", "trailer-e", book(t, "parent = \"eu\"\n"+ring), "empty", "home")
	if f := find(r, "own-ring"); f == nil || f.Case != "home" || f.Answer != rule.DoesNotFit {
		t.Errorf("the circle of the second load: %+v", f)
	}
	n := 0
	for i := range r.Findings {
		if r.Findings[i].ID == "eu-ring-inner" {
			n++
		}
	}
	if n != 2 {
		t.Errorf("%d findings on the Union's ring; the loads lead to different limits, so each has its own", n)
	}
}

// Where a rulebook knows masses and has none for this case, nothing has passed.
func TestSilentRulebook(t *testing.T) {
	gross := own("gross", "mass-gross-combination", "t", "60", "when = { axles-tractor = 3 }")
	r := ask(t, fleetOf(t, "largest-eu.toml"), "tractor-e", "trailer-e", book(t, gross), "laden")
	if f := find(r, "no-limit.mass-gross-combination"); f == nil || r.Answer != rule.CannotTell || !strings.Contains(missingText(r), "rulebook own has no limit") {
		t.Errorf("%s: %+v, missing %q", r.Answer, f, r.Missing)
	}
	axle := own("axle", "mass-axle", "t", "60", "when = { group = \"trailer\" }")
	r = ask(t, fleetOf(t, "largest-eu.toml"), "tractor-e", "trailer-e", book(t, axle), "laden")
	if r.Answer != rule.CannotTell || !strings.Contains(missingText(r), "front axle") || strings.Contains(missingText(r), "semi-trailer axle") {
		t.Errorf("%s, missing %q", r.Answer, r.Missing)
	}
}

// Every distance between the axles of a group has to lie in a band of the table,
// and every band's limit holds. Source: StVZO § 34(4) no. 3 and 4 (96/53/EC Annex I
// 3.2 and 3.3); UK: SR 1999/258 Schedule 3 Table VI, by the nearer neighbour.
func TestUnequalGaps(t *testing.T) {
	for _, tt := range []struct {
		law       string
		gaps      [2]unit.Length
		limits    []float64 // t, each of a finding on the group that binds
		uncovered bool
	}{
		{"eu", [2]unit.Length{1.31, 1.31}, []float64{24}, false},
		{"eu", [2]unit.Length{1.40, 1.31}, []float64{24}, false},
		{"eu", [2]unit.Length{1.20, 1.35}, []float64{21, 24}, false},
		{"eu", [2]unit.Length{1.31, 1.41}, []float64{24}, true},
		{"eu", [2]unit.Length{1.31, 2.50}, []float64{24}, true},
		{"eu", [2]unit.Length{2.50, 1.31}, []float64{24}, true},
		{"eu", [2]unit.Length{1.80, 1.80}, nil, true},
		{"de", [2]unit.Length{1.31, 2.50}, []float64{24}, true},
		{"uk", [2]unit.Length{1.31, 1.50}, []float64{24}, false},
		{"uk", [2]unit.Length{1.31, 2.50}, []float64{24}, true},
	} {
		f := fleetOf(t, "largest-eu.toml")
		s := &f.Trailers[0]
		first := unit.Length(6.4)
		s.Axles[0].At, s.Axles[1].At, s.Axles[2].At = &first, nil, nil
		s.Axles[1].Gap, s.Axles[2].Gap = &tt.gaps[0], &tt.gaps[1]
		r := ask(t, f, "tractor-e", "trailer-e", book(t, tt.law), "empty")
		var limits []float64
		uncovered := false
		for i := range r.Findings {
			x := &r.Findings[i]
			if x.Quantity != "mass-group" || x.Group != "bogie" || !x.Binding || strings.HasPrefix(x.ID, "unverified.") {
				continue
			}
			if x.Answer == rule.CannotTell {
				uncovered = true
				continue
			}
			limits = append(limits, x.Unit.ToSI(x.Limit)/1e3)
		}
		slices.Sort(limits)
		if !slices.Equal(limits, tt.limits) || uncovered != tt.uncovered {
			t.Errorf("%s %v: limits %v, not covered %v; want %v, %v", tt.law, tt.gaps, limits, uncovered, tt.limits, tt.uncovered)
		}
		if tt.uncovered && (r.Answer == rule.Fits || r.Answer == rule.FitsIf) {
			t.Errorf("%s %v: %s", tt.law, tt.gaps, r.Answer)
		}
	}
}

// A tandem's limit holds within a tri-axle: two axles 0.95 m apart may carry 11 t
// together (StVZO § 34(4) no. 3a), where three may carry 21 t (no. 4a).
func TestTandemWithinTriAxle(t *testing.T) {
	f := fleetOf(t, "largest-eu.toml")
	s := &f.Trailers[0]
	first, near, far := unit.Length(6.8), unit.Length(0.95), unit.Length(1.25)
	s.Axles[0].At, s.Axles[1].At, s.Axles[2].At = &first, nil, nil
	s.Axles[1].Gap, s.Axles[2].Gap = &near, &far
	*s.Payload = 18000
	r := ask(t, f, "tractor-e", "trailer-e", book(t, "eu"), "laden")
	x := find(r, "eu-tandem-trailer.bogie-1-2")
	if x == nil || x.Limit != 11 || !x.Binding || (x.Answer == rule.DoesNotFit) != (x.Value > 11) {
		t.Fatalf("%+v", x)
	}
	if find(r, "eu-tandem-trailer.bogie-2-3") != nil {
		t.Error("two axles 1.25 m apart may carry 16 t, which the group's 21 t never brings about")
	}
}
