package axleload

import "underpin/unit"

// A Slid is a pair after its trailer's running gear was moved.
type Slid struct {
	Pair                 // with the new distance and the tare that belongs to it
	Imposed    unit.Mass // K
	Bogie      unit.Mass // B
	PerForward float64   // kg that come onto the bogie for each metre of further move forward
}

// TandemSlider returns the loads of a semi-trailer whose running gear slides
// along its frame. The running gear moves with its axles, the rest stays:
//
//	K(L) = W_s − M_s/L ,   B(L) = S + M_s/L ,   dB/dL = −M_s/L²
//
//	S    mass of the sliding running gear                          kg
//	W_s  W_te + P − S, the rest                                    kg
//	M_s  its moment about the kingpin, from the weighed position   kg·m
//	L    kingpin to the reaction line after the move               m
//	K, B result                                                    kg
//
// Forwards puts more on the trailer's axles and less on the tractor, rearwards
// the opposite.
//
// Valid for the ranges of Loads, 0 ≤ S ≤ tare-bogie and L > 0; outside, the error
// is a *unit.DomainError. Laws on the distance from kingpin to rear axle and on
// bridges are checked elsewhere.
//
// Source: derived; handbook chapter 03, 4.2.
func TandemSlider(in Pair, runningGear unit.Mass, pinToBogie unit.Length) (Slid, error) {
	const name = "tandem slider"
	if err := first(in.check(name, true), wantPositive(name, "pin-to-bogie", pinToBogie)); err != nil {
		return Slid{}, err
	}
	if !(0 <= runningGear && runningGear <= in.TareBogie) {
		return Slid{}, &unit.DomainError{Formula: name, Input: "running-gear", Value: float64(runningGear), Want: "0 ≤ S ≤ tare-bogie"}
	}
	sprung := in.TareBogie - runningGear // its moment about the kingpin, over the old distance
	tareMoment := float64(sprung) * float64(in.PinToBogie)
	out := Slid{Pair: in}
	out.PinToBogie = pinToBogie
	out.TareBogie = runningGear + unit.Mass(tareMoment/float64(pinToBogie))
	out.TarePin = in.TarePin + in.TareBogie - out.TareBogie
	r, err := Loads(out.Pair)
	if err != nil {
		return Slid{}, err
	}
	out.Imposed, out.Bogie = r.Imposed, r.Bogie
	L := float64(pinToBogie)
	out.PerForward = (tareMoment + float64(in.Payload)*float64(in.PayloadAt)) / (L * L)
	return out, nil
}
