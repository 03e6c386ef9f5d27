// Package estimate says how long work will take, from how long it took. Trade, pure.
//
//	History: observations ─▶ what is usual for a kind of stage ─▶ for a person at it
//	   └─▶ Forecast of a task: a log-normal time ─▶ Sum of a plan, with an interval
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
// Times are minutes, sizes are in whatever the kind of stage is measured by, most often m².
package estimate
