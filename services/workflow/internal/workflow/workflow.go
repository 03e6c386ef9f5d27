// Package workflow is the work on pieces: who can do what, which stage comes after
// which, who worked when, where everything stands, and what was found wrong. Rules only: no
// clock, database or wire.
//
// A route is a named partial order of steps. Laid out over the parts of a piece it
// becomes the piece's stages:
//
//	part A   strip ─▶ sand ─▶ coat ──┐
//	part B   strip ─▶ sand ─▶ coat ──┴─▶ hardware on ─▶ inspect     (the whole piece)
//
// A stage moves so, and is named by what holds it up:
//
//	waiting ─(all before it finished)─▶ drying ─(their unattended time over)─▶ ready
//	ready ─ clock on ─▶ in work ─ clock off ─▶ ready ─ finish ─▶ finished
//	finished ─ send back ─▶ waiting or ready again, in its next pass: rework
//	waiting, drying, ready ─ its part is sent out ─▶ away ─ it is back ─▶ as before, or finished
//
// Work counts for the pass in which it was done, whenever it is written down. A clock entry
// is a stretch of one person's time on one stage, or on what belongs to no piece:
//
//	on ─▶ open ─ off ─▶ closed ─ correct ─▶ superseded by a new closed entry, or by none
//
// A person has one pair of hands:
//
//	off ─ clock on ─▶ on ─ switch ─▶ on, elsewhere        on ─ clock off ─▶ off
//	on ─ switch, finishing ─▶ on, elsewhere; what they left is finished
//	on ─ pause ─▶ paused ─ resume ─▶ on, at the same      paused ─ clock on ─▶ on, elsewhere
//
// What is past its shift, and what a device sent that contradicts other entries, is a review
// that the lead settles. It is raised, settled once, and never deleted:
//
//	a shift is over, its clock runs ─▶ raised ─ clock off in time, or by the lead ─▶ settled
//	a device sent what does not fit ─▶ raised ─ accept, or it fits in the end ─▶ settled: it counts
//	                                   raised ─ dismiss ─▶ settled: it runs rightly, or counts for nothing
//
// Alike stages of several pieces may be run as one, in a batch, over which what it takes is
// split. A batch of which no stage is left is dissolved, or finished with the last one:
//
//	form ─▶ open ─ finish ─▶ finished, with all its stages
//	        open ─ finish a stage by itself, or take one out ─▶ open, without it
//	        open ─ dissolve ─▶ dissolved: its stages go on one by one
//
// A part stands at a Station or is with others, and never at two places at once. What others do
// is outside work, and while it is out nobody works on its part here:
//
//	send out ─▶ out ─ receive ─▶ back: its stage is finished, what it cost is the piece's
//	            out ─ chase ─▶ out, and perhaps due on another day
//	            out ─ receive, undone ─▶ called off: its stage waits again
//	back, called off ─ correct the bill ─▶ as it was
//
// An inspection ends a stage of its own kind by a pass, or sends work back by a fail:
//
//	inspect: ready ─ pass ─▶ finished
//	         drying, ready, finished ─ fail ─▶ waiting, and the named stage with all that built on it open again
//
// A stage is nobody's, somebody's, or several people's; what waits for hands is offered to who
// asks, first what it costs most to let wait (see Search).
// Whoever does not want one gives it back, or asks somebody else to take it (see Swap).
//
// Instead of a route a piece may have a finish plan, made and checked by package finish. Its
// stages know their product, grit and station, and what they need of the films below:
//
//	wishes for the parts + products ─▶ draft ─ check, edit ─▶ approved: the piece's stages
//	approved ─ amend ─▶ another version; what was begun stays
//
// A finished stage that leaves something wet starts a dry clock. It is computed anew from
// the readings of the zone where the part stands, and says when that is worth telling:
//
//	finish stage ─▶ dry clock ◀─ readings, a move, a moisture test, somebody's finger
//	                    └─▶ forecast changed, part ready, recoat window closing
//
// What is wet stays so when its stage is sent back, until that is done again or the film is
// taken off.
//
// Nobody starts a stage on a part that is not dry enough for it, in air that its product
// cannot stand, or without having read its cautions; nor one that makes dust of an old
// coating before a test for lead. All but the last two may be overridden with a reason. Nor is
// sent out what is too wet to be wrapped, which nothing overrides.
package workflow
