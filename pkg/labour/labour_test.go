package labour_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/labour"
	"tackfree/pkg/money"
)

// shift is a spell at 20.00 an hour.
func shift(start time.Time, length time.Duration) labour.Spell {
	return labour.Spell{Start: start, End: start.Add(length), PerHour: 20_00, Pay: money.MulDiv(20_00, int64(length), int64(time.Hour)), Job: "dresser"}
}

func paused(s labour.Spell) labour.Spell {
	s.Paused = true
	return s
}

// days are shifts of as many hours from Monday on, each from eight in the morning.
func days(hours ...int) (all []labour.Spell) {
	for i, h := range hours {
		all = append(all, shift(at(9+i, 8, 0), time.Duration(h)*time.Hour))
	}
	return all
}

func is(t *testing.T, r labour.Rule, w labour.Workweek, want labour.Due) {
	t.Helper()
	got, err := r.Due(w)
	if err != nil {
		t.Fatal(err)
	}
	got.Shares, got.Beside = nil, nil
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("Due (-want +got):\n%s", diff)
	}
}

// Without a rule people get what they clocked.
func TestRule_Due_Plain(t *testing.T) {
	is(t, labour.Rule{}, week(days(10, 10, 10, 10, 10)...), labour.Due{Worked: 50 * time.Hour, Straight: 1000_00})
}

// Hours that count by the day do not count again by the week, and those that do not still do: of four
// days of ten hours and one of eight, 8 h are over eight a day and the other 40 h are not over forty.
func TestRule_Due_Daily(t *testing.T) {
	daily := labour.Rule{DailyAfter: 8 * time.Hour, Percent: 150}
	both := labour.Rule{DailyAfter: 8 * time.Hour, WeeklyAfter: 40 * time.Hour, Percent: 150}
	for _, c := range []struct {
		name          string
		rule          labour.Rule
		hours         []int
		daily, weekly time.Duration
	}{
		{"DailyAlone", daily, []int{10, 10, 10, 10, 8, 8}, 8 * time.Hour, 0},
		{"WeeklyAlone", timeAndAHalf, []int{10, 10, 10, 10, 8}, 0, 8 * time.Hour},
		{"NotTwice", both, []int{10, 10, 10, 10, 8}, 8 * time.Hour, 0},
		{"BothWays", both, []int{10, 10, 10, 10, 8, 6}, 8 * time.Hour, 6 * time.Hour},
		{"AtTheThreshold", both, []int{8, 8, 8, 8, 8}, 0, 0},
		{"ShortDaysDoNotMakeUp", daily, []int{12, 4, 8}, 4 * time.Hour, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			due, err := c.rule.Due(week(days(c.hours...)...))
			if err != nil || due.DailyOvertime != c.daily || due.WeeklyOvertime != c.weekly {
				t.Errorf("overtime by the day %v, by the week %v, %v, want %v and %v", due.DailyOvertime, due.WeeklyOvertime, err, c.daily, c.weekly)
			}
			if want := money.MulDiv(10_00, int64(c.daily+c.weekly), int64(time.Hour)); due.Premium != want {
				t.Errorf("the premium is %d, want %d", due.Premium, want)
			}
		})
	}
}

// A night is two days.
func TestRule_Due_DailyOverMidnight(t *testing.T) {
	daily := labour.Rule{DailyAfter: 8 * time.Hour, Percent: 150}
	is(t, daily, week(shift(at(9, 18, 0), 12*time.Hour)), labour.Due{Worked: 12 * time.Hour, Straight: 240_00})
	is(t, daily, week(shift(at(9, 14, 0), 12*time.Hour)), labour.Due{Worked: 12 * time.Hour, Straight: 240_00, DailyOvertime: 2 * time.Hour, Premium: 20_00})
}

