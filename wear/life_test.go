package wear_test

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"underpin/unit"
	"underpin/wear"
)

// uniform is a life uniform on 0 to a, of the textbook's problem.
type uniform struct{ a unit.Length }

func (u uniform) Reached(d unit.Length) float64 { return min(float64(d/u.a), 1) }
func (u uniform) Density(d unit.Length) float64 {
	if d >= u.a {
		return 0
	}
	return 1 / float64(u.a)
}
func (u uniform) MeanWithin(d unit.Length) unit.Length {
	d = min(d, u.a)
	return d - d*d/(2*u.a)
}

// memoryless does not age.
type memoryless struct{ mean unit.Length }

func (m memoryless) Reached(d unit.Length) float64 { return -math.Expm1(-float64(d / m.mean)) }
func (m memoryless) Density(d unit.Length) float64 {
	return math.Exp(-float64(d/m.mean)) / float64(m.mean)
}
func (m memoryless) MeanWithin(d unit.Length) unit.Length {
	return m.mean * unit.Length(m.Reached(d))
}

func TestAgeReplacement(t *testing.T) {
	const published = "Jardine and Tsang, Maintenance, Replacement and Reliability, 3rd ed., ch. 2, problem 2"
	const closed = "algebra: C(t) = 200(a + t)/(2at − t²), t* = a(√3 − 1)"
	life := uniform{40_000 * unit.Kilometre}
	costs := wear.Costs{Planned: 100, Failure: 200}
	for _, tt := range []struct {
		km, want, tol float64
		source        string
	}{
		{10_000, 0.0143, 5e-5, published}, {20_000, 0.01, 5e-5, published}, {30_000, 0.0093, 5e-5, published}, {40_000, 0.01, 5e-5, published},
		{10_000, 0.0142857142857, 1e-12, closed}, {30_000, 0.0093333333333, 1e-12, closed},
	} {
		c := must(wear.CostRate(life, costs, unit.Length(tt.km)*unit.Kilometre))(t)
		near(t, fmt.Sprintf("C(%g km) per km", tt.km), c*1e3, tt.want, tt.tol, tt.source)
	}
	best := must(wear.BestAge(life, costs, 40_000*unit.Kilometre))(t)
	near(t, "t*", float64(best.Distance/unit.Kilometre), 29_282.0323, 5e-5, closed)
	near(t, "C(t*)", best.CostRate*1e3, 0.00933012702, 5e-12, closed)
	near(t, "F(t*)", best.Reached, math.Sqrt(3)-1, 1e-9, closed)
	h := life.Density(best.Distance) / (1 - life.Reached(best.Distance))
	rel(t, "h(t*)·(c_f − c_p)", h*100, best.CostRate, 1e-9, "algebra: first-order condition")

	for name, f := range map[string]func() error{
		"parts that do not age": func() error { _, err := wear.BestAge(memoryless{1e8}, costs, 1e9); return err },
		"failure costs no more": func() error { _, err := wear.BestAge(life, wear.Costs{Planned: 1, Failure: 1}, 1e7); return err },
		"searched too short":    func() error { _, err := wear.BestAge(life, costs, 20_000*unit.Kilometre); return err },
	} {
		var none *unit.NoAnswerError
		if err := f(); !errors.As(err, &none) {
			t.Errorf("%s: %v; want a NoAnswerError", name, err)
		}
	}
}

