package turning

import "math"

// The quantities that a walk follows. Each is written so that its largest
// value is wanted.
const (
	innerAxle    = iota // −distance of the trailer's inner edge at its axle line to the centre
	innerTrailer        // −distance of the trailer's outline to the centre
	innerTractor        // −distance of the tractor's outline
	swingTrailer        // trailer's outer rear corner beyond the entry tangent
	swingFront          // trailer's outer front corner beyond it
	swingTractor        // tractor's outer rear corner beyond it
	outerTrailer        // radius of the trailer's outer rear corner
	outerFront          // radius of its outer front corner
	outerTractor        // radius of the tractor's outer rear corner
	articulation        // sin |γ/2|, which grows with |γ|
	gauges
)

// A walk leads a pair into a left-hand arc that starts at the origin towards
// +x, and gauges it on the way.
type walk struct {
	pair
	stride  float64 // longest step
	exact   float64 // to which extremes are refined, m or rad
	cy      float64 // centre of the arc, straight to the left of its beginning
	tangent float64 // y of the outer side of the tractor before the turn

	tractor, trailer outline

	peaks [gauges]peak
}

func (w *walk) start() state {
	for i := range w.peaks {
		w.peaks[i] = newPeak()
	}
	return state{φ: half{0, 1}, γ: half{0, 1}}
}

// gauge reads all gauges at once; that is cheaper than asking for each.
func (w *walk) gauge(tractor, trailer *frame, γ half, f *[gauges]float64) {
	x, y := trailer.at(0, w.trailer.half)
	f[innerAxle] = -w.radius(x, y)
	x, y = trailer.local(0, w.cy)
	f[innerTrailer] = -w.trailer.apart(x, y)
	x, y = tractor.local(0, w.cy)
	f[innerTractor] = -w.tractor.apart(x, y)
	x, y = trailer.at(-w.trailer.rear, -w.trailer.half)
	f[swingTrailer], f[outerTrailer] = w.tangent-y, w.radius(x, y)
	x, y = trailer.at(w.trailer.front, -w.trailer.half)
	f[swingFront], f[outerFront] = w.tangent-y, w.radius(x, y)
	x, y = tractor.at(-w.tractor.rear, -w.tractor.half)
	f[swingTractor], f[outerTractor] = w.tangent-y, w.radius(x, y)
	f[articulation] = math.Abs(γ.n)
}

func (w *walk) radius(x, y float64) float64 {
	return math.Sqrt(x*x + (y-w.cy)*(y-w.cy))
}

// follow leads the pair along a leg from its beginning and samples the gauges
// whose bits are set. It reports false, and stops, when the trailer has gone
// right round.
func (w *walk) follow(g *leg, at state, kinds uint) (state, bool) {
	for i := range w.peaks {
		w.peaks[i].joint()
	}
	n := math.Max(1, math.Ceil(g.length/w.stride))
	h := g.length / n
	stride := w.step(g.κ, h)
	at.s = 0
	window := [3]state{at, at, at} // the samples that a peak is bracketed by
	w.sample(g, &window, at, kinds)
	// A sample close to either end shows which way the curve leaves it, so that
	// a peak in the first or last stride is bracketed too.
	edge := 1e-3 * h
	w.sample(g, &window, w.move(g.κ, at, edge), kinds)
	for i := 1.; i <= n; i++ {
		if i == n {
			w.sample(g, &window, w.move(g.κ, at, h-edge), kinds)
		}
		at = stride.from(at)
		at.s = i * h
		if i == n {
			at.s = g.length
		}
		if !(at.γ.d > 0) { // |γ| ≥ 180°
			return at, false
		}
		w.sample(g, &window, at, kinds)
	}
	return at, true
}

func (w *walk) sample(g *leg, window *[3]state, at state, kinds uint) {
	window[0], window[1], window[2] = window[1], window[2], at
	var f [gauges]float64
	tractor, trailer := w.frames(g, &at)
	w.gauge(&tractor, &trailer, at.γ, &f)
	for kind := range w.peaks {
		if kinds&(1<<kind) == 0 {
			continue
		}
		p := &w.peaks[kind]
		f0, f1 := p.f[0], p.f[1]
		if !p.add(g.s0+at.s, f[kind]) {
			continue
		}
		from := &window[0]
		x, v := refine(func(s float64) float64 {
			var f [gauges]float64
			mid := w.move(g.κ, *from, s-from.s)
			tractor, trailer := w.frames(g, &mid)
			w.gauge(&tractor, &trailer, mid.γ, &f)
			return f[kind]
		}, bracket{from.s, window[1].s, at.s, f0, f1, f[kind]}, w.exact)
		if v > p.best {
			p.best, p.at = v, g.s0+x
		}
	}
}
