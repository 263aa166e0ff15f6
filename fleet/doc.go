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
//	actor, err := r.SignedIn(ctx, cookie)         // or ByToken, or Operator
//	ctx = fleet.WithActor(ctx, *actor)
//	done, err := r.Do(ctx, &fleet.AddVehicle{…})  // every change goes through Do
//	page, err := r.VehiclePage(ctx, done.Asset)   // questions are methods
//
// # Changes
//
// Every change is a command, a plain struct whose pointer is given to
// [Register.Do]. Each names when it happened (left out: now) and may carry a
// reason and an id, with which sending twice is the same as sending once. A command
// is entered whole or leaves nothing. [Done] says what came of it and what should
// be looked at.
//
//	AddVehicle ChangeVehicle ScrapVehicle      tractor, semi-trailer, dolly
//	AddPart ChangePart ScrapPart               fifth wheel, kingpin and others
//	FitPart RemovePart                         with odometer and date
//	AddType ChangeType                         from the maker's document
//	AddDepot ChangeDepot CloseDepot
//	OpenNotice ChangeNotice ClosePart CloseNotice
//	Couple Uncouple                            coupled periods
//	Attach                                     what Upload has put
//	ReplaceMeter JudgeReading
//	ChangeSettings                             name, law and loads of the register; limits
//	KeepAnswer
//	KeepCatalogue KeepSpecification            mounting parts; what is to be fitted
//	EnterBuilt TightenBolts                    what was fitted, and tightened again
//	DoTask FillSheet                           greased, checked; gauge sheets and what they mean
//	SignWork ReturnToService                   work orders, step by step
//	BlockUse ClearUse                          a jack-knife and its like, and the check after it
//	EnterCheck ReportDefect CloseDefect         what drivers did and saw; what was seen to
//	Correct Void Undo                          by a further record
//	AddAccount ChangeAccount CloseAccount Permit
//	IssueToken RevokeToken
//
// Details are given whole, as a form holds them, with the version of those that
// the person looked at, which every page tells. The register works out what changed
// and enters only that. A field left empty is unknown.
//
// Readings come in bulk and are no records: [Register.EnterReadings]. Files come
// in by [Register.Import], with a dry run.
//
// # Questions
//
//	Find List ByNumber DepotOf                 anything in one field; page by page
//	VehiclePage PartPage TypePage DepotPage NoticePage AccountPage Settings
//	History Recent                             records, newest first
//	OpenNotices Mileage Document
//	Catalogue SheetPage SheetInputs BoltsDue   mounting parts; a specification that was kept
//	DueOf DueList NotInUse                     what is due; what may not be used
//	GaugeSheet Outcome                         what to gauge; what it meant, and the work order
//	CertificateOf CheckCertificate             of an outcome; whether the register holds a code
//	Fleet FleetOf                              the register as a fleet file, for pairings
//	FieldsOf                                   what a form asks, with the help of the tape
//	YardHalf                                   what a vehicle's label shows to anyone who holds it
//
// # People
//
//	FirstLink LinkFor Redeem NewLink           one-time links
//	SignIn SignedIn SignOut ChangePassword
//	SignInFrom                                 whom an identity provider vouches for
//	Sessions EndSession TokensOf ByToken AccountOf
//	Roles Permissions                          the one table
//
// # Operation
//
//	NewSealKey Seal Verify Rebuild Backup Restore Export ImportAll CheckExport
//	RunNights NightlyOnce
//
// # Errors
//
//   - [*Invalid]: what was given cannot be so; each problem says where, what was
//     found and what was expected.
//   - [*Conflict]: somebody else changed the asset in between; all three versions
//     and what was typed are in it.
//   - [*NotAllowed]: the person's roles or depots do not allow it.
//   - [*Asked]: a gauge sheet has something that seems wrong; each question says what,
//     and whether it may be confirmed.
//   - [*NotFound]: there is no such thing.
//   - [*TooMany]: sign-in was tried too often; it says how long to wait.
//   - [ErrSignIn], [ErrNotSignedIn].
//   - [record.ErrClock] is wrapped when the machine's clock was set back.
//
// Anything else is the machine's own failure, most often a [*store.Unavailable].
package fleet