func TestReplacementOfOneUnit(t *testing.T) {
	const source = "handbook chapter 06, B4.2"
	costs := wear.Costs{Planned: 900, Failure: 6000}
	new := wear.Life{State: must(wear.Learn(prior, nil))(t), Limit: worn}
	best := must(wear.BestAge(new, costs, 12*reach))(t)
	near(t, "x*", float64(best.Distance/reach), 3.675653, 5e-7, source)
	near(t, "g*", best.CostRate*float64(reach), 263.110606, 5e-7, source)
	near(t, "F(x*)", best.Reached, 0.013018, 5e-7, source)

	unitTwo := wear.Life{State: must(wear.Learn(prior, three[:2]))(t), Limit: worn}
	in := wear.VisitInput{Costs: costs, FleetRate: best.CostRate, Most: 0.05}
	for _, d := range []float64{0, 0.2, 0.4, 0.6, 0.8, 1.0} {
		in.Distances = append(in.Distances, unit.Length(d)*reach)
	}
	visits, chosen, err := wear.ChooseVisit(nil, unitTwo, in)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{900.00, 847.51, 801.62, 833.84, 1175.70, 2014.36} {
		near(t, fmt.Sprintf("J(%.1f)", 0.2*float64(i)), visits[i].Cost, want, 5e-3, source)
		if refused := i >= 4; visits[i].Refused != refused {
			t.Errorf("visit %d: refused %v at F %g", i, visits[i].Refused, visits[i].Reached)
		}
	}
	if chosen != 2 {
		t.Errorf("chose visit %d, want the one at 0.4 (%s)", chosen, source)
	}
	for i, want := range map[int]float64{2: 0.00134118, 3: 0.01790577, 4: 0.09474935} {
		near(t, fmt.Sprintf("F(%.1f)", 0.2*float64(i)), visits[i].Reached, want, 5e-9, source)
	}
	near(t, "E min(T, 0.6)", float64(unitTwo.MeanWithin(0.6*reach)/reach), 0.59853523, 5e-9, source)

	// The hazard's own optimum: first d where h·(c_f − c_p) reaches g*.
	lo, hi := unit.Length(0), reach
	for range 60 {
		mid := (lo + hi) / 2
		if unitTwo.Hazard(mid)*(costs.Failure-costs.Planned) < best.CostRate {
			lo = mid
		} else {
			hi = mid
		}
	}
	near(t, "hazard optimum", float64(hi/reach), 0.469214, 5e-7, source)
	near(t, "F there", unitTwo.Reached(hi), 0.003739, 5e-7, source)

	in.Distances = in.Distances[4:]
	var none *unit.NoAnswerError
	if _, _, err := wear.ChooseVisit(nil, unitTwo, in); !errors.As(err, &none) {
		t.Errorf("all visits refused: %v; want a NoAnswerError", err)
	}
}

// TestLifeHangsTogether: density is the slope of F, the mean that of 1 − F, and
// the quantile goes back into F.
func TestLifeHangsTogether(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := drawPrior(rt)
		s, err := wear.Learn(p, drawReadings(rt, p, 3))
		if err != nil {
			rt.Fatal(err)
		}
		if !(s.Rate > 0) {
			rt.Skip("no wear")
		}
		l := wear.Life{State: s, Limit: s.Wear + mmOf(rapid.Float64Range(0.2, 2).Draw(rt, "left"))}
		d := unit.Length(rapid.Float64Range(0.05, 8).Draw(rt, "d")) * reach
		const h = 1e-4 * reach
		// Two central differences and Richardson's step: far in the tail F bends
		// too sharply for one.
		central := func(h unit.Length) float64 { return (l.Reached(d+h) - l.Reached(d-h)) / float64(2*h) }
		slope := (4*central(h/2) - central(h)) / 3
		if f := l.Density(d); !(math.Abs(f-slope) <= 1e-5*math.Abs(slope)+1e-14) {
			rt.Errorf("f = %g, slope of F %g", f, slope)
		}
		step := func(h unit.Length) float64 { return float64(l.MeanWithin(d+h)-l.MeanWithin(d-h)) / float64(2*h) }
		mean := (4*step(h/2) - step(h)) / 3
		if want := 1 - l.Reached(d); !(math.Abs(mean-want) <= 1e-6) {
			rt.Errorf("slope of the mean %g, 1 − F %g", mean, want)
		}
		if m := l.MeanWithin(d); !(m <= d*(1+1e-12) && m > 0) { // binary dust
			rt.Errorf("E min(T, %v) = %v", d, m)
		}
	})
}