// Rests of 5 to about 20 minutes are paid (29 CFR 785.18), a meal of 30 is not (785.19); nor is time
// away that nobody called a pause, nor what lies between two days.
func TestRule_Due_Breaks(t *testing.T) {
	rests := labour.Rule{PaidBreak: 20 * time.Minute}
	morning := shift(at(9, 8, 0), 2*time.Hour) // until ten
	for _, c := range []struct {
		name   string
		rule   labour.Rule
		spells []labour.Spell
		breaks time.Duration
		pay    money.Amount
	}{
		{"ARest", rests, []labour.Spell{paused(morning), shift(at(9, 10, 15), time.Hour)}, 15 * time.Minute, 5_00},
		{"AsLongAsItMayBe", rests, []labour.Spell{paused(morning), shift(at(9, 10, 20), time.Hour)}, 20 * time.Minute, 6_67},
		{"ABitTooLong", rests, []labour.Spell{paused(morning), shift(at(9, 10, 20).Add(time.Second), time.Hour)}, 0, 0},
		{"AMeal", rests, []labour.Spell{paused(morning), shift(at(9, 10, 30), time.Hour)}, 0, 0},
		{"NoPause", rests, []labour.Spell{morning, shift(at(9, 10, 15), time.Hour)}, 0, 0},
		{"NotYetBack", rests, []labour.Spell{paused(morning)}, 0, 0},
		{"NoneIsPaid", labour.Rule{}, []labour.Spell{paused(morning), shift(at(9, 10, 15), time.Hour)}, 0, 0},
		{"Two", rests, []labour.Spell{paused(morning), paused(shift(at(9, 10, 10), time.Hour)), shift(at(9, 11, 20), time.Hour)}, 20 * time.Minute, 6_67},
	} {
		t.Run(c.name, func(t *testing.T) {
			due, err := c.rule.Due(week(c.spells...))
			if err != nil || due.Breaks != c.breaks || due.BreakPay != c.pay {
				t.Errorf("breaks of %v for %d, %v, want %v for %d", due.Breaks, due.BreakPay, err, c.breaks, c.pay)
			}
		})
	}
}

// A rest counts as worked, so it can make overtime, and what it pays is in the regular rate.
func TestRule_Due_BreaksMakeOvertime(t *testing.T) {
	r := timeAndAHalf
	r.PaidBreak = 20 * time.Minute
	spells := append(days(10, 10, 10, 9), paused(shift(at(13, 8, 0), 50*time.Minute)), shift(at(13, 9, 5), 25*time.Minute))
	is(t, r, week(spells...), labour.Due{Worked: 40*time.Hour + 15*time.Minute, Straight: 805_00, Breaks: 15 * time.Minute, BreakPay: 5_00,
		WeeklyOvertime: 30 * time.Minute, Premium: 5_00})
}

// A rest over the week's end is paid by the minutes in each week.
func TestRule_Due_BreakOverTheWeeksEnd(t *testing.T) {
	rests := labour.Rule{PaidBreak: 20 * time.Minute}
	sunday, monday := paused(shift(at(15, 22, 0), 115*time.Minute)), shift(at(16, 0, 10), time.Hour) // from 23:55 on
	is(t, rests, week(sunday, monday), labour.Due{Worked: 115 * time.Minute, Straight: 38_33, Breaks: 5 * time.Minute, BreakPay: 1_67})
	next := labour.Workweek{From: at(16, 0, 0), To: at(23, 0, 0), Zone: chicago, Spells: []labour.Spell{sunday, monday}}
	is(t, rests, next, labour.Due{Worked: time.Hour, Straight: 20_00, Breaks: 10 * time.Minute, BreakPay: 3_33})
}

