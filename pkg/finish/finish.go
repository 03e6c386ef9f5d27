// Package finish is what a finisher knows about layers: which wood needs what, which film
// goes over which, how an old finish is told, how wood is sanded; and it makes and checks
// the plan by which a piece gets the look that is wanted. Trade, pure.
//
//	Species (wood.go)   Family (film.go)   Product (product.go)
//	Assessment of a part (part.go) with its defects (defect.go)
//	SpotTest ─▶ old finish (spot.go)       Grit ─▶ sanding sequence (grit.go, sanding.go)
//	Bond: how a film holds on the one below (bond.go)
//	Rules (rules.go) look at the next Step (step.go, next.go) as the surface then stands and
//	dries (surface.go, drying.go):
//	  rules.go: safety ▸ groundrules.go ▸ lookrules.go ▸ layerrules.go ▸ smoothrules.go ▸
//	  repairrules.go ▸ surfacerules.go ▸ woodrules.go ▸ pointrules.go ▸ dryrules.go ▸ coatrules.go
//	  ├─▶ Check: every rule that a part's steps break (check.go)
//	  └─▶ Complete: what was forgotten, put in (complete.go)
//	Wanted look (look.go, twotone.go) + Palette (palette.go) ─▶ PlanPart (plan.go)
//	  └─▶ PlanPiece (piece.go): stages (stage.go) of its parts (chain.go), side by side,
//	      which meet where they must match (match.go) and are looked at (points.go)
//	Stages, edited ─▶ CheckPiece: every rule that they break (checkpiece.go, order.go)
//	  └─▶ Amounts: what they take of each product (stage.go)
//	Step ─▶ cautions (cautions.go), attended minutes, skill, station (minutes.go)
//	What only somebody at the piece can judge: floorrules.go
//
// A plan is made by the rules that check it: the coats that make a look are written down,
// and before each of them what its rules ask for, until none is broken. What a rule asks for
// is itself done only when nothing is missing before it; if something was, the surface is
// another, and the rules look at it anew.
//
// Where work can hurt somebody the package gives the usual cautions; local codes, the
// product's safety data sheet and licensed practice come before it.
package finish
