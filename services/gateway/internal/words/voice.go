package words

import (
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
)

// Units are the measures that somebody reads best.
type Units string

// The two systems.
const (
	Metric   Units = "metric"
	Imperial Units = "imperial"
)

// Voice says things to one reader.
type Voice struct {
	Language string // one of Languages
	Units    Units
	Half     bool // a clock of twelve hours
	Theme    string
	Zone     *time.Location
	Currency money.Currency
}

// For gives a reader's voice for another moment's terms of the shop.
func (v Voice) For(currency money.Currency, zone *time.Location) *Voice {
	v.Currency, v.Zone = currency, zone
	return &v
}

// Clock writes the time of day of an instant by the clock on the shop's wall.
func (v *Voice) Clock(at *timestamppb.Timestamp) string {
	if at == nil {
		return v.T("none")
	}
	return v.ClockOf(at.AsTime())
}

// ClockOf is Clock of a time.
func (v *Voice) ClockOf(at time.Time) string {
	if v.Half {
		return strings.ToLower(at.In(v.Zone).Format("3:04 PM"))
	}
	return at.In(v.Zone).Format("15:04")
}

// When writes an instant as near as a reader needs: the time alone today, with the weekday within
// a week, and else with the date.
func (v *Voice) When(at *timestamppb.Timestamp, now time.Time) string {
	if at == nil {
		return v.T("none")
	}
	return v.WhenOf(at.AsTime(), now)
}

// WhenOf is When of a time.
func (v *Voice) WhenOf(at, now time.Time) string {
	local, today := at.In(v.Zone), now.In(v.Zone)
	switch away := local.Sub(today); {
	case sameDay(local, today):
		return v.ClockOf(at)
	case away > 0 && away < 6*24*time.Hour:
		return v.T("weekday."+strings.ToLower(local.Format("Mon"))) + " " + v.ClockOf(at)
	}
	return v.DayOf(at) + " " + v.ClockOf(at)
}

func sameDay(a, b time.Time) bool { return a.Format(time.DateOnly) == b.Format(time.DateOnly) }

// Day writes the day of an instant, such as 3 Mar or, in another year than this reader's, 3 Mar 2025.
func (v *Voice) Day(at *timestamppb.Timestamp) string {
	if at == nil {
		return v.T("none")
	}
	return v.DayOf(at.AsTime())
}

// DayOf is Day of a time.
func (v *Voice) DayOf(at time.Time) string {
	local := at.In(v.Zone)
	month := v.T("month." + strings.ToLower(local.Format("Jan")))
	if v.Units == Imperial && v.Language == "en" {
		return month + local.Format(" 2, 2006")
	}
	return local.Format("2 ") + month + local.Format(" 2006")
}

// ISO writes an instant as machines read it, for <time datetime>.
func (v *Voice) ISO(at *timestamppb.Timestamp) string {
	if at == nil {
		return ""
	}
	return at.AsTime().UTC().Format(time.RFC3339)
}

// Hours writes hands-on or other time as 2:05.
func (v *Voice) Hours(d *durationpb.Duration) string { return v.HoursOf(d.AsDuration()) }

// HoursOf is Hours of a duration; seconds are dropped.
func (v *Voice) HoursOf(d time.Duration) string {
	sign := ""
	if d < 0 {
		sign, d = "−", -d
	}
	m := int64(d / time.Minute)
	return sign + number(m/60) + ":" + two(m%60)
}
