package turning

import "math"

// A peak follows one quantity along a leg, sample by sample, and keeps its
// largest value.
type peak struct {
	best, at float64 // at: distance along the course
	f        [2]float64
	n        int
}

func newPeak() peak { return peak{best: math.Inf(-1), at: math.NaN()} }

// flat is the rise, in metres or radians, below which a peak is rounding.
const flat = 1e-12

// add takes the next sample and reports whether a peak lies between the sample
// before last and this one, which is then worth refining.
func (p *peak) add(s, f float64) (bracket bool) {
	if f > p.best {
		p.best, p.at = f, s
	}
	bracket = p.n >= 2 && p.f[1] >= p.f[0] && p.f[1] >= f && p.f[1]-math.Min(p.f[0], f) > flat
	p.f[0], p.f[1] = p.f[1], f
	p.n++
	return bracket
}

// joint forgets the samples but not the best of them: past a joint of the path
// the slope jumps and the three samples no longer lie on one smooth curve.
func (p *peak) joint() { p.n = 0 }

// A bracket is three places of which the middle one is the highest.
type bracket struct{ x0, x1, x2, f0, f1, f2 float64 }

// refine finds the top of f in a bracket. It goes to the top of the parabola
// through the three points, and to the golden section where the parabola fails
// it, until the bracket has shrunk or the value stands still twice within
// exact. The position is known less well than the value, since the curve is
// level there.
func refine(f func(float64) float64, b bracket, exact float64) (x, v float64) {
	x0, x1, x2, f0, f1, f2 := b.x0, b.x1, b.x2, b.f0, b.f1, b.f2
	const golden = 0.3819660112501051
	width := x2 - x0
	still := 0
	for i := 0; i < 60 && x2-x0 > 1e-8*width && still < 2; i++ {
		p, q := (x1-x0)*(f1-f2), (x1-x2)*(f1-f0)
		x := x1 - 0.5*((x1-x0)*p-(x1-x2)*q)/(p-q)
		edge := 1e-3 * (x2 - x0)
		if i%4 == 3 || !(x > x0+edge/10 && x < x2-edge/10) {
			if x1-x0 > x2-x1 {
				x = x1 - golden*(x1-x0)
			} else {
				x = x1 + golden*(x2-x1)
			}
		} else if math.Abs(x-x1) < edge { // step beside the top, into the larger part
			if x1-x0 > x2-x1 {
				x = x1 - edge
			} else {
				x = x1 + edge
			}
		}
		v := f(x)
		if math.Abs(v-f1) < exact {
			still++
		} else {
			still = 0
		}
		switch {
		case v >= f1 && x > x1:
			x0, f0, x1, f1 = x1, f1, x, v
		case v >= f1:
			x2, f2, x1, f1 = x1, f1, x, v
		case x > x1:
			x2, f2 = x, v
		default:
			x0, f0 = x, v
		}
	}
	return x1, f1
}
