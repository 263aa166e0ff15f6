package rule_test

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"underpin/rule"
	"underpin/unit"
)

// printed is the bridge table as States print it: feet, then the pounds for 2
// to 7 axles. Marks of a cell:
//
//	none  read in RCW 46.44.041 (up to four axles also in California Vehicle
//	      Code 35551) and equal to the formula with ties down
//	r     RCW prints 500 lb less there, rounding down; the value is the formula's
//	p     read in 67 Pa. Code § 185.3
//	t     67 Pa. Code § 185.3 prints 500 lb more: its ties go up
//	e     67 Pa. Code § 185.3 prints 68 000, the exception for two tandems; the
//	      value is the formula's
//	s     capped by the sum of the axles' limits (Wisconsin's guide, example 3)
//	-     not printed, or not read
const printed = `
 9 39000  42500  -      -      -      -
10 40000  43500  -      -      -      -
11 40000s 44000  49500r -      -      -
13 40000s 45500  50500  -      -      -
14 40000s 46500  51500  56500  -      -
15 40000s 47000  52000  57500r -      -
16 40000s 48000  52500  58000  -      -
17 40000s 48500  53500  58500  -      -
18 40000s 49500  54000  59000  65000r -
20 40000s 51000  55500  60500  66000  -
21 40000s 51500  56000  61000  66500  72000
24 40000s 54000  58000  63000  68500  74000
26 40000s 55500  59500  64000  69500  75000
27 40000s 56000  60000  65000  70000  75500
28 40000s 57000  60500  65500  71000  76500
30 40000s 58500  62000  66500  72000  77500
32 40000s 60000  63500  68000  73000  78500
33 40000s 60000s 64000p 68500p 74000p 79000t
35 40000s 60000s 65500p 70000p 75000p -
36 40000s 60000s 66000e 70500p 75500p -
37 40000s 60000s 66500e 71000p 76000p -
38 -      -      67500e -      -      -
39 40000s 60000s 68000p 72500p 77500p -
42 40000s 60000s 70000p 74000t 79000p -
44 40000s 60000s 71500p 75500p -      -
45 40000s 60000s 72000p 76000p -      -
46 40000s 60000s -      76500t -      -
22 -      -      -      61500t -      -
`

type cell struct {
	feet, axles, pounds int
	mark                string
}

func cells(t *testing.T) []cell {
	t.Helper()
	var all []cell
	for _, line := range strings.Split(strings.TrimSpace(printed), "\n") {
		fields := strings.Fields(line)
		feet, err := strconv.Atoi(fields[0])
		if err != nil || len(fields) != 7 {
			t.Fatalf("row %q", line)
		}
		for i, f := range fields[1:] {
			if f == "-" {
				continue
			}
			mark := strings.TrimLeft(f, "0123456789")
			pounds, err := strconv.Atoi(strings.TrimSuffix(f, mark))
			if err != nil {
				t.Fatalf("cell %q", f)
			}
			all = append(all, cell{feet, i + 2, pounds, mark})
		}
	}
	if len(all) == 0 {
		t.Fatal("no cell")
	}
	return all
}

// us returns the strictest limit of the federal book on a run of axles.
func us(t testing.TB, b *rule.Book, axles int, length unit.Length, twoTandems bool) float64 {
	t.Helper()
	least := math.Inf(1)
	for _, l := range b.Limits("mass-axle-range", facts{"axles": axles, "spread": length, "two-tandems": twoTandems}) {
		if l.NotCovered != "" || len(l.Missing) > 0 {
			t.Fatalf("%d axles on %v: %+v", axles, length, l)
		}
		least = math.Min(least, l.Value)
	}
	return least
}

func TestBridgeTable(t *testing.T) {
	book := open(t, "us")
	for _, c := range cells(t) {
		length := unit.Length(c.feet) * unit.Foot
		if c.mark != "s" {
			down, err := rule.BridgeFormula(c.axles, length, rule.TiesDown)
			if err != nil || down.Pounds != c.pounds {
				t.Errorf("formula at %d ft, %d axles: %d lb, %v; printed %d (mark %q)", c.feet, c.axles, down.Pounds, err, c.pounds, c.mark)
			}
			want := c.pounds
			if c.mark == "t" {
				want += 500
			}
			if up, err := rule.BridgeFormula(c.axles, length, rule.TiesUp); c.mark == "t" || c.mark == "p" {
				if err != nil || up.Pounds != want {
					t.Errorf("formula, ties up, at %d ft, %d axles: %d lb, %v; Pennsylvania prints %d", c.feet, c.axles, up.Pounds, err, want)
				}
			}
		}
		if got := us(t, book, c.axles, length, false); got != float64(c.pounds) {
			t.Errorf("book at %d ft, %d axles: %v lb; printed %d (mark %q)", c.feet, c.axles, got, c.pounds, c.mark)
		}
		if c.mark == "e" {
			if got := us(t, book, c.axles, length, true); got != 68000 {
				t.Errorf("book at %d ft, two tandems: %v lb; Pennsylvania prints 68000", c.feet, got)
			}
		}
	}
}

