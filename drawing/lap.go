package drawing

import (
	"math"

	"underpin/scene"
	"underpin/turning"
	"underpin/unit"
)

// pt places a point of the turn.
func pt(p turning.Point) scene.Pt { return scene.At(p.X, p.Y) }

func (t *turn) train() turning.Train {
	return turning.Train{
		GuideAhead: t.in.Tractor.Front, GuideLeft: -t.in.Tractor.Width / 2, Tractor: t.in.Tractor,
		Towed: []turning.Towed{{Trailer: t.in.Trailer}},
	}
}

// poseStep is the distance of the guided point from pose to pose, m. Every
// paintEvery-th is painted: fine enough that the ring's edge is off by 3 mm.
const (
	poseStep   = 0.1
	paintEvery = 5
)

// trace follows the turn for one lap, or as far as it goes.
func (t *turn) trace() {
	follow := func(angle float64) ([]turning.Pose, error) {
		return turning.Trace(turning.TraceInput{
			FollowInput: turning.FollowInput{Train: t.train(), Course: []turning.Segment{{Length: unit.Length(angle * t.outer), Radius: unit.Length(t.outer)}}},
			Spacing:     poseStep,
		})
	}
	poses, err := follow(2 * math.Pi)
	if err == nil {
		t.poses = poses
		return
	}
	if t.fault == nil {
		t.fault = err
	}
	// As far as it comes: halve the arc to where it fails.
	lo, hi := 0.0, 2*math.Pi
	for hi-lo > 0.01 {
		mid := (lo + hi) / 2
		if poses, err := follow(mid); err == nil {
			t.poses, lo = poses, mid
		} else {
			hi = mid
		}
	}
}

// envelope draws the line that the inner side of the bodies runs along: along
// each ray from the centre the nearest point of any side in any pose.
func (t *turn) envelope() {
	const n = 360
	var least [n]float64
	for i := range least {
		least[i] = math.Inf(1)
	}
	c := t.centre()
	for _, p := range t.poses {
		for i := range p.Units {
			s := t.sides(p, i)
			for e := range s {
				rays(s[e].Add(-c.X, -c.Y), s[(e+1)%len(s)].Add(-c.X, -c.Y), least[:])
			}
		}
	}
	pts := make([]scene.Pt, 0, n)
	for k, r := range least {
		if math.IsInf(r, 1) {
			continue
		}
		sin, cos := math.Sincos(float64(k) / n * 2 * math.Pi)
		pts = append(pts, scene.Pt{X: c.X + r*cos, Y: c.Y + r*sin})
	}
	t.Polygon(bodyLine, pts...)
}

// rays cuts evenly spaced rays from the origin with the line from a to b and
// keeps the least distance along each.
func rays(a, b scene.Pt, least []float64) {
	n := float64(len(least))
	from, to := math.Atan2(a.Y, a.X), math.Atan2(b.Y, b.X)
	if to-from > math.Pi {
		from += 2 * math.Pi
	} else if from-to > math.Pi {
		to += 2 * math.Pi
	}
	lo, hi := math.Min(from, to)/(2*math.Pi)*n, math.Max(from, to)/(2*math.Pi)*n
	dx, dy := b.X-a.X, b.Y-a.Y
	across := a.X*dy - a.Y*dx // twice the area with the origin
	for k := math.Ceil(lo); k <= hi; k++ {
		sin, cos := math.Sincos(k / n * 2 * math.Pi)
		r := across / (cos*dy - sin*dx)
		if math.Abs(across) < math.Hypot(dx, dy) { // the line runs through the origin
			r = math.Min(math.Hypot(a.X, a.Y), math.Hypot(b.X, b.Y))
		}
		if i := ((int(k) % len(least)) + len(least)) % len(least); r > 0 && r < least[i] {
			least[i] = r
		}
	}
}