// Punches go to the nearest five minutes, tenth or quarter of an hour (29 CFR 785.48(b)), and both
// ways: seven minutes of a quarter are lost and eight are won. What lies in the middle goes to the later mark.
func TestRule_Due_Rounding(t *testing.T) {
	for _, c := range []struct {
		name       string
		to         time.Duration
		start, end time.Time
		rounding   time.Duration
		pay        money.Amount
	}{
		{"NotAtAll", 0, at(9, 8, 7), at(9, 12, 8), 0, 0},
		{"QuarterSevenBack", 15 * time.Minute, at(9, 8, 7), at(9, 12, 0), 7 * time.Minute, 2_33},
		{"QuarterEightOn", 15 * time.Minute, at(9, 8, 8), at(9, 12, 0), -7 * time.Minute, -2_33},
		{"QuarterBothEnds", 15 * time.Minute, at(9, 7, 53), at(9, 12, 8), 0, 0},
		{"InTheMiddle", 15 * time.Minute, at(9, 8, 0), at(9, 12, 7).Add(30 * time.Second), 450 * time.Second, 2_50},
		{"Tenth", 6 * time.Minute, at(9, 8, 2), at(9, 12, 4), 4 * time.Minute, 1_33},
		{"Fives", 5 * time.Minute, at(9, 8, 3), at(9, 12, 2), -4 * time.Minute, -1_33},
		{"AllOfIt", 15 * time.Minute, at(9, 8, 1), at(9, 8, 4), -3 * time.Minute, -1_00},
	} {
		t.Run(c.name, func(t *testing.T) {
			due, err := labour.Rule{RoundTo: c.to}.Due(week(shift(c.start, c.end.Sub(c.start))))
			if err != nil || due.Rounding != c.rounding || due.RoundingPay != c.pay {
				t.Errorf("rounding adds %v for %d, %v, want %v for %d", due.Rounding, due.RoundingPay, err, c.rounding, c.pay)
			}
			// A cent off at most, for the spell and its rounding have been rounded each.
			if off := due.Pay() - money.MulDiv(20_00, int64(due.Paid()), int64(time.Hour)); off < -1 || off > 1 {
				t.Errorf("the week comes to %d, %d off what the rounded hours earn", due.Pay(), off)
			}
		})
	}
}

// Only the ends of a spell of work are punches: neither going over to another job at 9:07 nor a paid
// rest from 10:00 to 10:07 is rounded, but the end at 11:08.
func TestRule_Due_RoundsNoSwitch(t *testing.T) {
	r := labour.Rule{RoundTo: 15 * time.Minute, PaidBreak: 20 * time.Minute}
	other := paused(shift(at(9, 9, 7), 53*time.Minute)) // until ten
	other.Job = "chair"
	is(t, r, week(shift(at(9, 8, 0), 67*time.Minute), other, shift(at(9, 10, 7), 61*time.Minute)), labour.Due{
		Worked: 181 * time.Minute, Straight: 60_33, Breaks: 7 * time.Minute, BreakPay: 2_33, Rounding: 7 * time.Minute, RoundingPay: 2_33})
}

// Two jobs at two rates: what the one would win at 9:07 is not what the other would lose.
func TestRule_Due_RoundsNoSwitchBetweenRates(t *testing.T) {
	other := shift(at(9, 9, 7), 53*time.Minute)
	other.PerHour, other.Pay = 10_00, 8_83
	is(t, labour.Rule{RoundTo: 15 * time.Minute}, week(shift(at(9, 8, 0), 67*time.Minute), other), labour.Due{Worked: 2 * time.Hour, Straight: 31_16})
}

// What is punched in another week is rounded there.
func TestRule_Due_RoundsOnlyThePunchesOfTheWeek(t *testing.T) {
	r := labour.Rule{RoundTo: 15 * time.Minute}
	is(t, r, week(shift(at(8, 8, 3), time.Hour), shift(at(16, 8, 3), time.Hour)), labour.Due{})
	night := shift(at(15, 21, 57), 123*time.Minute) // Sunday's, until midnight; it goes on until 1:04
	is(t, r, week(night, shift(at(16, 0, 0), 64*time.Minute)), labour.Due{Worked: 123 * time.Minute, Straight: 41_00, Rounding: -3 * time.Minute, RoundingPay: -1_00})
	next := labour.Workweek{From: at(16, 0, 0), To: at(23, 0, 0), Zone: chicago, Spells: []labour.Spell{night, shift(at(16, 0, 0), 64*time.Minute)}}
	is(t, r, next, labour.Due{Worked: 64 * time.Minute, Straight: 21_33, Rounding: -4 * time.Minute, RoundingPay: -1_33})
}

