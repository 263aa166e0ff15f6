// Package vehicle holds what a fleet knows of its tractors, semi-trailers,
// fifth wheels, kingpins and loads, reads it from the fleet file, derives what
// can be derived from tape, plates and weighbridge tickets, and refuses what
// cannot be.
//
// # Datum and signs
//
// Tractor: x runs from the front axle centre rearwards. Semi-trailer: x runs
// from the kingpin axis rearwards; distances ahead of the kingpin have names of
// their own (front overhang) and are positive. y is positive to the left, z is
// up from level ground. Lengths are horizontal unless the field says height.
//
// # Unknown
//
// A pointer that is nil is a value nobody has given. It stays unknown: no field
// has a default that could pass for a measurement. A calculation that needs it
// answers "cannot tell" and names the field.
//
// # Masses
//
// Tare is the vehicle ready to drive, as weighed: driver, fuel, kit, coupling.
// Each gross mass includes the imposed load: the tractor's gross mass includes
// what the kingpin lays on it, and the semi-trailer's gross mass includes what
// it lays on the tractor.
package vehicle