func TestFirstPassage(t *testing.T) {
	const source = "handbook chapter 06, B1.3: numerical integration to 1e-14"
	p := wear.Passage{Barrier: 0.449, Drift: 0.3736, DriftSD: math.Sqrt(0.0013), Diffusion: 0.0025}
	for _, tt := range []struct{ d, want, first, tol, tolFirst float64 }{
		{0.6, 2.496598e-7, 2.0071e-7, 5e-14, 5e-12}, {0.8, 0.00274762, 0.00239425, 5e-9, 5e-9},
		{1.0, 0.11964197, 0.11063661, 5e-9, 5e-9}, {1.2, 0.51517220, 0.49611350, 5e-9, 5e-9},
	} {
		near(t, fmt.Sprintf("F(%g)", tt.d), must(wear.ReachedBarrier(p, tt.d))(t), tt.want, tt.tol, source)
		s := wear.State{Rate: wear.Rate(p.Drift), VarRate: 0.0013, Drift: wear.Drift(p.Diffusion)}
		near(t, fmt.Sprintf("first term at %g", tt.d), s.Within(unit.Length(p.Barrier), unit.Length(tt.d)), tt.first, tt.tolFirst, source)
	}
	ig := wear.Passage{Barrier: 150_000, Drift: 400, Diffusion: 2000 * 2000}
	near(t, "inverse Gaussian", must(wear.ReachedBarrier(ig, 365))(t), 0.50871609, 5e-9, "handbook chapter 06, B5: r 400, s_B 2000, 365 d")
	first := wear.State{Rate: 400, Drift: 2000 * 2000}
	near(t, "its first term", first.Within(150_000, 365), 0.45831297, 5e-9, "handbook chapter 06, B5")
	// A diffusion next to nothing must not overflow, and leaves the first term.
	p.Diffusion = 1e-9
	s := wear.State{Rate: wear.Rate(p.Drift), VarRate: 0.0013, Drift: 1e-9}
	near(t, "nearly no diffusion", must(wear.ReachedBarrier(p, 1.1))(t), s.Within(0.449, 1.1), 1e-5, "limit q → 0")
	near(t, "at no distance", must(wear.ReachedBarrier(p, 0))(t), 0, 0, "hand")
	var domain *unit.DomainError
	for _, bad := range []wear.Passage{{}, {Barrier: 1, Drift: 1}, {Barrier: 1, Diffusion: 1}, {Drift: 1, Diffusion: 1}, {Barrier: 1, Drift: 1, DriftSD: -1, Diffusion: 1}, {Barrier: math.NaN(), Drift: 1, Diffusion: 1}} {
		if _, err := wear.ReachedBarrier(bad, 1); !errors.As(err, &domain) {
			t.Errorf("%+v: %v; want a DomainError", bad, err)
		}
	}
	if _, err := wear.ReachedBarrier(ig, math.NaN()); !errors.As(err, &domain) {
		t.Errorf("way NaN: %v; want a DomainError", err)
	}
}

// TestFirstPassageSolvesDiffusion: the path may have touched the barrier and
// fallen back, so F lies above the first term, rises and stays below 1.
func TestFirstPassageRises(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := wear.Passage{
			Barrier: rapid.Float64Range(0.1, 3).Draw(rt, "D"), Drift: rapid.Float64Range(0.05, 1).Draw(rt, "m"),
			DriftSD: rapid.Float64Range(0, 0.2).Draw(rt, "s"), Diffusion: math.Exp(rapid.Float64Range(-20, 0).Draw(rt, "ln q")),
		}
		s := wear.State{Rate: wear.Rate(p.Drift), VarRate: p.DriftSD * p.DriftSD, Drift: wear.Drift(p.Diffusion)}
		last := 0.0
		for d := 0.1; d < 30; d *= 1.4 {
			F, err := wear.ReachedBarrier(p, d)
			if err != nil {
				rt.Fatal(err)
			}
			first := s.Within(unit.Length(p.Barrier), unit.Length(d))
			if !(F >= last-1e-12 && F >= first && F <= 1) {
				rt.Fatalf("F(%g) = %g, before %g, first term %g", d, F, last, first)
			}
			last = F
		}
	})
}

func TestGroupJobs(t *testing.T) {
	const source = "handbook chapter 06, B4.3, brute force over all 203 partitions agrees"
	jobs := []wear.Job{{12, 3}, {20, 8}, {26, 1.5}, {41, 6}, {44, 2}, {75, 4}}
	for n, want := range []float64{0, 120, 184, 205, 325, 331, 451} {
		_, cost, err := wear.GroupJobs(jobs[:n], 120, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, fmt.Sprintf("f(%d)", n), cost, want, 1e-9, source)
	}
	groups, _, err := wear.GroupJobs(jobs, 120, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := []wear.Group{{0, 2, 12, 205}, {3, 4, 41, 126}, {5, 5, 75, 120}}
	if len(groups) != len(want) {
		t.Fatalf("%+v, want %+v (%s)", groups, want, source)
	}
	for i := range want {
		if g := groups[i]; g.First != want[i].First || g.Last != want[i].Last || g.On != want[i].On || !(math.Abs(g.Cost-want[i].Cost) <= 1e-9) {
			t.Errorf("group %d: %+v, want %+v (%s)", i, g, want[i], source)
		}
	}
	// A fixed visit on day 40 takes D and E for 6·1 + 2·4 instead of 120 + 6.
	groups, cost, err := wear.GroupJobs(jobs, 120, []wear.Days{40})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "with a fixed visit", cost, 205+14+120, 1e-9, "hand")
	if groups[1].On != 40 {
		t.Errorf("D and E on day %v, want the fixed visit on 40", groups[1].On)
	}
	for name, in := range map[string]struct {
		jobs  []wear.Job
		cost  float64
		fixed []wear.Days
	}{
		"out of order": {[]wear.Job{{2, 1}, {1, 1}}, 1, nil}, "negative price": {[]wear.Job{{2, -1}}, 1, nil}, "NaN day": {[]wear.Job{{wear.Days(math.NaN()), 1}}, 1, nil},
		"negative cost": {jobs, -1, nil}, "cost NaN": {jobs, math.NaN(), nil}, "fixed out of order": {jobs, 1, []wear.Days{5, 4}}, "already late": {[]wear.Job{{-1, 1}}, 1, nil},
	} {
		var domain *unit.DomainError
		if _, _, err := wear.GroupJobs(in.jobs, in.cost, in.fixed); !errors.As(err, &domain) {
			t.Errorf("%s: %v; want a DomainError", name, err)
		}
	}
}

