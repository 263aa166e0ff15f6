package maintenance_test

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"underpin/maintenance"
	"underpin/unit"
	"underpin/wear"
)

func open(days, minutes int) []int {
	free := make([]int, days)
	for i := range free {
		free[i] = minutes
	}
	return free
}

func TestGroupingOfTheHandbook(t *testing.T) {
	const source = "handbook chapter 06, B4.3"
	ask := maintenance.PlanAsk{Today: day(2026, 1, 1), Visit: 120, Free: open(100, 480), Jobs: []maintenance.Job{
		{Key: "A", Vehicle: "v", Latest: 12, PerDay: 3, Minutes: 30}, {Key: "B", Vehicle: "v", Latest: 20, PerDay: 8, Minutes: 30}, {Key: "C", Vehicle: "v", Latest: 26, PerDay: 1.5, Minutes: 30},
		{Key: "D", Vehicle: "v", Latest: 41, PerDay: 6, Minutes: 30}, {Key: "E", Vehicle: "v", Latest: 44, PerDay: 2, Minutes: 30}, {Key: "F", Vehicle: "v", Latest: 75, PerDay: 4, Minutes: 30},
	}}
	p, err := maintenance.PlanVisits(ask)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "cost", p.Cost, 451, 1e-9, source)
	near(t, "bound", p.Bound, 451, 1e-9, source)
	var got [][]int
	var days []int
	for _, v := range p.Visits {
		got, days = append(got, v.Jobs), append(days, v.Day)
	}
	if fmt.Sprint(got) != "[[0 1 2] [3 4] [5]]" || !slices.Equal(days, []int{12, 41, 75}) {
		t.Errorf("visits %v on %v; want {A,B,C}@12, {D,E}@41, {F}@75 (%s)", got, days, source)
	}
	if on := p.Visits[0].On; on != day(2026, 1, 13) {
		t.Errorf("day 12 is %v", on)
	}
}

// brute is the least cost over every assignment of jobs to days, or +Inf.
func brute(a maintenance.PlanAsk) float64 {
	best := math.Inf(1)
	day := make([]int, len(a.Jobs))
	var try func(k int)
	try = func(k int) {
		if k == len(a.Jobs) {
			used := make([]int, len(a.Free))
			in := map[maintenance.Appointment]bool{}
			cost := 0.0
			for i, j := range a.Jobs {
				used[day[i]] += j.Minutes
				cost += j.PerDay * float64(j.Latest-day[i])
				at := maintenance.Appointment{Vehicle: j.Vehicle, Day: day[i]}
				if !in[at] {
					in[at] = true
					if !slices.Contains(a.Fixed, at) {
						cost += a.Visit
					}
				}
			}
			for d, u := range used {
				if u > a.Free[d] {
					return
				}
			}
			best = min(best, cost)
			return
		}
		j := a.Jobs[k]
		for d := 0; d <= min(j.Latest, len(a.Free)-1); d++ {
			away := slices.ContainsFunc(a.Away, func(w maintenance.Absence) bool { return w.Vehicle == j.Vehicle && w.From <= d && d <= w.To })
			if a.Free[d] > 0 && !away {
				day[k] = d
				try(k + 1)
			}
		}
	}
	try(0)
	return best
}

// lawful fails when a plan breaks a promise.
func lawful(t interface{ Fatalf(string, ...any) }, a maintenance.PlanAsk, p maintenance.Plan) {
	used := make([]int, len(a.Free))
	seen := map[int]bool{}
	sum := 0.0
	for _, v := range p.Visits {
		sum += v.Cost
		for _, i := range v.Jobs {
			j := a.Jobs[i]
			if seen[i] || j.Vehicle != v.Vehicle {
				t.Fatalf("job %d twice, or on another vehicle", i)
			}
			seen[i] = true
			if j.Latest >= 0 && v.Day > j.Latest {
				t.Fatalf("job %d on day %d, latest %d", i, v.Day, j.Latest)
			}
			used[v.Day] += j.Minutes
		}
		minutes := 0
		for _, i := range v.Jobs {
			minutes += a.Jobs[i].Minutes
		}
		if v.Minutes != minutes || v.On != addDays(a.Today, v.Day) || v.Fixed != slices.Contains(a.Fixed, maintenance.Appointment{Vehicle: v.Vehicle, Day: v.Day}) {
			t.Fatalf("visit %+v; its jobs take %d minutes", v, minutes)
		}
		for _, w := range a.Away {
			if w.Vehicle == v.Vehicle && w.From <= v.Day && v.Day <= w.To {
				t.Fatalf("%s is away on day %d", v.Vehicle, v.Day)
			}
		}
	}
	for d, u := range used {
		if u > a.Free[d] {
			t.Fatalf("day %d holds %d of %d minutes", d, u, a.Free[d])
		}
	}
	for _, u := range p.Unplaced {
		if seen[u.Job] || u.Why.String() == "" {
			t.Fatalf("unplaced %+v", u)
		}
		seen[u.Job] = true
	}
	if len(seen) != len(a.Jobs) {
		t.Fatalf("%d of %d jobs accounted for", len(seen), len(a.Jobs))
	}
	if math.Abs(sum-p.Cost) > 1e-6 || len(p.Unplaced) == 0 && p.Bound > p.Cost+1e-6 {
		t.Fatalf("visits cost %g, plan %g, bound %g", sum, p.Cost, p.Bound)
	}
}

