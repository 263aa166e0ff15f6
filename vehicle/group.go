package vehicle

import "underpin/unit"

// groupsOf returns the indices of the axles in each suspension group. Tractor:
// the leading steered axles are the front group, all others the rear group.
// Semi-trailer: one group, the bogie.
func groupsOf(axles []Axle, tractor bool) [][]int {
	var front, rear []int
	for i := range axles {
		if tractor && len(rear) == 0 && axles[i].Kind == "steer" {
			front = append(front, i)
		} else {
			rear = append(rear, i)
		}
	}
	var groups [][]int
	for _, g := range [][]int{front, rear} {
		if len(g) > 0 {
			groups = append(groups, g)
		}
	}
	return groups
}

// Groups returns the indices of the tractor's axles in its front and rear
// group.
func (t *Tractor) Groups() (front, rear []int) {
	g := groupsOf(t.Axles, true)
	if len(g) > 0 {
		front = g[0]
	}
	if len(g) > 1 {
		rear = g[1]
	}
	return front, rear
}

func axleAt(axles []Axle, i int, tractor bool) (unit.Length, bool) {
	var at unit.Length
	for k := 0; k <= i; k++ {
		switch a := &axles[k]; {
		case a.At != nil:
			at = *a.At
		case k == 0 && tractor:
			at = 0
		case a.Gap != nil && k > 0:
			at += *a.Gap
		default:
			return 0, false
		}
	}
	return at, true
}

// AxleAt returns the position of axle i behind the front axle, summed from the
// gaps where only those were taped.
func (t *Tractor) AxleAt(i int) (unit.Length, bool) { return axleAt(t.Axles, i, true) }

// AxleAt returns the position of axle i behind the kingpin.
func (t *SemiTrailer) AxleAt(i int) (unit.Length, bool) { return axleAt(t.Axles, i, false) }

// Called returns how the tractor is named in lists of what is missing.
func (t *Tractor) Called() string { return "tractor " + t.ID }

// Called returns how the semi-trailer is named in lists of what is missing.
func (t *SemiTrailer) Called() string { return "semi-trailer " + t.ID }

// Title returns the name people know it by.
func (t *Tractor) Title() string { return titled(t.Name, t.ID) }

// Title returns the name people know it by.
func (t *SemiTrailer) Title() string { return titled(t.Name, t.ID) }

func titled(name, id string) string {
	if name != "" {
		return name
	}
	return id
}

// Share returns the part of a load added to the group of axles that axle i
// takes: as given, else equal parts.
func (t *Tractor) Share(group []int, i int) float64 { return share(t.Axles, group, i) }

// Share returns the part of a load added to the bogie that axle i takes: as
// given, else equal parts.
func (t *SemiTrailer) Share(i int) float64 {
	group := make([]int, len(t.Axles))
	for k := range group {
		group[k] = k
	}
	return share(t.Axles, group, i)
}
