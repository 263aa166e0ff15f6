// Package drawing turns a pairing and its result into drawings: the side view,
// the plan, and the turn on the legal circle. It decides nothing: what holds,
// fails or cannot be told is read off the result, and what is drawn comes from
// the vehicles' data.
//
// # What is known and what is not
//
// Places, lengths, heights and radii that the fleet file gives are drawn true to
// scale in full lines. Where one is missing the part is drawn dashed, in the
// colour of what cannot be told, at a place that is only plausible, and the
// drawing lists what is missing. Cab, bodies, frame and suspension have plain
// shapes of our own between the points that are known; the drawing gives no
// dimension for what was not measured.
//
// # Axes
//
// The combination faces left. In the side view x runs from the front axle
// rearwards, to the right, and y up from the ground. In the plan x is the same,
// and the vehicle's left-hand side is below, as seen from above. The turn is a
// left-hand turn.
//
// # For a page's script
//
// Parts carry ids that begin with Options.ID (shown here as "side") and classes:
//
//	#side-tractor     the tractor
//	.moves-with-lead  what moves with the coupling: semi-trailer, fifth wheel,
//	                  marks. data-lead-mm is the lead it is drawn at and
//	                  data-mm-per-unit how many real millimetres one unit of the
//	                  viewBox is. To show another lead, translate each by
//	                  x = (data-lead-mm − lead) / data-mm-per-unit.
//	.lead-handle      a mark that can be dragged, also .moves-with-lead. It holds
//	                  data-travel-mm "least most", data-lawful-mm "least most"
//	                  pairs, data-pitch-mm (0: any position) and data-rearmost-mm,
//	                  the lead from which slide positions are counted forwards.
//	                  Dragging to the right, rearwards, makes the lead smaller.
//	.settled          figures that hold for the drawn lead only: loads, dimensions.
//	                  Fade them while dragging; the answer brings new ones.
//	.load             one group of axles, with data-group, data-kg, data-limit-kg,
//	                  data-state (holds, caution, fails, unknown; empty: no limit)
//
// Lettering and lines are sized in paper millimetres, so how large they are on
// a screen is the width that the page gives the drawing over Options.Width: 260
// suits 900 px and more, 200 a tablet, Options.Phone 360 px.
//
// There are two handles: one to scale above the coupling, and one on the enlarged
// slide scale, which is long enough for a finger.
package drawing
