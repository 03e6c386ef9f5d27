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
//	on ─ pause ─▶ paused ─ resume ─▶ on, at the same      paused ─ clock on ─▶ on, elsewhere
//
// What is past its shift, and what a device sent that contradicts other entries, is a review
// that the lead settles; see Review. Stages of several pieces are run as one in a Batch; a part
// stands at a Station, or is with others (see Outside), and never at two places at once.
//
// An inspection ends a stage of its own kind by a pass, or sends work back by a fail:
//
//	inspect: ready ─ pass ─▶ finished
//	         ready ─ fail ─▶ waiting, and the named stage with all that built on it open again
//
// A stage is nobody's, somebody's, or several people's; what waits for hands is offered to who
// asks, first what it costs most to let wait (see Search). Alike stages of several pieces may
// be run as one, in a batch, over which what it takes is split.
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
