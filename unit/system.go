package unit

// A System is the system of units that people read.
type System int

// The systems. Limits of law keep their own unit in either.
const (
	Metric System = iota
	USCustomary
)

// In returns the unit of the system that stands for u: metric leaves it as it
// is.
func (s System) In(u Unit) Unit {
	if s != USCustomary {
		return u
	}
	switch u {
	case KG, T:
		return Lb
	case MM:
		return In
	case M:
		return Ft
	case KN:
		return Lbf
	}
	return u
}
