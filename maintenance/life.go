package maintenance

import (
	"math"
	"slices"

	"underpin/unit"
	"underpin/wear"
)

// A Moment is one entry of a part's wear history, in the order in which things
// happened: a reading, or work that changed its life.
type Moment struct {
	At      unit.Length // distance that the part's place has run in all; NaN when not known
	Size    unit.Length // what was measured: a size that wears down, or a play that grows; NaN: nothing
	Grows   bool        // it is a play, which grows as it wears
	Rule    LifeRule    // what was done; empty: nothing
	Taken   unit.Length // play taken up by an adjustment, below nothing when it was given back
	New     unit.Length // size of the new part, or its base play, from here on; NaN: as before
	GaugeSD unit.Length // error of the gauge; 0: not known
}

// A Life is the readings of a part since it was new, as cumulated wear over its
// own distance. Wear is what the forecast learns from.
type Life struct {
	New      unit.Length // size of the new part or base play; NaN when not known
	Began    unit.Length // distance of the place at which this life began
	Readings []wear.Reading
	Taken    unit.Length // play taken up in this life
	Left     int         // readings without a distance or a new size, which cannot count
	Earlier  int         // lives before this one
}

// LifeOf follows a history to the life that lasts now.
//
// A new part begins a new life: distance and wear count from nothing, and no
// reading of the part before counts. An adjustment begins none: what it took up
// is added to every play read afterwards, so that wear goes on growing. With
// everything taken up known, wear of a play is play now − base play + taken up;
// wear of a size is new size − size.
//
// Source: handbook chapter 06, B1.1.
func LifeOf(new unit.Length, history []Moment) Life {
	l := Life{New: new}
	for _, m := range history {
		// A reading that comes with work is that from before it.
		if m.Size == m.Size {
			w := l.New - m.Size
			if m.Grows {
				w = m.Size - l.New + l.Taken
			}
			d := m.At - l.Began
			if w != w || d != d || d < 0 {
				l.Left++
			} else {
				l.Readings = append(l.Readings, wear.Reading{Distance: d, Wear: w, GaugeSD: m.GaugeSD})
			}
		}
		switch m.Rule {
		case LifeStarts:
			next := Life{New: l.New, Began: m.At, Earlier: l.Earlier + 1}
			if m.New == m.New && m.New != 0 {
				next.New = m.New
			}
			l = next
		case LifeAdjusts:
			l.Taken += m.Taken
		}
	}
	slices.SortStableFunc(l.Readings, func(a, b wear.Reading) int {
		switch {
		case a.Distance < b.Distance:
			return -1
		case a.Distance > b.Distance:
			return 1
		}
		return 0
	})
	return l
}

// Limit is the cumulated wear at which a size or a play reaches its limit. An
// adjustment moves the limit of a lock on by what was taken up, as long as its
// adjuster has travel: the lock ends where the adjuster ends.
func (l Life) Limit(size unit.Length, grows bool) unit.Length {
	if grows {
		return size - l.New + l.Taken
	}
	return l.New - size
}

// Known tells whether the life can be forecast at all.
func (l Life) Known() bool { return !math.IsNaN(float64(l.New)) && !math.IsNaN(float64(l.Began)) }
