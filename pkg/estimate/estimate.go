// Package estimate says, from what was, what will be: how long work takes, what a piece brings,
// how long it stands, and what to ask for it. Trade, pure.
//
//	History: observations ─▶ what is usual for a kind of stage ─▶ for a person at it
//	   └─▶ Forecast of a task: a log-normal time ─▶ Sum of a plan, with an interval
//
//	FitPrices: past sales ─▶ Prices: a level, and the effect of each trait's words
//	   └─▶ Forecast of a piece, with what its owner believes: a log-normal price ─┐ likely price
//	FitSelling: spells at an asking price ─▶ Selling: the chance of a sale in a day │
//	   └─▶ Unsold, Days ─────────────────────────────────────────────────────────┤
//	Market: fee, cost of the floor, salvage, terms of markdowns ◀────────────────┘
//	Reach, MostToAsk: what is known or was tried ─▶ no more is asked ◀────────────────┤
//	   └─▶ Best: the first asking price and the markdowns ─▶ Way: what comes of it ◀──┘
//
// Hands-on time is log-normal: what goes wrong takes longer without end, what goes well
// saves a little. The logarithm of a task's time is taken as
//
//	level of the kind + exponent × ln(size) + the person's own + chance
//
// and each level is drawn toward the one above it by how much is known (empirical Bayes):
// the kind toward a default, the person toward the kind. One more observation costs the
// same however many there are.
//
// Prices are log-normal too, with the effects of kind, size, condition, look, channel and
// season in place of people, each drawn toward none. The chance of a sale in a day is that at
// the likely price times a power of asked ÷ likely (proportional hazards), drawn toward what is
// believed. So all of it answers before there are data, and says how little it knows.
//
// Times of work are minutes, sizes are in whatever the kind of stage is measured by, most often
// m². Prices are minor units of the shop's currency, and days are since a piece was put up.
package estimate
