// Package rule holds the limits of law as data, each with the place it was
// read, and holds values against them.
//
// A Book is one jurisdiction's limits. Book.Limits resolves them once for the
// declared Facts; Limit.Check then holds any number of values against one of
// them and returns a Finding each. The package knows nothing of vehicles: who
// asks declares facts and brings values in SI.
//
// # Three values
//
// A fact that is not declared is unknown. A rule whose conditions are then
// neither true nor false is returned beside the rule that it would replace, and
// each carries the facts that would decide. A value that passes both passes; a
// value that is beyond both does not; what lies between is cannot-tell, and the
// finding names the facts. So declaring more can settle an open answer and can
// never change a settled one.
//
// # Writing a rulebook
//
// A rulebook is a TOML file. This one tightens a parent for one fleet:
//
//	[book]
//	name = "our-fleet"            # small letters, digits, hyphens
//	title = "Our fleet, on top of German law"
//	parent = "de"                 # optional: all its rules are taken over
//	text-date = "2026-03"         # newest text it was read from; may be ""
//
//	[instrument.order]            # what is cited, once
//	title = "Fleet order 7"
//	version = "of 1 March 2026"
//	address = ""                  # optional
//
//	[[assume]]                    # optional: a fact taken for granted until declared
//	fact = "intermodal"
//	value = false
//	why = "We carry no containers."
//
//	[[drop]]                      # optional: a parent's rule that does not hold here
//	rule = "de-share-steer"
//	why = "Replaced by our own figure."
//
//	[[rule]]
//	id = "our-height"             # stable; unique in the book and its parents
//	title = "Height under our depot's gate"
//	quantity = "height"           # from Vocabulary
//	sense = "at most"             # or "at least"
//	unit = "m"                    # the law's own; "share" for shares
//	limit = 3.90
//	when = { trailer-body = ["standard", "refrigerated"] }
//	overrides = ["eu-height"]     # rules this one replaces where it applies
//	valid-from = 2026-03-01       # optional, and valid-to; compared with the fact date
//	evidence = "read"             # read, derived, second-hand, practice, memory
//	citation = { instrument = "order", point = "3" }
//	failed = "It will not pass our gate."
//
// The conditions in `when` must all hold. Each names a fact from FactTable and
// gives one value, a list of values, or a range with one or two of at-least,
// more-than, at-most and less-than. Lengths and masses are text with their unit:
// spacing = { at-least = "1.3 m", less-than = "1.8 m" }.
//
// The number is given in one of three ways. Besides limit = NUMBER there are
// steps of one numeric fact,
//
//	by = "spacing"
//	by-unit = "m"
//	bands = [
//	  { to = 1.0, limit = 11 },              # below 1.0: `to` itself is not in the band,
//	  { from = 1.0, to = 1.3, limit = 16 },  # `from` is
//	  { from = 1.3, from-included = false, to = 1.4, to-included = true, limit = 24 },
//	]
//	not-covered = "…"                        # optional: what to do outside the bands
//
// where and = "axles" in the rule and and = 3 in each band add a second key;
// and functions from a closed list, function = { name = "…", … }, whose other
// keys are the function's parameters:
//
//	bridge-formula       ties ("down" or "up"); facts axles, spread
//	reference-wheelbase  outer, inner, fitting-radius; fact trailer-width
//	fr-group-axle        whole-group; facts spacing (and axles)
//	fr-drive-tandem      fact spacing
//	de-artic-gross       facts: the four plates
//	axle-spread          of (a fact), per-metre, step, most
//	lesser-of            of (a fact), share, most
//
// A rule whose evidence is practice or memory never replaces one that was read:
// both are held, and what only the unverified one allows stays cannot-tell.
//
// A rule without a number is a statement about a gap: with not-covered it says
// that the book has no limit for the case, which makes every answer there
// cannot-tell; with lifts = true and overrides it says that the law sets none.
// The turning quantities also need outer-radius = "12.5 m".
//
// What the law allows on top is a raise:
//
//	[[raise]]
//	id = "our-battery"
//	title = "Mass of the battery"
//	rules = ["eu-gross"]          # the limits it raises
//	by = "extra-technology-mass"  # by this fact,
//	most = 2                      # up to this
//	unit = "t"
//	when = { fuel = "battery" }
//	evidence = "read"
//	citation = { instrument = "order", point = "4" }
//
// Nothing is guessed: unknown keys, facts, quantities and functions, missing
// citations, keys and ids used twice, overlapping bands, NaN, infinities, limits
// below zero (of lead-behind-axle alone they mean ahead of it), shares above 1,
// overrides that run in a circle are one error, file:line:column: what was
// found; what was expected. The text is UTF-8 and at most tomlfile.MaxSize long.
// A whole example is testdata/our-fleet.toml.
package rule
