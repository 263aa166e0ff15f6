package vehicle

import (
	"fmt"
	"math"
	"strconv"

	"underpin/unit"
)

// A position between two notches locks nothing. The file may be read off a tape
// in whole millimetres, so that much is allowed before a position is none.
const onNotch = 0.001 // m

// pitchRounded is how far a pitch in the file may be from the true one: half of
// the last digit of a tape in whole millimetres.
const pitchRounded = 0.0005 // m

// Positions lists where a sliding fifth wheel can be locked, counted from the front
// axle, the foremost first. Both ends are positions; the notches between them
// divide the travel evenly, so that a pitch rounded from inches does not run
// out of step. Nil where any place of the travel can be set, and while an end is
// not known.
func (s *Slider) Positions() []unit.Length {
	if s.Foremost == nil || s.Rearmost == nil || s.Pitch == nil || !(*s.Pitch > 0) || !(*s.Foremost <= *s.Rearmost) {
		return nil
	}
	first, travel := *s.Foremost, *s.Rearmost-*s.Foremost
	n, whole := s.notches()
	var out []unit.Length
	if !whole { // the ends and the pitch do not go together: both ends, and what the pitch gives
		for k := 0; unit.Length(k)**s.Pitch < travel-onNotch; k++ {
			out = append(out, first+unit.Length(k)**s.Pitch)
		}
		return append(out, *s.Rearmost)
	}
	for k := range n + 1 {
		at := first
		if n > 0 {
			at += travel * unit.Length(k) / unit.Length(n)
		}
		out = append(out, at)
	}
	return out
}

// notches tells into how many steps of the pitch the travel divides, and whether
// it does so without a rest, but for the rounding of a tape.
func (s *Slider) notches() (n int, whole bool) {
	travel := float64(*s.Rearmost - *s.Foremost)
	steps := math.Round(travel / float64(*s.Pitch))
	if steps == 0 {
		return 0, travel <= onNotch
	}
	return int(steps), math.Abs(travel/steps-float64(*s.Pitch)) <= pitchRounded+onNotch/steps+1e-9
}

// Near returns the position that a place stands in, or else the two between which
// it stands; on is whether it stands in one. Outside the travel both are the end.
func (s *Slider) Near(at unit.Length) (ahead, behind unit.Length, on bool) {
	all := s.Positions()
	if len(all) == 0 {
		return at, at, true
	}
	ahead, behind = all[0], all[len(all)-1]
	for _, x := range all {
		if math.Abs(float64(x-at)) <= onNotch+1e-9 {
			return x, x, true
		}
		if x <= at {
			ahead = x
		}
	}
	for i := len(all) - 1; i >= 0 && all[i] >= at; i-- {
		behind = all[i]
	}
	return ahead, behind, false
}

// check returns what is wrong with a slider and the position on it.
func (s *Slider) check(at *unit.Length, path string, bad func(path, found, expected string)) {
	if s.Pitch == nil || !(*s.Pitch > 0) {
		return
	}
	if _, whole := s.notches(); !whole {
		travel := *s.Rearmost - *s.Foremost
		n := math.Floor(float64(travel / *s.Pitch))
		could := func(n float64) string { return place(*s.Foremost + *s.Pitch*unit.Length(n)) }
		bad(path+".slider.pitch", fmt.Sprintf("pitch = %s, of which the travel of %s is no whole number", text(*s.Pitch), place(travel)),
			fmt.Sprintf("two ends that are slide positions: rearmost = %s or %s would go with this pitch", could(n), could(n+1)))
		return
	}
	if at == nil {
		return
	}
	if ahead, behind, on := s.Near(*at); !on {
		bad(path+".at", "at = "+text(*at)+", between two slide positions", fmt.Sprintf("a slide position; the nearest are %s and %s", place(ahead), place(behind)))
	}
}

// place prints a computed place to the hundredth of a millimetre.
func place(l unit.Length) string {
	return strconv.FormatFloat(math.Round(l.Millimetres()*100)/100, 'f', -1, 64) + " mm"
}
