package record

import (
	"cmp"
	"fmt"
	"slices"

	"underpin/unit"
)

// A Reading is what a meter showed, in whole metres. Nothing here changes one: a
// reading that seems wrong is questioned, and what a person decided on it stands
// in the vehicle's records.
type Reading struct {
	At     Time
	Metres int64
}

// MaxDaily is the distance a day above which a stretch between two readings is
// questioned.
//
// Source: common practice, no source; handbook chapter 06, B1.6.
const MaxDaily = 1500 * unit.Kilometre

// A Course is the distance that one meter ran, as a line through its readings
// that goes on across replaced meters.
type Course struct {
	points []point
	// Doubts are stretches that no one has explained: the meter went back, or
	// faster than a vehicle can. Distance across them is not known.
	Doubts []Doubt
}

type point struct {
	at    Time
	total int64 // metres since the first reading of its stretch
	part  int   // which stretch without doubts it belongs to
}

// A Doubt is a stretch between two readings that cannot be right.
type Doubt struct {
	From, To Reading
	Why      string
}

// NewCourse draws the course of one meter of a vehicle from its readings, in any
// order, with what is known of replaced meters and what a person decided on
// readings. Two readings of one instant count as one where they agree.
func NewCourse(meter string, readings []Reading, changes []MeterChange, judged []Judgement) *Course {
	type step struct {
		Reading
		change *MeterChange
		kept   bool // somebody said that it is right
	}
	var steps []step
	decision := map[Reading]*Judgement{}
	for i := range judged {
		if j := &judged[i]; j.Meter == meter {
			decision[Reading{j.At, j.Metres}] = j
		}
	}
	for _, r := range readings {
		s := step{Reading: r}
		if j := decision[r]; j != nil {
			switch j.Decision {
			case LeaveReading:
				continue
			case ReadAs:
				s.Metres = *j.ReadAs
			}
			s.kept = true
		}
		steps = append(steps, s)
	}
	for i := range changes {
		if c := &changes[i]; c.Meter == meter {
			steps = append(steps, step{Reading: Reading{c.At, c.New}, change: c})
		}
	}
	slices.SortStableFunc(steps, func(a, b step) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Metres, b.Metres))
	})
	c := &Course{}
	total, part := int64(0), 0
	for i, s := range steps {
		if i == 0 {
			c.points = append(c.points, point{s.At, 0, 0})
			continue
		}
		was := steps[i-1]
		now := s.Reading
		if s.change != nil {
			if s.change.Old == nil {
				c.Doubts = append(c.Doubts, Doubt{was.Reading, now, "the meter was replaced, and nobody read the old one"})
				part++
				c.points = append(c.points, point{s.At, total, part})
				continue
			}
			now.Metres = *s.change.Old
		}
		if why := doubt(was.Reading, now, was.kept && s.kept); why != "" {
			c.Doubts = append(c.Doubts, Doubt{was.Reading, now, why})
			part++
		} else {
			total += now.Metres - was.Metres
		}
		c.points = append(c.points, point{s.At, total, part})
	}
	return c
}

// doubt says why the stretch between two readings cannot be right. A person's
// word that both are right settles how fast, not whether a meter runs backwards.
func doubt(a, b Reading, kept bool) string {
	ran := unit.Length(b.Metres - a.Metres)
	days := float64(b.At-a.At) / float64(day)
	switch {
	case ran < 0:
		return "the meter went back, and no record says that it was replaced"
	case kept:
		return ""
	case days < 1 && ran > MaxDaily, days >= 1 && ran > MaxDaily*unit.Length(days):
		return fmt.Sprintf("%.0f km in %.1f days", ran.Metres()/1000, days)
	}
	return ""
}

// Span is how far the course reaches, first reading to last; false without any.
func (c *Course) Span() (from, to Time, ok bool) {
	if len(c.points) == 0 {
		return 0, 0, false
	}
	return c.points[0].at, c.points[len(c.points)-1].at, true
}

// at finds the distance at an instant, whether it was read then or lies between
// two readings, and the stretch.
func (c *Course) at(t Time) (metres float64, read bool, part int, ok bool) {
	i, found := slices.BinarySearchFunc(c.points, t, func(p point, t Time) int { return cmp.Compare(p.at, t) })
	switch {
	case found:
		for i+1 < len(c.points) && c.points[i+1].at == t {
			i++
		}
		return float64(c.points[i].total), true, c.points[i].part, true
	case i == 0 || i == len(c.points):
		return 0, false, 0, false
	}
	a, b := c.points[i-1], c.points[i]
	if a.part != b.part {
		return 0, false, 0, false
	}
	share := float64(t-a.at) / float64(b.at-a.at)
	return float64(a.total) + share*float64(b.total-a.total), false, a.part, true
}

// Between is the distance from one instant to another, and whether both ends
// were read and not taken from the line between two readings. It is not known
// where the course does not reach, or across a doubt.
func (c *Course) Between(from, to Time) (distance unit.Length, read, ok bool) {
	a, readA, partA, okA := c.at(from)
	b, readB, partB, okB := c.at(to)
	if !okA || !okB || partA != partB || to < from {
		return 0, false, false
	}
	return unit.Length(b - a), readA && readB, true
}

// clean lists the stretches between doubts, by their ends.
func (c *Course) clean() [][2]Time {
	var all [][2]Time
	for i, p := range c.points {
		if i == 0 || p.part != c.points[i-1].part {
			all = append(all, [2]Time{p.at, p.at})
		}
		all[len(all)-1][1] = p.at
	}
	return slices.DeleteFunc(all, func(s [2]Time) bool { return s[0] == s[1] })
}