func TestBridgeCases(t *testing.T) {
	book := open(t, "us")
	for _, tt := range []struct {
		axles  int
		length unit.Length
		want   float64
		source string
	}{
		{2, 4 * unit.Foot, 34000, "RCW 46.44.041"},
		{2, 6 * unit.Foot, 34000, "RCW 46.44.041"},
		{2, 7 * unit.Foot, 34000, "RCW 46.44.041"},
		{2, 8 * unit.Foot, 34000, "RCW 46.44.041"},
		{3, 8 * unit.Foot, 34000, "RCW 46.44.041; 23 CFR 658.17: a tandem whatever the number of axles"},
		{2, 8*unit.Foot + unit.Inch, 38000, `RCW 46.44.041, row "more than 8"`},
		{3, 8*unit.Foot + unit.Inch, 42000, `RCW 46.44.041, row "more than 8"`},
		{2, 8*unit.Foot + 11*unit.Inch, 38000, `RCW 46.44.041, row "more than 8", less than 9`},
		{2, 40 * unit.Inch, 20000, "23 CFR 658.17: up to 40 in a single axle"},
		{2, 41 * unit.Inch, 34000, "23 CFR 658.17: more than 40 in a tandem"},
		{3, 96 * unit.Inch, 34000, "23 CFR 658.17: up to 96 in a tandem"},
		{2, 48*unit.Inch + 48*unit.Inch, 34000, "23 CFR 658.17: up to 96 in a tandem"},
		{2, 10 * unit.Foot, 40000, "Wisconsin's class A guide, example 1"},
		{3, 14 * unit.Foot, 46500, "Wisconsin's class A guide, example 2"},
		{3, 20 * unit.Foot, 51000, "RCW, California, Pennsylvania"},
		{3, 22 * unit.Foot, 52500, "derived: 500·(33 + 36 + 36)"},
		{4, 50*unit.Foot + 5*unit.Inch, 75500, "Wisconsin: 50 ft 5 in is 50 ft; derived: 500·(66.67 + 84) = 75 333"},
		{4, 50*unit.Foot + 6*unit.Inch, 76000, "Wisconsin: 50 ft 6 in is 51 ft; derived: 500·(68 + 84)"},
		{5, 51 * unit.Foot, 80000, "derived: 79 875, the agency's example from memory"},
	} {
		if got := us(t, book, tt.axles, tt.length, false); got != tt.want {
			t.Errorf("%d axles on %.3f ft: %v lb, want %v (%s)", tt.axles, tt.length.Feet(), got, tt.want, tt.source)
		}
	}
	for _, tt := range []struct {
		length unit.Length
		feet   int
	}{{50*unit.Foot + 5*unit.Inch, 50}, {50*unit.Foot + 6*unit.Inch, 51}} { // Wisconsin's guide to s. 348.15(5m)
		if b, err := rule.BridgeFormula(5, tt.length, rule.TiesDown); err != nil || b.Feet != tt.feet {
			t.Errorf("%.4f ft: %d ft, %v; want %d ft", tt.length.Feet(), b.Feet, err, tt.feet)
		}
	}
}

func TestBridgeRefuses(t *testing.T) {
	for _, tt := range []struct {
		axles  int
		length unit.Length
		ties   rule.Ties
	}{
		{1, 10, rule.TiesDown}, {0, 10, rule.TiesDown}, {-3, 10, rule.TiesDown}, {1 << 40, 10, rule.TiesDown}, {2, 0, rule.TiesDown}, {2, -1, rule.TiesDown},
		{2, unit.Length(math.NaN()), rule.TiesDown}, {2, unit.Length(math.Inf(1)), rule.TiesDown}, {2, 200, rule.TiesDown}, {2, 10, "sideways"}, {2, 10, ""},
	} {
		_, err := rule.BridgeFormula(tt.axles, tt.length, tt.ties)
		var domain *unit.DomainError
		if !errors.As(err, &domain) {
			t.Errorf("BridgeFormula(%d, %v, %q): %v, want a *unit.DomainError", tt.axles, tt.length, tt.ties, err)
		}
	}
}

// More length never takes mass away, ties up is never below ties down, and the
// rounded figure is within half a step of the raw one.
func TestBridgeIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "axles")
		l := unit.Length(rapid.Float64Range(0.1, 40).Draw(t, "length"))
		more := l + unit.Length(rapid.Float64Range(0, 5).Draw(t, "more"))
		a, err1 := rule.BridgeFormula(n, l, rule.TiesDown)
		b, err2 := rule.BridgeFormula(n, more, rule.TiesDown)
		up, err3 := rule.BridgeFormula(n, l, rule.TiesUp)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		if b.Pounds < a.Pounds || up.Pounds < a.Pounds || !(math.Abs(a.Raw-float64(a.Pounds)) <= 250) {
			t.Fatalf("%+v, longer %+v, ties up %+v", a, b, up)
		}
	})
}

// The trailer bridge of a five-axle articulated vehicle, 35 ft between the
// first drive axle and the last trailer axle.
func ExampleBridgeFormula() {
	b, err := rule.BridgeFormula(4, 35*unit.Foot, rule.TiesDown)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f lb, so %d lb\n", b.Raw, b.Pounds)
	// Output: 65333 lb, so 65500 lb
}
