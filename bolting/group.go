package bolting

import (
	"math"

	"underpin/unit"
)

// A Point is the place of a bolt in its plane: x rearwards, y to the left.
type Point struct{ X, Y unit.Length }

// A Group is the geometry of a pattern of equal bolts.
type Group struct {
	Count      int
	Centroid   Point
	XX, YY, XY unit.Area // Σx², Σy², Σxy about the centroid
}

// Polar is I_p = Σ(x² + y²).
func (g Group) Polar() unit.Area { return g.XX + g.YY }

// GroupOf returns the centroid of a pattern of equal bolts and its second
// moments about it:
//
//	x̄ = Σx/n, ȳ = Σy/n,   Σ(x−x̄)², Σ(y−ȳ)², Σ(x−x̄)(y−ȳ)
//
//	x, y  place of each bolt, from any datum   m
//	n     number of bolts                      –
//
// Valid for at least one bolt at finite places; otherwise the error is a
// *unit.DomainError.
//
// Source: plane geometry; the eccentric bolt group of any textbook of machine
// elements.
func GroupOf(bolts []Point) (Group, error) {
	n := len(bolts)
	if n == 0 {
		return Group{}, &unit.DomainError{Formula: "bolt group", Input: "bolts", Value: 0, Want: "at least one bolt"}
	}
	g := Group{Count: n}
	for _, b := range bolts {
		g.Centroid.X += b.X / unit.Length(n)
		g.Centroid.Y += b.Y / unit.Length(n)
	}
	if at := float64(g.Centroid.X) + float64(g.Centroid.Y); math.IsNaN(at) || math.IsInf(at, 0) {
		return Group{}, &unit.DomainError{Formula: "bolt group", Input: "place of a bolt", Value: at, Want: "a finite number"}
	}
	for _, b := range bolts {
		x, y := float64(b.X-g.Centroid.X), float64(b.Y-g.Centroid.Y)
		g.XX += unit.Area(x * x)
		g.YY += unit.Area(y * y)
		g.XY += unit.Area(x * y)
	}
	return g, nil
}

// GroupLoad is a load on the fitting that the bolts hold, reduced to the
// centroid of the pattern.
type GroupLoad struct {
	ShearX, ShearY unit.Force
	Twist          unit.Torque // M_z, turning from +x towards +y
	Axial          unit.Force  // N, lifts the fitting off when positive
	TiltX          unit.Torque // M_y, pulls on the bolts at +x
	TiltY          unit.Torque // M_x, pulls on the bolts at +y
}

// An Applied force acts on the fitting at a point above the plane of the bolts.
type Applied struct {
	At     Point       // in the datum of the bolts
	Height unit.Length // h, of the line of action above the bolts' plane
	X, Y   unit.Force  // rearwards, to the left
	Down   unit.Force  // F_z
}

// LoadFrom reduces a force to the centroid. A force rearwards above the plane
// pulls on the bolts ahead, and so does one down on the rear overhang.
func (g Group) LoadFrom(a Applied) GroupLoad {
	ex, ey := float64(a.At.X-g.Centroid.X), float64(a.At.Y-g.Centroid.Y)
	h := float64(a.Height)
	return GroupLoad{
		ShearX: a.X, ShearY: a.Y,
		Twist: unit.Torque(ex*float64(a.Y) - ey*float64(a.X)),
		Axial: -a.Down,
		TiltX: unit.Torque(-h*float64(a.X) - ex*float64(a.Down)),
		TiltY: unit.Torque(-h*float64(a.Y) - ey*float64(a.Down)),
	}
}

// A BoltForce is what one bolt carries.
type BoltForce struct {
	X, Y  unit.Force // shear, components
	Shear unit.Force // F_Q, resultant
	Axial unit.Force // F_A, tension positive
}

// GroupForces are the forces on all bolts of a pattern, and the worst.
type GroupForces struct {
	Group     Group
	Bolts     []BoltForce
	MostShear int // index of the bolt with the largest F_Q
	MostAxial int // index of the bolt with the largest F_A
}

// ForcesOnBolts returns the shear and the axial force on each bolt of a
// pattern under a rigid fitting, and appends them to dst[:0]:
//
//	F_x = Q_x/n − M_z·y/I_p,   F_y = Q_y/n + M_z·x/I_p,   F_Q = √(F_x² + F_y²)
//	F_A = N/n + M_y·x/Σx² + M_x·y/Σy²
//
//	x, y      place of the bolt from the centroid             m
//	Q_x, Q_y  shear on the fitting                            N
//	M_z       twist in the plane of the bolts                 N·m
//	N         axial force, tension positive                   N
//	M_y, M_x  tilting moments that pull at +x and at +y       N·m
//	I_p       Σ(x² + y²)                                      m²
//
// Where Σxy is not zero the two tilting terms are coupled and solved together.
//
// Valid for equal bolts under a rigid fitting, in a preloaded joint of which no
// row of bolts opens. Twist on a single bolt, or tilting across a single row,
// has no answer: a *unit.NoAnswerError. Numbers that are not finite are a
// *unit.DomainError.
//
// Source: elastic analysis of eccentric bolt groups, as in Shigley, Mechanical
// Engineering Design, chapter 8 (memory); checked against equilibrium and a
// least-squares solution.
func ForcesOnBolts(dst []BoltForce, bolts []Point, load GroupLoad) (GroupForces, error) {
	g, err := GroupOf(bolts)
	if err != nil {
		return GroupForces{}, err
	}
	s, err := g.share(load)
	if err != nil {
		return GroupForces{}, err
	}
	out := GroupForces{Group: g, Bolts: dst[:0]}
	for i, b := range bolts {
		f := s.on(b.X-g.Centroid.X, b.Y-g.Centroid.Y)
		out.Bolts = append(out.Bolts, f)
		if f.Shear > out.Bolts[out.MostShear].Shear {
			out.MostShear = i
		}
		if f.Axial > out.Bolts[out.MostAxial].Axial {
			out.MostAxial = i
		}
	}
	return out, nil
}

