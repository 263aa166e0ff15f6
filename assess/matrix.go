package assess

import (
	"runtime"
	"sync"
	"sync/atomic"

	"underpin/rule"
	"underpin/unit"
	"underpin/vehicle"
)

// A Cell is one pair of a fleet's matrix.
type Cell struct {
	Tractor *vehicle.Tractor
	Trailer *vehicle.SemiTrailer
	Result  *Result
	Governs *Finding // the binding finding that decides: the tightest, the first that fails, or what is missing
	Changes []string // where it fits if it is set so: each part of the setting that has to change, in metric units
}

// Matrix pairs every tractor with every semi-trailer under one law, over all
// load cases of the file, on the given day, on all cores. Cells stand row by row, a row a tractor.
func Matrix(f *vehicle.Fleet, law *rule.Book, day string) ([]Cell, error) {
	cases := make([][]Case, len(f.Trailers))
	for s := range f.Trailers {
		c, err := Cases(f, &f.Trailers[s])
		if err != nil {
			return nil, err
		}
		cases[s] = c
	}
	cells := make([]Cell, len(f.Tractors)*len(f.Trailers))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(cells) {
					return
				}
				t, s := i/len(f.Trailers), i%len(f.Trailers)
				p := Compile(Combination{Tractor: &f.Tractors[t], Trailer: &f.Trailers[s], Cases: cases[s], Law: law, Day: day})
				r := p.Assess(AimMargin)
				cells[i] = Cell{Tractor: p.Tractor, Trailer: p.Trailer, Result: r, Governs: p.Governs(r)}
				if r.Answer == rule.FitsIf {
					cells[i].Changes = p.Changes(r, unit.Metric)
				}
			}
		})
	}
	wait.Wait()
	return cells, nil
}

// Governs returns the finding that decides an answer: the tightest where it
// fits, else the first that fails or cannot be told.
func (p *Pairing) Governs(r *Result) *Finding {
	if r.Answer == rule.Fits || r.Answer == rule.FitsIf {
		return tightest(r)
	}
	want := rule.DoesNotFit
	if r.Answer == rule.CannotTell {
		want = rule.CannotTell
	}
	var moving *Finding
	for i := range r.Findings {
		f := &r.Findings[i]
		if !f.Binding || f.Answer != want {
			continue
		}
		if !p.moves(f) {
			return f
		}
		if moving == nil {
			moving = f
		}
	}
	return moving
}