// Marks are those of the shop's clock, also where that stands three quarters of an hour off.
func TestRule_Due_RoundsByTheClockOnTheWall(t *testing.T) {
	kathmandu := zone("Asia/Kathmandu")
	start := local(kathmandu, time.March, 9, 8, 1)
	w := labour.Workweek{From: local(kathmandu, time.March, 9, 0, 0), To: local(kathmandu, time.March, 16, 0, 0), Zone: kathmandu,
		Spells: []labour.Spell{shift(start, 59*time.Minute)}}
	is(t, labour.Rule{RoundTo: 6 * time.Minute}, w, labour.Due{Worked: 59 * time.Minute, Straight: 19_67, Rounding: time.Minute, RoundingPay: 33})
}

// Rounding never takes more than was earned: two minutes of two spells that are nothing when rounded
// earned 0.33 each, and 0.67 together.
func TestRule_Due_RoundingLeavesNothingNegative(t *testing.T) {
	is(t, labour.Rule{RoundTo: 15 * time.Minute}, week(shift(at(9, 8, 1), time.Minute), shift(at(9, 9, 1), time.Minute)),
		labour.Due{Worked: 2 * time.Minute, Straight: 66, Rounding: -2 * time.Minute, RoundingPay: -66})
}

// Hours are those that went by: on the night that the clock is put forward eight on the wall are
// seven, and nine when it is put back (America/New_York, 2026); the workweek has 167 or 169.
func TestRule_Due_ClockMoved(t *testing.T) {
	newYork := zone("America/New_York")
	for _, c := range []struct {
		name                 string
		from, to, start, end time.Time
		worked               time.Duration
	}{
		{"PutForward", local(newYork, 3, 2, 0, 0), local(newYork, 3, 9, 0, 0), local(newYork, 3, 7, 22, 0), local(newYork, 3, 8, 6, 0), 7 * time.Hour},
		{"PutBack", local(newYork, 10, 26, 0, 0), local(newYork, 11, 2, 0, 0), local(newYork, 10, 31, 22, 0), local(newYork, 11, 1, 6, 0), 9 * time.Hour},
		{"WholeWeekPutForward", local(newYork, 3, 2, 0, 0), local(newYork, 3, 9, 0, 0), local(newYork, 3, 2, 0, 0), local(newYork, 3, 9, 0, 0), 167 * time.Hour},
		{"WholeWeekPutBack", local(newYork, 10, 26, 0, 0), local(newYork, 11, 2, 0, 0), local(newYork, 10, 26, 0, 0), local(newYork, 11, 2, 0, 0), 169 * time.Hour},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := labour.Workweek{From: c.from, To: c.to, Zone: newYork, Spells: []labour.Spell{shift(c.start, c.end.Sub(c.start))}}
			due, err := timeAndAHalf.Due(w)
			if err != nil || due.Worked != c.worked || due.WeeklyOvertime != max(0, c.worked-40*time.Hour) {
				t.Errorf("worked %v, overtime %v, %v, want %v", due.Worked, due.WeeklyOvertime, err, c.worked)
			}
		})
	}
}

// Where the clock is put forward at midnight, that day begins at one.
func TestRule_Due_DayThatBeginsAtOne(t *testing.T) {
	havana := zone("America/Havana") // Sunday 8 March 2026
	w := labour.Workweek{From: local(havana, 3, 2, 0, 0), To: local(havana, 3, 9, 0, 0), Zone: havana, Spells: []labour.Spell{shift(local(havana, 3, 7, 15, 0), 18*time.Hour)}}
	is(t, labour.Rule{DailyAfter: 9 * time.Hour, Percent: 150}, w, labour.Due{Worked: 18 * time.Hour, Straight: 360_00})
	w.Spells[0] = shift(local(havana, 3, 7, 14, 0), 18*time.Hour)
	is(t, labour.Rule{DailyAfter: 9 * time.Hour, Percent: 150}, w, labour.Due{Worked: 18 * time.Hour, Straight: 360_00, DailyOvertime: time.Hour, Premium: 10_00})
}

