package maintenance

import "strings"

// A Task is work that comes again, or that an event calls for. Its steps are in
// our own words; the instructions of the type that is fitted go before them.
type Task struct {
	Key      string
	Name     Text
	Half     Half   // which half of the combination it needs
	Point    Point  // the greasing point it serves, if it is greasing
	Apart    bool   // only uncoupled
	Prepare  []Text // before it
	Steps    []Text
	Cautions []Text
	Why      Text
}

// A Half is what of a combination stands in the workshop.
type Half string

const (
	Tractor Half = "tractor" // the tractor alone: the lock, with a test pin or lock gauge
	Trailer Half = "trailer" // the trailer alone: pin and rubbing plate
	Pair    Half = "pair"    // both, coupled: play, pads, slider, frame
)

// A Point is a place that is greased. Each has an interval of its own.
type Point string

const (
	PlatePoint   Point = "plate"   // top of the fifth wheel, where the trailer's plate slides
	LockPoint    Point = "lock"    // jaw, wear ring, and what moves in the lock
	PinPoint     Point = "pin"     // neck and collar of the kingpin
	BearingPoint Point = "bearing" // pivots of the fifth wheel in its pedestals
	SliderPoint  Point = "slider"  // rails and locking pins of a sliding fifth wheel
	FilmPoint    Point = "film"    // the trailer's rubbing plate, a thin film against rust where the plate runs on a liner
)

// Lubrication says how the top plate is lubricated.
type Lubrication string

const (
	ByHand    Lubrication = "manual"
	Liner     Lubrication = "liner"     // low-maintenance liner on the plate
	Central   Lubrication = "central"   // central lubrication of the vehicle
	Cartridge Lubrication = "cartridge" // automatic cartridge
)

// LubricationOf reads how a type record names its lubrication. What is none of our
// words counts as by hand, the careful one, and known is false.
func LubricationOf(text string) (kind Lubrication, known bool) {
	switch l := Lubrication(strings.ToLower(strings.TrimSpace(text))); l {
	case ByHand, Liner, Central, Cartridge:
		return l, true
	}
	return ByHand, false
}

// FindTask returns a task by its key.
func FindTask(key string) (Task, bool) {
	for _, t := range tasks {
		if t.Key == key {
			return t, true
		}
	}
	return Task{}, false
}

// Tasks lists every task there is.
func Tasks() []Task { return append([]Task(nil), tasks[:]...) }

// Keys of the tasks that other parts of the program name.
const (
	FirstGrease    = "first-grease"
	GreasePlate    = "grease-plate"
	GreaseLock     = "grease-lock"
	GreasePin      = "grease-pin"
	GreaseBearing  = "grease-bearing"
	GreaseSlider   = "grease-slider"
	FilmPlate      = "film-rubbing-plate"
	CentralLevel   = "central-level"
	CartridgeSwap  = "cartridge-change"
	FullCheck      = "full-check"
	VisualCheck    = "visual-check"
	YearlyCheck    = "yearly-check"
	FirstRetorque  = "first-retorque"
	FirstSlider    = "first-slider-setting"
	UncouplePair   = "uncouple-pair"
	SpringClean    = "spring-clean"
	AfterEvent     = "after-event"
	AdjustLockWork = "adjust-lock"
)
