package yard

import (
	"cmp"
	"slices"

	"underpin/record"
	"underpin/unit"
)

// A Sensor is what reports by itself.
type Sensor string

const (
	LockSensor    Sensor = "lock"      // at the lock
	DisplaySensor Sensor = "display"   // the display in the cab, as it showed
	Cartridge     Sensor = "cartridge" // lubrication
)

// A SensorState is what a sensor says. Whatever is not closed is not locked.
type SensorState string

const (
	Closed SensorState = "closed"
	Open   SensorState = "open"
	Fault  SensorState = "fault"
	Silent SensorState = "silent" // nothing heard, or nothing sensible
	Low    SensorState = "low"    // a cartridge: nearly empty
	Empty  SensorState = "empty"
	Full   SensorState = "full"
)

// Locked tells whether a state may count as locked: closed alone does, and even
// that never replaces the driver's look.
func (s SensorState) Locked() bool { return s == Closed }

// A SensorEvent is one report of a sensor.
type SensorEvent struct {
	ID     record.ID    `json:"id"`
	Device string       `json:"device"` // who sends
	Asset  record.Asset `json:"asset"`  // the vehicle on which it sits
	Sensor Sensor       `json:"sensor"`
	State  SensorState  `json:"state"`
	At     record.Time  `json:"at"`               // by the device's clock
	Speed  *int64       `json:"mm_s,omitempty"`   // millimetres a second; nil is unknown
	Pin    YesNo        `json:"pin,omitempty"`    // whether a pin was sensed in the lock
	Detail string       `json:"detail,omitempty"` // fault code, as the device gives it
}

// Validate refuses an event that no sensor can have sent.
func (e *SensorEvent) Validate() error {
	if err := first(
		must("id", string(e.ID), e.ID.Valid(), "a version 7 UUID"),
		plain("device", e.Device, maxName, true), plain("detail", e.Detail, MaxWords, false),
		must("asset", string(e.Asset), e.Asset.Valid() && e.Asset.Kind() == record.VehicleAsset, "a vehicle"),
		must("sensor", string(e.Sensor), e.Sensor != "", "lock, display or cartridge"),
		oneOf("sensor", e.Sensor, LockSensor, DisplaySensor, Cartridge),
		must("at", e.At.String(), e.At.Valid(), "an instant"),
		between("mm_s", e.Speed, 0, 100_000), oneOf("pin", e.Pin, Yes, No),
	); err != nil {
		return err
	}
	may := []SensorState{Closed, Open, Fault, Silent}
	if e.Sensor == Cartridge {
		may = []SensorState{Full, Low, Empty, Fault, Silent}
	}
	return first(must("state", "", e.State != "", "a state"), oneOf("state", e.State, may...))
}

// A Stretch is a time, from an instant up to another; 0 as its end is still on.
type Stretch struct{ From, To record.Time }

func (s Stretch) holds(t record.Time) bool { return s.From <= t && (s.To == 0 || t < s.To) }

// A Warning is what the events of a coupling warn of.
type Warning struct {
	Kind    string // contradiction, moving-unlocked, silent, fault, empty-lock, lubrication
	At      record.Time
	Event   record.ID
	Message Message
}

// Kinds of warning.
const (
	Contradiction  = "contradiction"
	MovingUnlocked = "moving-unlocked"
	SilentSensor   = "silent"
	FaultySensor   = "fault"
	EmptyLock      = "empty-lock"
	Lubrication    = "lubrication"
)

// A Watched is what is known beside the events of one coupling.
type Watched struct {
	// Coupled are the coupled periods of the vehicle; within one of them the lock
	// has to be closed. Known tells whether they are known at all: if not, every
	// movement while unlocked warns.
	Coupled []Stretch
	Known   bool
	// Manoeuvres are the checks under way: between their first answer and their
	// signature the lock may be open.
	Manoeuvres []Stretch
	// Locked are the instants at which a driver's check said that the lock was
	// proven closed.
	Locked []record.Time
	Now    record.Time
	// Silence is how long a sensor may say nothing while coupled; 0 was not set,
	// and silence is not looked for.
	Silence record.Time
}

// agree is how long after a driver's check a sensor may take to say the same.
//
// Source: common practice, no source: an assumption.
const agree record.Time = 60 * 1_000_000