// The premium is of the jobs of the week by their hours, to the cent, or of none.
func TestRule_Due_Shares(t *testing.T) {
	w := worked(job{20, 10_00}, job{20, 10_00}, job{20, 10_00}) // premium 20 h × 5.00
	w.Spells[2].Job = "C"
	due, err := timeAndAHalf.Due(w)
	want := []labour.Share{{"", "A", 20 * time.Hour, 33_34}, {"", "B", 20 * time.Hour, 33_33}, {"", "C", 20 * time.Hour, 33_33}}
	if diff := cmp.Diff(want, due.Shares); err != nil || diff != "" {
		t.Errorf("shares, %v (-want +got):\n%s", err, diff)
	}
	w.Spells[2].Job = "A"
	due, _ = timeAndAHalf.Due(w)
	if diff := cmp.Diff([]labour.Share{{"", "A", 40 * time.Hour, 66_67}, {"", "B", 20 * time.Hour, 33_33}}, due.Shares); diff != "" {
		t.Errorf("shares of a job done twice (-want +got):\n%s", diff)
	}
	w.Spells[2].Part = "April"
	due, _ = timeAndAHalf.Due(w)
	if diff := cmp.Diff([]labour.Share{{"", "A", 20 * time.Hour, 33_34}, {"", "B", 20 * time.Hour, 33_33}, {"April", "A", 20 * time.Hour, 33_33}}, due.Shares); diff != "" {
		t.Errorf("shares of a week with a month's end in it (-want +got):\n%s", diff)
	}
	overhead := timeAndAHalf
	overhead.ToOverhead = true
	due, _ = overhead.Due(w)
	if diff := cmp.Diff([]labour.Share{{"", "", 40 * time.Hour, 66_67}, {"April", "", 20 * time.Hour, 33_33}}, due.Shares); diff != "" {
		t.Errorf("shares of a premium that belongs to no job (-want +got):\n%s", diff)
	}
}

// Breaks and rounding tell what they are made of and when; they are rounded together, once.
func TestRule_Due_Beside(t *testing.T) {
	cents := func(s labour.Spell) labour.Spell {
		s.PerHour, s.Pay, s.Paused = 10, 0, true // ten cents an hour
		return s
	}
	w := week(cents(shift(at(9, 8, 2), time.Hour)), cents(shift(at(9, 9, 5), time.Hour)), cents(shift(at(9, 10, 8), 55*time.Minute)))
	due, err := labour.Rule{PaidBreak: 20 * time.Minute}.Due(w) // twice three minutes are one cent
	want := []labour.Moment{{at(9, 10, 8), false, 1}}
	if diff := cmp.Diff(want, due.Beside); err != nil || diff != "" || due.BreakPay != 1 {
		t.Errorf("two short breaks, %v (-want +got):\n%s", err, diff)
	}
	w.Spells[0].PerHour, w.Spells[1].PerHour, w.Spells[2].PerHour = 20_00, 20_00, 20_00
	due, err = labour.Rule{PaidBreak: 3 * time.Minute, RoundTo: 15 * time.Minute}.Due(w)
	want = []labour.Moment{{at(9, 8, 2), true, 67}, {at(9, 9, 5), false, 1_00}, {at(9, 10, 8), false, 1_00}, {at(9, 11, 3), true, -1_00}}
	if diff := cmp.Diff(want, due.Beside); err != nil || diff != "" || due.RoundingPay != -33 {
		t.Errorf("breaks and punches, %v (-want +got):\n%s", err, diff)
	}
}

