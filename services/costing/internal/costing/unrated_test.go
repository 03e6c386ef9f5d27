package costing_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
)

// notes are what is said of Nell's line of a week.
func (d *desk) notes(w costing.Week) (notes []string) {
	for _, l := range d.payroll().Of(w) {
		notes = append(notes, l.Notes()...)
	}
	return notes
}

// Hours that nobody has said what they are paid are told with their first day by the shop's
// clock, of what belongs to no piece too.
func TestPayroll_Unrated(t *testing.T) {
	week := weekOf(3, 9)
	evening := nells(at(3, 10, 22, 0), time.Hour) // the next day in Greenwich
	cleaning := nells(at(3, 9, 8, 0), 15*time.Minute)
	cleaning.Indirect, cleaning.Piece = "cleaning", id.Nil
	overMidnight := nells(at(3, 11, 23, 0), 2*time.Hour)
	overSunday := nells(at(3, 8, 23, 0), 2*time.Hour)
	none, missing := costing.Rates{}, func(day string) []string { return []string{"no pay rate yet for work on 2026-03-" + day} }
	from := func(day int) costing.Rates {
		return costing.NewRates([]costing.Rate{rate(20_00, at(3, day, 0, 0), monday)})
	}
	for name, c := range map[string]struct {
		rates costing.Rates
		work  []costing.Stretch
		want  []string
	}{
		"NoRate":          {none, []costing.Stretch{evening}, missing("10")},
		"TheFirstDay":     {none, []costing.Stretch{evening, cleaning}, missing("09")},
		"OfNoPiece":       {none, []costing.Stretch{cleaning}, missing("09")},
		"RateFromThatDay": {from(10), []costing.Stretch{evening}, nil},
		"RateFromTheNext": {from(11), []costing.Stretch{evening}, missing("10")},
		"RateFromMidway":  {from(12), []costing.Stretch{overMidnight}, missing("11")},
		"RateOfNothing":   {costing.NewRates([]costing.Rate{rate(0, at(3, 1, 0, 0), monday)}), []costing.Stretch{evening}, nil},
		"TakenAway":       {none, []costing.Stretch{evening, taken(evening)}, nil},
		"ToAnotherDay":    {none, []costing.Stretch{cleaning, taken(cleaning), evening}, missing("10")},
		"FromSunday":      {none, []costing.Stretch{overSunday}, missing("09")},
		"InAnotherWeek":   {none, []costing.Stretch{nells(at(3, 16, 8, 0), time.Hour)}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			d := &desk{rates: c.rates, stretches: c.work}
			if got := d.notes(week); !slices.Equal(got, c.want) {
				t.Errorf("notes = %q, want %q", got, c.want)
			}
		})
	}
}

// What becomes known of a locked week and has no rate is missing in the week that it counts in.
func TestPayroll_UnratedLate(t *testing.T) {
	d := &desk{rates: costing.NewRates([]costing.Rate{rate(20_00, at(3, 10, 0, 0), monday)})}
	d.work(nells(at(3, 10, 8, 0), time.Hour))
	d.lock(weekOf(3, 9))
	d.work(nells(at(3, 9, 8, 0), time.Hour))
	d.says(t, weekOf(3, 16), costing.PayLine{Late: time.Hour, Unrated: time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)})
	if got := d.notes(weekOf(3, 9)); len(got) > 0 {
		t.Errorf("the locked week says %q", got)
	}
}

// Who has no rate is told of with the day, and nobody else.
func TestRatesMissing(t *testing.T) {
	lines := []costing.PayLine{{PersonName: "Ana"}, {PersonName: "Bo", Unrated: day(9)}, {PersonName: "Nell", Unrated: day(11)}}
	if got, want := costing.RatesMissing(lines), []string{"Bo (2026-03-09)", "Nell (2026-03-11)"}; !slices.Equal(got, want) {
		t.Errorf("RatesMissing = %q, want %q", got, want)
	}
}

func day(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }
