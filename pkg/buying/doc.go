// Package buying says what may be paid for a piece, when neither what it will sell for nor the
// work that it is are known for sure. Trade, pure.
//
//	price ──less the fee──┐
//	hours × (labour + target)                          ┌▶ its quantile at 1 − chance: the most to pay
//	material              ├─▶ draws: what is left ─────┼▶ share that leaves what is asked: the chance
//	days × floor          │     for the purchase       ├▶ without one of them: drivers, conditions
//	fixed costs ──────────┘                            └▶ less what is asked: profit, profit per hour
//
// What is left for the purchase reaches the target per hour just when it is more than the purchase
// costs. So its quantile answers the question at once, and nothing has to be searched for.
//
// What is not known is taken as independent of each other: a piece that takes longer than expected
// sells for no less on that account. The draws are a fixed set of points that fill the space of
// chances evenly (a Sobol' sequence), so that the same question has the same answer, and two
// questions differ by what is asked and not by chance.
//
// Money is in minor units of one currency, hours are hands-on hours, days are calendar days. These
// are forecasts and so floating point; whoever shows one rounds it once, and nothing of it is booked.
package buying
