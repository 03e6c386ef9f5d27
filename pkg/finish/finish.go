// Package finish is what a finisher knows about wood and films: what a wood asks of its
// finish, how an old finish is told, and how wood is sanded. Trade, pure.
//
//	Species (wood.go)                   Family (film.go)
//	SpotTest ─▶ old finish (spot.go)    Grit ─▶ sanding sequence (grit.go, sanding.go)
package finish
