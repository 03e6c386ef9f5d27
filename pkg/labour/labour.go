// Package labour is what a workweek of somebody's comes to: hours, paid breaks, rounded punches,
// overtime and the premium for it. Trade, pure.
//
//	spells ─▶ runs: spells joined where no time, or a paid break, lies between
//	             └─▶ ends rounded, cut at the week ─▶ paid hours, by day ─▶ overtime
//	pay of the spells, breaks and rounding ÷ paid hours = regular rate ─▶ premium ─▶ its jobs
//
// The arithmetic is that of the Fair Labor Standards Act of the United States as 29 CFR parts 778
// and 785 work it out:
//
//   - Each workweek stands alone, seven days of 24 hours that recur (778.104, 778.105). Here a day is
//     a calendar day by the shop's clock, so that a week in which the clock is moved has 167 or 169
//     hours; hours worked are those that went by.
//   - The regular rate is all pay for the week by all hours paid in it, the weighted average where
//     there are several rates (778.109, 778.115); bonuses and piece wages belong in it (778.110(b),
//     778.111).
//   - Straight pay has been earned for all hours already; an hour of overtime earns the rest on top
//     of it: half the regular rate where time and a half is paid (778.110(a)).
//   - A rest of 5 to about 20 minutes is time worked (785.18); a meal of 30 minutes or more usually is
//     not (785.19).
//   - Punches may be rounded to the nearest 5 minutes, tenth or quarter of an hour, if that averages
//     out (785.48(b)).
//
// Overtime by the day is no rule of that act; several states have one. Which law holds, for whom and
// from how many hours is for the shop to know: local law may be another.
package labour

import (
	"fmt"
	"time"

	"tackfree/pkg/fault"
)

// Rule is what a shop pays by. The zero value pays straight time for what was clocked.
type Rule struct {
	WeeklyAfter time.Duration // time paid in a workweek from which on it is overtime; 0: there is none by the week
	DailyAfter  time.Duration // the same of a calendar day; 0: there is none by the day
	Percent     int64         // of the regular rate that an hour of overtime earns; 150: half on top
	PaidBreak   time.Duration // a pause up to this long counts as worked; 0: none does
	RoundTo     time.Duration // punches go to the nearest mark of the clock: 5, 6 or 15 minutes; 0: they stay
	ToOverhead  bool          // the premium belongs to no job, but to the parts of the week alone; else to its jobs, by hours
}

// MaxBreak is the longest break that a rule can have paid: more is a slip of the pen (common practice).
// So a spell matters to a workweek that begins or ends no further from it.
const MaxBreak = time.Hour

// The most that a rule may say.
const (
	maxWeekly  = 168 * time.Hour
	maxDaily   = 24 * time.Hour
	maxPercent = 400
)

// Check refuses a rule that cannot be meant. Faults, all Invalid: OVERTIME_HOURS_ABSURD,
// OVERTIME_PERCENT_ABSURD, PAID_BREAK_ABSURD, ROUNDING_UNKNOWN.
func (r Rule) Check() error {
	switch {
	case r.WeeklyAfter < 0 || r.WeeklyAfter > maxWeekly:
		return fault.New(fault.Invalid, "OVERTIME_HOURS_ABSURD", "Overtime by the week begins after at most 168 hours, or never; %s hours are neither.", clockTime(r.WeeklyAfter))
	case r.DailyAfter < 0 || r.DailyAfter > maxDaily:
		return fault.New(fault.Invalid, "OVERTIME_HOURS_ABSURD", "Overtime by the day begins after at most 24 hours, or never; %s hours are neither.", clockTime(r.DailyAfter))
	case r.overtime() && (r.Percent <= 100 || r.Percent > maxPercent):
		return fault.New(fault.Invalid, "OVERTIME_PERCENT_ABSURD", "An hour of overtime earns more than 100 percent of the regular rate and up to 400, 150 for time and a half; %d is not that.", r.Percent)
	case !r.overtime() && r.Percent != 0:
		return fault.New(fault.Invalid, "OVERTIME_PERCENT_ABSURD", "It says what overtime earns, %d percent, but not after how many hours it begins; say that too, or neither.", r.Percent)
	case r.PaidBreak < 0 || r.PaidBreak > MaxBreak:
		return fault.New(fault.Invalid, "PAID_BREAK_ABSURD", "A paid break is up to 60 minutes long, 20 being usual; %s hours are not.", clockTime(r.PaidBreak))
	}
	return r.checkRounding()
}

func (r Rule) checkRounding() error {
	switch r.RoundTo {
	case 0, 5 * time.Minute, 6 * time.Minute, 15 * time.Minute:
		return nil
	}
	return fault.New(fault.Invalid, "ROUNDING_UNKNOWN", "Punches are rounded to the nearest 5, 6 or 15 minutes, or not at all; %s hours are none of these.", clockTime(r.RoundTo))
}

// clockTime writes a length of time as hours, minutes and, where there are any, seconds: 400:00.
func clockTime(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "-", -d
	}
	text := fmt.Sprintf("%s%d:%02d", sign, d/time.Hour, d%time.Hour/time.Minute)
	if rest := d % time.Minute / time.Second; rest != 0 {
		text += fmt.Sprintf(":%02d", rest)
	}
	return text
}

// overtime reports whether there is any.
func (r Rule) overtime() bool { return r.WeeklyAfter > 0 || r.DailyAfter > 0 }

// Plain reports a rule that pays straight time for what was clocked.
func (r Rule) Plain() bool { return !r.overtime() && r.PaidBreak == 0 && r.RoundTo == 0 }
