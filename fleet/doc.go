// Package fleet is the application: it lets people change the register, answers
// their questions, and looks after the records. It decides who may do what, holds
// each change against what is known, and enters it as records in one transaction
// of the store. It knows neither HTTP nor SQL.
//
// # Use
//
// A [Register] is made once over a store and is safe for use by many goroutines.
// Its clock, its chance and its way of knowing who acts are fields of [World], so
// that a test can start it at any hour with any die.
//
//	r := fleet.New(st, fleet.World{})
//	ctx = fleet.WithActor(ctx, actor)             // from SignedIn, ByToken or Operator
//	done, err := r.Do(ctx, fleet.AddVehicle{...}) // every change goes through Do
//	page, err := r.VehiclePage(ctx, done.Asset)   // questions are methods
//
// # Changes
//
// Every change is a command, a plain struct given to [Register.Do]. Each names
// when it happened (left out: now) and may carry a reason and an id, with which
// sending twice is the same as sending once. A command either is entered whole
// or leaves nothing.
//
//	AddVehicle ChangeVehicle ScrapVehicle      tractor, semi-trailer, dolly
//	AddPart ChangePart ScrapPart               fifth wheel, kingpin and others
//	FitPart RemovePart                         with odometer and date
//	AddType ChangeType                         from the maker's document
//	AddDepot ChangeDepot CloseDepot
//	OpenNotice ChangeNotice ClosePart CloseNotice
//	Couple Uncouple                            coupled periods
//	Attach                                     documents and photos
//	ReplaceMeter JudgeReading
//	ChangeSettings                             name, law and loads of the register
//	KeepAnswer
//	Correct Void Undo                          by a further record
//	AddAccount ChangeAccount CloseAccount Permit
//
// Readings come in bulk and are no records: [Register.EnterReadings].
//
// # Errors
//
//   - [*Invalid]: what was given cannot be so; each error says where, what was
//     found and what was expected.
//   - [*Conflict]: somebody else changed the asset in between; both versions and
//     what was typed are in it.
//   - [*NotAllowed]: the person's roles do not allow it.
//   - [*NotFound]: there is no such thing.
//   - [*TooMany]: sign-in was tried too often; it says how long to wait.
//
// Anything else is the machine's own failure.
package fleet