// small is a random workshop that can be tried out in full.
func small(n func(int) int, minutes int) maintenance.PlanAsk {
	a := maintenance.PlanAsk{Today: day(2026, 1, 1), Visit: float64(n(40)), Free: make([]int, 4+n(4))}
	for d := range a.Free {
		a.Free[d] = minutes
		if n(6) == 0 {
			a.Free[d] = 0
		}
	}
	for i := range 2 + n(4) {
		a.Jobs = append(a.Jobs, maintenance.Job{Key: fmt.Sprint(i), Vehicle: maintenance.Asset(fmt.Sprint("v", n(3))), Latest: n(10), PerDay: float64(n(12)), Minutes: 30 * (1 + n(3))})
	}
	if n(2) == 0 {
		a.Fixed = append(a.Fixed, maintenance.Appointment{Vehicle: "v0", Day: n(len(a.Free))})
	}
	if n(3) == 0 {
		from := n(len(a.Free))
		a.Away = append(a.Away, maintenance.Absence{Vehicle: "v1", From: from, To: from + n(3)})
	}
	return a
}

// TestPlanAgainstBruteForce tries every assignment of small workshops whose days
// are never full: the plan must be the best there is.
func TestPlanAgainstBruteForce(t *testing.T) {
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		a := small(func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "n") }, 10_000)
		p, err := maintenance.PlanVisits(a)
		if err != nil {
			t.Fatal(err)
		}
		lawful(t, a, p)
		want := brute(a)
		if math.IsInf(want, 1) != (len(p.Unplaced) > 0) {
			t.Fatalf("all assignments: %g; unplaced %+v", want, p.Unplaced)
		}
		if len(p.Unplaced) == 0 {
			compared++
			if !(math.Abs(p.Cost-want) <= 1e-9*(1+want)) || p.Bound != p.Cost && math.Abs(p.Bound-p.Cost) > 1e-9*(1+want) {
				t.Fatalf("cost %g, bound %g; the best of all assignments costs %g", p.Cost, p.Bound, want)
			}
		}
	})
	if compared == 0 {
		t.Error("compared nothing")
	}
}

// TestFullWorkshopAgainstBruteForce does the same where days are full.
func TestFullWorkshopAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	feasible, lost, best, gap := 0, 0, 0, 0.0
	for range 400 {
		a := small(rng.IntN, 90)
		p, err := maintenance.PlanVisits(a)
		if err != nil {
			t.Fatal(err)
		}
		lawful(t, a, p)
		want := brute(a)
		if math.IsInf(want, 1) {
			if len(p.Unplaced) == 0 {
				t.Fatal("placed what cannot be placed")
			}
			continue
		}
		feasible++
		if len(p.Unplaced) > 0 {
			lost++
			continue
		}
		if p.Cost < want-1e-9*(1+want) || p.Bound > want+1e-9*(1+want) {
			t.Fatalf("cost %g, bound %g, best of all %g", p.Cost, p.Bound, want)
		}
		if p.Cost <= want+1e-9*(1+want) {
			best++
		} else {
			gap += (p.Cost - want) / want
		}
	}
	t.Logf("%d workshops with a plan: %d best, %d not fully placed, mean gap %.2f %%", feasible, best, lost, 100*gap/float64(feasible))
	if feasible < 200 || best < feasible || lost > 0 {
		t.Errorf("of %d: %d best, %d not fully placed, mean gap %.2f %%; every assignment tried out", feasible, best, lost, 100*gap/float64(feasible))
	}
}

