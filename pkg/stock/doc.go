// Package stock tells what to buy, how much of it and by when, and which planned work would
// stand still for want of it. Trade, pure.
//
//	what was used beside the plan ─▶ UseOf ──▶ Spread ─┐
//	how long deliveries took ──────▶ Learn ──▶ Spread ─┼─▶ Policy.Look ─▶ Advice: order now?
//	what plans reserve, by day ────▶ Need ─────────────┤       │          how much, by when, why
//	what is on order, by day ──────▶ Arrival ──────────┘       └──▶ Policy.Choose: of which package,
//	                                                                 how many
//
// Demand is of two kinds. What plans reserve is known, with its day; only what is used beside
// them has to be guessed. So stock is held for the guesswork and not for what is known: that is
// bought in time. A plain threshold cannot tell the two apart, and has to be high enough for both.
//
// Amounts are in the unit that a product is counted in, times in days from now. These are
// forecasts and so floating point; what is on hand and what it cost is in the books, exactly.
package stock
