// Package finish is what a finisher knows about layers: which wood needs what, which film
// goes over which, how an old finish is told, how wood is sanded; and it makes and checks
// the plan by which a piece gets the look that is wanted. Trade, pure.
//
//	Species (wood.go)   Family (film.go)   Product (product.go)   Assessment of a part (part.go)
//	SpotTest ─▶ old finish (spot.go)       Grit ─▶ sanding sequence (grit.go, sanding.go)
//	Bond: how a film holds on the one below (bond.go)
//	Rules (rules.go) look at a Step (step.go) as the surface stands (surface.go):
//	  groundrules.go ▸ surfacerules.go ▸ lookrules.go ▸ layerrules.go ▸ coatrules.go
//	  ├─▶ Check: every rule that a part's steps break (check.go)
//	  └─▶ Complete: what was forgotten, put in
//	Wanted look (look.go) + Palette (palette.go) ─▶ PlanPart (plan.go)
//	  └─▶ PlanPiece (piece.go): stages (stage.go) of its parts (chain.go), side by side,
//	      which meet where they must match (match.go)
//	Stages, edited ─▶ CheckPiece (checkpiece.go, order.go) ─▶ Standing: the stops that nobody
//	      answers for (override.go); Amounts: what they take of each product
//	Step ─▶ cautions (cautions.go), attended minutes, skill, station (minutes.go)
//	What only somebody at the piece can judge: floorrules.go
//
// A plan is made by the rules that check it: the coats that make a look are written down,
// and before each of them what its rules ask for, until none is broken.
//
// Where work can hurt somebody the package gives the usual cautions; local codes, the
// product's safety data sheet and licensed practice come before it.
package finish