// TestGroupJobsAgainstBruteForce tries every partition of up to seven jobs, not
// only runs of neighbours.
func TestGroupJobsAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 7).Draw(rt, "n")
		jobs := make([]wear.Job, n)
		day := 0
		for i := range jobs {
			day += rapid.IntRange(0, 30).Draw(rt, "gap")
			jobs[i] = wear.Job{Latest: wear.Days(day), PerDay: float64(rapid.IntRange(0, 10).Draw(rt, "v"))}
		}
		visit := float64(rapid.IntRange(0, 200).Draw(rt, "S"))
		var fixed []wear.Days
		for d := 0; d < day; d += 40 {
			if rapid.Bool().Draw(rt, "fixed") {
				fixed = append(fixed, wear.Days(d))
			}
		}
		groupCost := func(members []int) float64 {
			first := jobs[members[0]].Latest
			held := func(on wear.Days) (c float64) {
				for _, m := range members {
					c += jobs[m].PerDay * float64(jobs[m].Latest-on)
				}
				return c
			}
			best := visit + held(first)
			for _, d := range fixed {
				if d <= first {
					best = math.Min(best, held(d))
				}
			}
			return best
		}
		best := math.Inf(1)
		var place func(i int, groups [][]int)
		place = func(i int, groups [][]int) {
			if i == n {
				var c float64
				for _, g := range groups {
					c += groupCost(g)
				}
				best = math.Min(best, c)
				return
			}
			for k := range groups {
				groups[k] = append(groups[k], i)
				place(i+1, groups)
				groups[k] = groups[k][:len(groups[k])-1]
			}
			place(i+1, append(groups[:len(groups):len(groups)], []int{i}))
		}
		place(0, nil)
		groups, cost, err := wear.GroupJobs(jobs, visit, fixed)
		if err != nil {
			rt.Fatal(err)
		}
		if !(math.Abs(cost-best) <= 1e-9) {
			rt.Errorf("cost %g, brute force %g", cost, best)
		}
		next, sum := 0, 0.0
		for _, g := range groups {
			if g.First != next || g.On > jobs[g.First].Latest {
				rt.Errorf("groups %+v", groups)
			}
			next, sum = g.Last+1, sum+g.Cost
		}
		if next != n || !(math.Abs(sum-cost) <= 1e-9) {
			rt.Errorf("groups %+v do not hold all jobs at the cost of %g", groups, cost)
		}
	})
}

func ExampleBestAge() {
	p := wear.Prior{
		StartSD: 0.05 * unit.Millimetre, GaugeSD: 0.10 * unit.Millimetre,
		Rate: 0.30 * wear.MillimetrePer100000km, RateSD: 0.08 * wear.MillimetrePer100000km, Drift: 0.0025 * wear.SquareMillimetrePer100000km,
	}
	new, err := wear.Learn(p, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	life := wear.Life{State: new, Limit: 1.8 * unit.Millimetre}
	best, err := wear.BestAge(life, wear.Costs{Planned: 900, Failure: 6000}, 1_200_000*unit.Kilometre)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("replace at %.0f km; %.1f %% reach the limit before\n", float64(best.Distance/unit.Kilometre), 100*best.Reached)
	// Output: replace at 367565 km; 1.3 % reach the limit before
}

func BenchmarkBestAge(b *testing.B) {
	life := wear.Life{State: must(wear.Learn(prior, nil))(b), Limit: worn}
	for b.Loop() {
		if _, err := wear.BestAge(life, wear.Costs{Planned: 900, Failure: 6000}, 12*reach); err != nil {
			b.Fatal(err)
		}
	}
}