func TestPlanOfOverdueWork(t *testing.T) {
	a := maintenance.PlanAsk{Today: day(2026, 11, 25), Visit: 100, Free: []int{0, 60, 480, 480, 480}, Jobs: []maintenance.Job{
		{Key: "overdue", Vehicle: "v", Latest: -3, PerDay: 5, Minutes: 90}, {Key: "soon", Vehicle: "v", Latest: 4, PerDay: 10, Minutes: 30}, {Key: "other", Vehicle: "w", Latest: 3, PerDay: 1, Minutes: 30},
	}}
	p, err := maintenance.PlanVisits(a)
	if err != nil {
		t.Fatal(err)
	}
	lawful(t, a, p)
	// The overdue job needs 90 minutes: day 2. The next one, two days early at 10 a
	// day, is cheaper there than with a visit of its own.
	if len(p.Visits) != 2 || p.Visits[0].Day != 2 || !slices.Equal(p.Visits[0].Jobs, []int{0, 1}) || p.Cost != 100+20+100 || p.Bound != p.Cost {
		t.Errorf("%+v, cost %g (hand: 100 + 2·10 + 100)", p.Visits, p.Cost)
	}
}

func TestUnplacedSaysWhy(t *testing.T) {
	job := maintenance.Job{Key: "j", Vehicle: "v", Latest: 1, Minutes: 60}
	for _, tt := range []struct {
		name string
		ask  maintenance.PlanAsk
		key  string
	}{
		{"closed", maintenance.PlanAsk{Free: []int{0, 0, 480}, Jobs: []maintenance.Job{job}}, "say.closed"},
		{"away", maintenance.PlanAsk{Free: open(3, 480), Jobs: []maintenance.Job{job}, Away: []maintenance.Absence{{Vehicle: "v", From: 0, To: 1}}}, "say.away"},
		{"too long", maintenance.PlanAsk{Free: open(3, 50), Jobs: []maintenance.Job{job}}, "say.too-long"},
		{"full", maintenance.PlanAsk{Free: open(2, 60), Jobs: []maintenance.Job{job, {Key: "k", Vehicle: "w", Latest: 1, Minutes: 60}, {Key: "l", Vehicle: "x", Latest: 1, Minutes: 60}}}, "say.full"},
		{"overdue and full", maintenance.PlanAsk{Free: open(2, 50), Jobs: []maintenance.Job{{Key: "j", Vehicle: "v", Latest: -1, Minutes: 60}}}, "say.too-long"},
	} {
		tt.ask.Today = day(2026, 11, 25)
		p, err := maintenance.PlanVisits(tt.ask)
		if err != nil || len(p.Unplaced) != 1 || p.Unplaced[0].Why.Text.Key != tt.key {
			t.Errorf("%s: %+v, %v", tt.name, p.Unplaced, err)
		}
	}
	var domain *unit.DomainError
	for _, bad := range []maintenance.PlanAsk{
		{}, {Today: day(2026, 1, 1), Visit: -1}, {Today: day(2026, 1, 1), Visit: math.NaN()}, {Today: day(2026, 1, 1), Free: []int{-1}},
		{Today: day(2026, 1, 1), Jobs: []maintenance.Job{{PerDay: math.NaN()}}}, {Today: day(2026, 1, 1), Jobs: []maintenance.Job{{Minutes: -1}}},
	} {
		if _, err := maintenance.PlanVisits(bad); !errors.As(err, &domain) {
			t.Errorf("%+v: %v; want a DomainError", bad, err)
		}
	}
}

func TestWhatChangesWhenAVehicleIsAway(t *testing.T) {
	a := maintenance.PlanAsk{Today: day(2026, 11, 25), Visit: 100, Free: open(20, 480), Jobs: []maintenance.Job{
		{Key: "a", Vehicle: "v", Latest: 10, PerDay: 2, Minutes: 60}, {Key: "b", Vehicle: "w", Latest: 12, PerDay: 2, Minutes: 60},
	}}
	p, err1 := maintenance.PlanVisits(a)
	b := a
	b.Away = []maintenance.Absence{{Vehicle: "v", From: 8, To: 14}}
	q, err2 := maintenance.PlanVisits(b)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	changes, more := p.Changes(q)
	if want := []maintenance.PlanChange{{Job: 0, Vehicle: "v", From: 10, To: 7}}; !slices.Equal(changes, want) || more != 6 {
		t.Errorf("%+v for %g more; want %+v for 3 days at 2", changes, more, want)
	}
	b.Away[0].From = 0
	q, _ = maintenance.PlanVisits(b)
	if changes, _ := p.Changes(q); !slices.Equal(changes, []maintenance.PlanChange{{Job: 0, Vehicle: "v", From: 10, To: -1}}) {
		t.Errorf("%+v", changes)
	}
	if changes, more := p.Changes(p); len(changes) != 0 || more != 0 {
		t.Errorf("a plan differs from itself: %+v", changes)
	}
}

