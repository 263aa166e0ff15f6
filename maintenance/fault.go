package maintenance

import "slices"

// A Release is how a lock is opened.
type Release string

const (
	ManualRelease  Release = "manual"     // by hand, latches by itself
	OneHandRelease Release = "one-handed" // by hand with one hand, often from the side
	AirRelease     Release = "air"        // by compressed air
	RemoteRelease  Release = "remote"     // from the cab, with a display
)

// Releases lists the kinds.
func Releases() []Release {
	return []Release{ManualRelease, OneHandRelease, AirRelease, RemoteRelease}
}

// A Symptom is what somebody notices, with what may be behind it.
type Symptom struct {
	Key    string
	Name   Text
	Stop   bool // nobody drives before it is cleared
	Causes []Cause
}

// A Cause is one thing that may be behind a symptom: how to check it, and what to
// do when it is so.
type Cause struct {
	Key     string
	Name    Text
	Check   Text
	Action  Text
	Work    string    // key of the repair; empty: the action says all
	Measure string    // measure that tells; empty: by eye
	Only    []Release // kinds of release that have it; empty: all
	Weight  int       // 1 the likeliest; equal numbers are as likely
}

// FindFault returns a symptom with the causes that a kind of release can have,
// likeliest first.
func FindFault(symptom string, r Release) (Symptom, bool) {
	for _, s := range symptoms {
		if s.Key != symptom {
			continue
		}
		var causes []Cause
		for _, c := range s.Causes {
			if len(c.Only) == 0 || slices.Contains(c.Only, r) {
				causes = append(causes, c)
			}
		}
		slices.SortStableFunc(causes, func(a, b Cause) int { return a.Weight - b.Weight })
		s.Causes = causes
		return s, true
	}
	return Symptom{}, false
}

// Symptoms lists all symptoms with all causes.
func Symptoms() []Symptom { return slices.Clone(symptoms[:]) }

// Evidence that a lock is closed, by kind of release, and where it deceives.
type ClosedLock struct {
	Release  Release
	Evidence []Text
	Traps    []Text
}

// ClosedBy returns what shows that a lock of this kind is closed. The look at the
// jaws behind the pin comes first for every kind: handle, catch, display and a
// tug together have been right with the pin on top of the jaws.
func ClosedBy(r Release) ClosedLock {
	for _, c := range closedLocks {
		if c.Release == r {
			c.Evidence = append(slices.Clone(closedAlways), c.Evidence...)
			return c
		}
	}
	return ClosedLock{Release: r, Evidence: closedAlways}
}

// Source: common practice, no source; DGUV Information 214-080 for what is felt
// and seen.
var closedAlways = keyed("closed.always",
	"No gap and no light between the plates.",
	"With a torch from behind: jaws or bar closed behind the neck of the pin.",
	"A gentle tug with the trailer braked, legs just clear, and then the look again.")

var closedLocks = [...]ClosedLock{
	{ManualRelease, keyed("closed.manual", "Handle swung fully in.", "Safety catch fallen by itself, or hook or padlock through its hole.", "The inner notch of the handle cannot be seen."),
		keyed("trap.manual", "A catch held up by dirt or ice.", "A clip left off.")},
	{OneHandRelease, keyed("closed.one-handed", "Handle swung fully in, catch in its place.", "The indicating pin can be neither seen nor felt."),
		keyed("trap.one-handed", "Gloves on: take one off and feel.")},
	{AirRelease, keyed("closed.air", "Handle or indicator returned, cylinder vented, second safety in.", "With the air gone the lock stays shut."),
		keyed("trap.air", "A piston that did not come back.", "Air left in the line.")},
	{RemoteRelease, keyed("closed.remote", "The display says closed, and the mechanical check says so too."),
		keyed("trap.remote", "A sensor may read closed on an empty lock, or with the pin too high: the display never stands for the look.", "A display that is dark or shows a fault counts as open.")},
}
