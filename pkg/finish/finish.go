// Package finish is what a finisher knows about layers: which wood needs what, which film
// goes over which, how an old finish is told, how wood is sanded; and it makes and checks
// the plan by which a piece gets the look that is wanted. Trade, pure.
//
//	Species (wood.go)   Family (film.go)   Assessment of a part (part.go)
//	SpotTest ─▶ old finish (spot.go)       Grit ─▶ sanding sequence (grit.go, sanding.go)
//	Bond: how a film holds on the one below (bond.go)
//	Rules (rules.go, layerrules.go) look at a Step (step.go) as the surface stands (surface.go)
//	  ├─▶ Check: every rule that a plan breaks        (check.go)
//	  └─▶ Complete: what was forgotten, put in
//	Wanted look + Palette ─▶ PlanPart (plan.go) ─▶ PlanPiece: parts side by side (piece.go)
//	Step ─▶ cautions (cautions.go), attended minutes (minutes.go)
//
// A plan is made by the rules that check it: the coats that make a look are written down,
// and before each of them what its rules ask for, until none is broken.
//
// Where work can hurt somebody the package gives the usual cautions; local codes, the
// product's safety data sheet and licensed practice come before it.
package finish