// uniform is a life that ends evenly between 0 and a.
type uniform struct{ a float64 }

func (u uniform) Reached(d unit.Length) float64 { return min(max(float64(d)/u.a, 0), 1) }
func (u uniform) Density(d unit.Length) float64 { return 1 / u.a }
func (u uniform) MeanWithin(d unit.Length) unit.Length {
	x := float64(d)
	return unit.Length(x - x*x/(2*u.a))
}

func TestAgeReplacementClosedSolution(t *testing.T) {
	const source = "Jardine and Tsang, chapter 2, problem 2; closed optimum a(√3 − 1)"
	a := float64(40_000 * km)
	best, err := wear.BestAge(uniform{a}, wear.Costs{Planned: 100, Failure: 200}, unit.Length(a))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "best distance, km", float64(best.Distance/km), 40_000*(math.Sqrt(3)-1), 1e-4, source)
	near(t, "cost per km", best.CostRate*1000, 0.00933012702, 5e-12, source)
	for x, want := range map[float64]float64{10_000: 0.0142857, 20_000: 0.01, 30_000: 0.0093333, 40_000: 0.01} {
		c, err := wear.CostRate(uniform{a}, wear.Costs{Planned: 100, Failure: 200}, unit.Length(x)*km)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("cost at %g km", x), c*1000, want, 5e-8, source)
	}
	if v, err := maintenance.CostOfDay(900, 1500); err != nil || v != 0.6 {
		t.Errorf("a day costs %g, %v; want 900/1500 (handbook chapter 06, B4.3)", v, err)
	}
}

// workshop is a large one: jobs of some hundred vehicles within a year.
func workshop(jobs, vehicles, minutes int) maintenance.PlanAsk {
	rng := rand.New(rand.NewPCG(3, 5))
	a := maintenance.PlanAsk{Today: day(2026, 1, 1), Visit: 180, Free: make([]int, 180)}
	for d := range a.Free {
		if d%7 < 5 {
			a.Free[d] = minutes
		}
	}
	for i := range jobs {
		a.Jobs = append(a.Jobs, maintenance.Job{Key: fmt.Sprint(i), Vehicle: maintenance.Asset(fmt.Sprint("v", rng.IntN(vehicles))), Latest: 5 + rng.IntN(170), PerDay: 1 + rng.Float64()*8, Minutes: 30 + 15*rng.IntN(6)})
	}
	for v := range vehicles {
		a.Fixed = append(a.Fixed, maintenance.Appointment{Vehicle: maintenance.Asset(fmt.Sprint("v", v)), Day: rng.IntN(180)})
	}
	return a
}

func TestLargePlansAreLawful(t *testing.T) {
	for _, minutes := range []int{100_000, 1500, 1200} {
		a := workshop(2000, 300, minutes)
		p, err := maintenance.PlanVisits(a)
		if err != nil {
			t.Fatal(err)
		}
		lawful(t, a, p)
		t.Logf("%d minutes a day: cost %.0f, bound %.0f, %d unplaced", minutes, p.Cost, p.Bound, len(p.Unplaced))
		if minutes == 100_000 && math.Abs(p.Cost-p.Bound) > 1e-6 {
			t.Error("nothing is full, and the plan is not the best")
		}
		if len(p.Unplaced) > 0 {
			t.Errorf("%d jobs unplaced", len(p.Unplaced))
		}
	}
}

func BenchmarkPlanVisits(b *testing.B) {
	for _, minutes := range []int{100_000, 1200} {
		a := workshop(2000, 300, minutes)
		b.Run(fmt.Sprint(minutes, " minutes a day"), func(b *testing.B) {
			for b.Loop() {
				if _, err := maintenance.PlanVisits(a); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