// share is a group load as a linear field over the plane.
type share struct{ x, y, turn, axial, tiltX, tiltY float64 }

func (s share) on(x, y unit.Length) BoltForce {
	fx, fy := s.x-s.turn*float64(y), s.y+s.turn*float64(x)
	return BoltForce{
		X: unit.Force(fx), Y: unit.Force(fy), Shear: unit.Force(math.Hypot(fx, fy)),
		Axial: unit.Force(s.axial + s.tiltX*float64(x) + s.tiltY*float64(y)),
	}
}

func (g Group) share(load GroupLoad) (share, error) {
	const name = "bolt group"
	sum := float64(load.ShearX) + float64(load.ShearY) + float64(load.Twist) + float64(load.Axial) + float64(load.TiltX) + float64(load.TiltY)
	if math.IsNaN(sum) || math.IsInf(sum, 0) {
		return share{}, &unit.DomainError{Formula: name, Input: "load", Value: sum, Want: "finite forces and moments"}
	}
	n := float64(g.Count)
	s := share{x: float64(load.ShearX) / n, y: float64(load.ShearY) / n, axial: float64(load.Axial) / n}
	xx, yy, xy := float64(g.XX), float64(g.YY), float64(g.XY)
	// Bolts closer together than a thousandth of a millimetre are one bolt.
	const together = 1e-12 // m²
	if load.Twist != 0 {
		if !(xx+yy > together) {
			return share{}, &unit.NoAnswerError{Formula: name, Why: "a single bolt cannot resist twist"}
		}
		s.turn = float64(load.Twist) / (xx + yy)
	}
	mx, my := float64(load.TiltX), float64(load.TiltY)
	if mx == 0 && my == 0 {
		return s, nil
	}
	if !(xx+yy > together) {
		return share{}, &unit.NoAnswerError{Formula: name, Why: "a single bolt cannot resist tilting"}
	}
	det := xx*yy - xy*xy
	if det > 1e-9*(xx+yy)*(xx+yy) {
		s.tiltX, s.tiltY = (mx*yy-my*xy)/det, (my*xx-mx*xy)/det
		return s, nil
	}
	// One row: (ux, uy) is its direction; only tilting along it is resisted.
	ux, uy := math.Sqrt(xx/(xx+yy)), math.Sqrt(yy/(xx+yy))
	if xy < 0 {
		uy = -uy
	}
	along, across := mx*ux+my*uy, mx*uy-my*ux
	if !(math.Abs(across) <= 1e-9*math.Abs(along)) {
		return share{}, &unit.NoAnswerError{Formula: name, Why: "a single row of bolts cannot resist tilting across the row"}
	}
	k := along / (xx + yy)
	s.tiltX, s.tiltY = k*ux, k*uy
	return s, nil
}

// OpenJoint returns the largest bolt force when the joint has opened and the
// fitting tilts about its compressed edge:
//
//	F_A,max = M · z_max / Σz²
//
//	M  tilting moment about the compressed edge    N·m
//	z  distance of each row from that edge          m
//
// Valid for M ≥ 0 and at least one z > 0, none below 0; otherwise the error is
// a *unit.DomainError. One z is given for each bolt.
//
// Source: compression-edge model of bolted brackets, any textbook of machine
// elements (memory).
func OpenJoint(fromEdge []unit.Length, moment unit.Torque) (unit.Force, error) {
	const name = "open joint"
	if !(moment >= 0) {
		return 0, &unit.DomainError{Formula: name, Input: "moment", Value: float64(moment), Want: "M ≥ 0"}
	}
	var most, sum float64
	for _, z := range fromEdge {
		if !(z >= 0) {
			return 0, &unit.DomainError{Formula: name, Input: "z", Value: float64(z), Want: "z ≥ 0"}
		}
		most = math.Max(most, float64(z))
		sum += float64(z) * float64(z)
	}
	if !(sum > 0) {
		return 0, &unit.DomainError{Formula: name, Input: "z", Value: most, Want: "a bolt away from the compressed edge"}
	}
	return unit.Force(float64(moment) * most / sum), nil
}