// What nobody can have done is refused, not paid.
func TestRule_Due_Refused(t *testing.T) {
	good := shift(at(9, 8, 0), 2*time.Hour)
	for name, c := range map[string]struct {
		spell labour.Spell
		want  string
	}{
		"Reversed":      {labour.Spell{Start: at(9, 12, 0), End: at(9, 11, 0)}, "SPELL_REVERSED"},
		"Empty":         {labour.Spell{Start: at(9, 12, 0), End: at(9, 12, 0)}, "SPELL_REVERSED"},
		"Overlapping":   {shift(at(9, 9, 59), time.Hour), "SPELLS_OVERLAP"},
		"Within":        {shift(at(9, 9, 0), time.Minute), "SPELLS_OVERLAP"},
		"Twice":         {good, "SPELLS_OVERLAP"},
		"OverTheEnd":    {shift(at(15, 23, 0), 2*time.Hour), "SPELL_OVER_WEEK_END"},
		"OverTheBegin":  {shift(at(8, 23, 0), 2*time.Hour), "SPELL_OVER_WEEK_END"},
		"UpToTheEnd":    {shift(at(15, 23, 0), time.Hour), ""},
		"OneAfterOther": {shift(at(9, 10, 0), time.Hour), ""},
	} {
		_, err := timeAndAHalf.Due(week(good, c.spell))
		if got := fault.Of(err); c.want == "" && err != nil || c.want != "" && (got == nil || got.Reason != c.want || got.Kind != fault.Invalid) {
			t.Errorf("%s: Due = %v, want %q", name, err, c.want)
		}
	}
}

// A length of time is said as a clock shows it.
func TestRule_Check_SaysHours(t *testing.T) {
	for want, rule := range map[string]labour.Rule{
		"400:00 hours are neither.":     {WeeklyAfter: 400 * time.Hour, Percent: 150},
		"-8:30 hours are neither.":      {DailyAfter: -(8*time.Hour + 30*time.Minute), Percent: 150},
		"1:30 hours are not.":           {PaidBreak: 90 * time.Minute},
		"0:07:30 hours are none of the": {RoundTo: 7*time.Minute + 30*time.Second},
	} {
		if err := rule.Check(); err == nil || !strings.Contains(err.Error(), " "+want) {
			t.Errorf("Check(%+v) = %v, want %q", rule, err, want)
		}
	}
}

func TestRule_Check(t *testing.T) {
	hours := func(n float64) time.Duration { return time.Duration(n * float64(time.Hour)) }
	for _, c := range []struct {
		rule labour.Rule
		want string
	}{
		{labour.Rule{}, ""},
		{timeAndAHalf, ""},
		{labour.Rule{WeeklyAfter: hours(168), DailyAfter: hours(24), Percent: 400, PaidBreak: time.Hour, RoundTo: 15 * time.Minute}, ""},
		{labour.Rule{PaidBreak: 20 * time.Minute, RoundTo: 5 * time.Minute, ToOverhead: true}, ""},
		{labour.Rule{WeeklyAfter: hours(40), Percent: 101, RoundTo: 6 * time.Minute}, ""},
		{labour.Rule{WeeklyAfter: hours(168.5), Percent: 150}, "OVERTIME_HOURS_ABSURD"},
		{labour.Rule{WeeklyAfter: -1, Percent: 150}, "OVERTIME_HOURS_ABSURD"},
		{labour.Rule{DailyAfter: hours(24.5), Percent: 150}, "OVERTIME_HOURS_ABSURD"},
		{labour.Rule{DailyAfter: -1, Percent: 150}, "OVERTIME_HOURS_ABSURD"},
		{labour.Rule{WeeklyAfter: hours(40)}, "OVERTIME_PERCENT_ABSURD"},
		{labour.Rule{WeeklyAfter: hours(40), Percent: 100}, "OVERTIME_PERCENT_ABSURD"},
		{labour.Rule{DailyAfter: hours(8), Percent: 401}, "OVERTIME_PERCENT_ABSURD"},
		{labour.Rule{Percent: 150}, "OVERTIME_PERCENT_ABSURD"},
		{labour.Rule{PaidBreak: time.Hour + 1}, "PAID_BREAK_ABSURD"},
		{labour.Rule{PaidBreak: -1}, "PAID_BREAK_ABSURD"},
		{labour.Rule{RoundTo: 10 * time.Minute}, "ROUNDING_UNKNOWN"},
		{labour.Rule{RoundTo: -5 * time.Minute}, "ROUNDING_UNKNOWN"},
	} {
		err := c.rule.Check()
		if got := fault.Of(err); c.want == "" && err != nil || c.want != "" && (got == nil || got.Reason != c.want || got.Kind != fault.Invalid) {
			t.Errorf("Check(%+v) = %v, want %q", c.rule, err, c.want)
		}
	}
}