// Watch goes through the events of one coupling in the order in which they
// happened, however they arrived, and returns what to warn of, each thing once
// for each time that it begins.
func Watch(events []SensorEvent, w Watched) []Warning {
	var all []Warning
	warn := func(kind string, at record.Time, id record.ID, m Message) {
		all = append(all, Warning{kind, at, id, m})
	}
	events = happened(events)
	w.contradictions(events, warn)

	type track struct {
		last          SensorEvent
		moving, noPin bool
	}
	of := map[Sensor]*track{}
	for _, e := range events {
		t := of[e.Sensor]
		if t == nil {
			t = &track{}
			of[e.Sensor] = t
		}
		if e.Sensor == Cartridge {
			if e.State != Full && e.State != t.last.State {
				warn(Lubrication, e.At, e.ID, sensed("sense.cartridge", &e))
			}
			t.last = e
			continue
		}
		if e.State == Fault && t.last.State != Fault {
			warn(FaultySensor, e.At, e.ID, sensed("sense.fault", &e))
		}
		moving := !e.State.Locked() && e.Speed != nil && *e.Speed > 0 && w.mustBeLocked(e.At)
		if moving && !t.moving {
			warn(MovingUnlocked, e.At, e.ID, sensed("sense.moving", &e))
		}
		noPin := e.State == Closed && e.Pin == No && w.mustBeLocked(e.At)
		if noPin && !t.noPin {
			warn(EmptyLock, e.At, e.ID, say("sense.empty-lock"))
		}
		t.last, t.moving, t.noPin = e, moving, noPin
	}
	if w.Silence > 0 {
		for _, sensor := range []Sensor{LockSensor, DisplaySensor} {
			if t := of[sensor]; t != nil && w.Now-t.last.At > w.Silence && w.mustBeLocked(w.Now) {
				warn(SilentSensor, t.last.At, t.last.ID, sensed("sense.silent", &t.last))
			}
		}
	}
	slices.SortStableFunc(all, func(a, b Warning) int { return cmp.Compare(a.At, b.At) })
	return all
}

// happened puts events in the order in which they happened.
func happened(events []SensorEvent) []SensorEvent {
	return slices.SortedStableFunc(slices.Values(events), func(a, b SensorEvent) int {
		return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.ID, b.ID))
	})
}

// Latest is what each sensor of one vehicle said last, however the events arrived.
func Latest(events []SensorEvent) map[Sensor]SensorEvent {
	last := map[Sensor]SensorEvent{}
	for _, e := range happened(events) {
		last[e.Sensor] = e
	}
	return last
}

// mustBeLocked tells whether the lock has to be closed at an instant.
func (w Watched) mustBeLocked(at record.Time) bool {
	in := func(all []Stretch) bool {
		return slices.ContainsFunc(all, func(s Stretch) bool { return s.holds(at) })
	}
	return (!w.Known || in(w.Coupled)) && !in(w.Manoeuvres)
}

// contradictions holds what each sensor says after a driver's check, up to the
// next one or the end of the coupled period, against what the driver saw.
func (w Watched) contradictions(events []SensorEvent, warn func(string, record.Time, record.ID, Message)) {
	for _, checked := range w.Locked {
		from, until := checked+agree, w.Now+1
		for _, p := range w.Coupled {
			if p.holds(checked) && p.To != 0 {
				until = min(until, p.To)
			}
		}
		for _, other := range w.Locked {
			if other > checked {
				until = min(until, other)
			}
		}
		for _, sensor := range []Sensor{LockSensor, DisplaySensor} {
			var said *SensorEvent // what lasted when it should have agreed
			for i := range events {
				if e := &events[i]; e.Sensor == sensor && e.At <= from {
					said = e
				}
			}
			at := from
			if said == nil || said.State.Locked() || !w.mustBeLocked(from) {
				said = nil
				for i := range events {
					if e := &events[i]; e.Sensor == sensor && e.At > from && !e.State.Locked() && w.mustBeLocked(e.At) {
						said, at = e, e.At
						break
					}
				}
			}
			if said != nil && at < until {
				warn(Contradiction, at, said.ID, sensed("sense.contradiction", said))
			}
		}
	}
}

// sensed is a message about an event: which sensor, its state, and the speed.
func sensed(k Key, e *SensorEvent) Message {
	kmh := unit.Unknown
	if e.Speed != nil {
		kmh = unit.Digits(float64(*e.Speed)*3.6/1000, 0)
	}
	return Message{Key: k, Args: []Arg{{Key: Key("sensor." + string(e.Sensor))}, {Key: Key("state." + string(e.State))}, {Text: kmh}}}
}
