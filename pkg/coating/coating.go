// Package coating is the arithmetic of films: how far a product goes, how thick it stands
// wet and dry, how much of it a job needs, and what solvent it lets go. Trade, pure.
//
//	solids, film ─▶ spreading rate, wet film, thinning    (film.go)
//	a job        ─▶ litres of product and of thinner      (need.go, method.go)
//	a formula    ─▶ volatile compounds per litre          (voc.go, blend.go)
//	two parts    ─▶ how much of each, in how many batches (twopart.go)
//	an area      ─▶ sheets of abrasive                    (sheets.go)
//
// Areas are m², volumes L, films µm, masses g, densities g/L, shares percent. What is
// bought and paid for is exact and in package quantity; what a job will need is an
// estimate, and here.
package coating
