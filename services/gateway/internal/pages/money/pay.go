package money

import (
	"net/http"
	"net/url"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	amounts "tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// pay is what a week pays to whom.
type pay struct {
	Missing            bands.Missing
	Asked              string // a day of the week, as addresses have it
	First, Last        string // its Monday and Sunday, for people
	Monday, Back, Next string // as addresses have them
	Week               *costingv1.PayrollWeek
	Over               bool     // the week is over, so that it can be locked
	Heads              []string // keys of the columns that say something
	Rows               []payRow
	Totals             []string
}

type payRow struct {
	Name  string
	Cells []string
	Notes []string
}

// payColumn is a column of the table: hours or money.
type payColumn struct {
	key    string
	hours  func(*costingv1.PayrollWeek_Line) *durationpb.Duration
	money  func(*costingv1.PayrollWeek_Line) *moneyv1.Money
	always bool // else it is left away where it has nothing to say
}

var payColumns = []payColumn{
	{key: "labour", always: true, hours: (*costingv1.PayrollWeek_Line).GetLabourTime},
	{key: "rework", always: true, hours: (*costingv1.PayrollWeek_Line).GetReworkTime},
	{key: "indirect", always: true, hours: (*costingv1.PayrollWeek_Line).GetIndirectTime},
	{key: "breaks", hours: (*costingv1.PayrollWeek_Line).GetPaidBreakTime},
	{key: "rounding", hours: (*costingv1.PayrollWeek_Line).GetRoundingTime},
	{key: "late", hours: (*costingv1.PayrollWeek_Line).GetLateTime},
	{key: "hours", always: true, hours: (*costingv1.PayrollWeek_Line).GetTime},
	{key: "overtime", hours: (*costingv1.PayrollWeek_Line).GetOvertime},
	{key: "premium", money: (*costingv1.PayrollWeek_Line).GetPremium},
	{key: "late.pay", money: (*costingv1.PayrollWeek_Line).GetLatePay},
	{key: "pay", always: true, money: (*costingv1.PayrollWeek_Line).GetPay},
	{key: "burden", money: (*costingv1.PayrollWeek_Line).GetBurden},
}

// value is what a column counts of a line: nanoseconds or minor units.
func (c payColumn) value(v *words.Voice, l *costingv1.PayrollWeek_Line) int64 {
	if c.hours != nil {
		return int64(c.hours(l).AsDuration())
	}
	return v.Minor(c.money(l))
}

func (c payColumn) write(v *words.Voice, value int64) string {
	if c.hours != nil {
		return v.HoursOf(time.Duration(value))
	}
	return v.Amount(amounts.Amount(value))
}

// weekOf reads the week that is asked for; without one it is that of now.
func weekOf(a *web.Asked, text string) (time.Time, error) {
	f := &typed.Form{Values: url.Values{"week": {text}}, Voice: a.Voice}
	day := a.Now().In(a.Voice.Zone)
	if d := f.Day("week"); d != nil {
		day = typed.Noon(d, a.Voice.Zone)
	}
	return day, f.Err()
}

func loadPay(a *web.Asked) (pay, error) { return loadWeek(a, a.URL.Query().Get("week")) }

func loadWeek(a *web.Asked, text string) (it pay, err error) {
	day, err := weekOf(a, text)
	if err != nil {
		return it, err
	}
	it.Asked = day.Format(time.DateOnly)
	r, err := a.Kit.Suite.Payroll.GetPayrollWeek(a.Context(), &costingv1.GetPayrollWeekRequest{Date: wire.ToDay(day)})
	if err != nil {
		return it, it.Missing.Of(err)
	}
	it.lay(a, r.PayrollWeek)
	return it, nil
}

// lay makes the table of the columns that say something of the week.
func (p *pay) lay(a *web.Asked, w *costingv1.PayrollWeek) {
	v, monday := a.Voice, typed.Noon(w.Week, a.Voice.Zone)
	p.Week, p.Monday = w, typed.Day(w.Week)
	p.First, p.Last = v.DayOf(monday), v.DayOf(monday.AddDate(0, 0, 6))
	p.Back, p.Next = monday.AddDate(0, 0, -7).Format(time.DateOnly), monday.AddDate(0, 0, 7).Format(time.DateOnly)
	y, m, d := monday.AddDate(0, 0, 7).Date()
	p.Over = !a.Now().Before(time.Date(y, m, d, 0, 0, 0, 0, v.Zone))
	p.Rows = make([]payRow, len(w.Lines))
	for i, l := range w.Lines {
		p.Rows[i] = payRow{Name: l.PersonName, Notes: l.Notes}
	}
	for _, c := range payColumns {
		p.column(v, c, w.Lines)
	}
}

func (p *pay) column(v *words.Voice, c payColumn, lines []*costingv1.PayrollWeek_Line) {
	total, says := int64(0), c.always
	for _, l := range lines {
		total, says = total+c.value(v, l), says || c.value(v, l) != 0
	}
	if !says {
		return
	}
	p.Heads = append(p.Heads, "money.pay."+c.key)
	p.Totals = append(p.Totals, c.write(v, total))
	for i, l := range lines {
		p.Rows[i].Cells = append(p.Rows[i].Cells, c.write(v, c.value(v, l)))
	}
}

// showLock says what locking means before anybody does it.
func showLock(w http.ResponseWriter, a *web.Asked) error {
	return showLockWith(w, a, a.URL.Query().Get("week"), nil)
}

func showLockWith(w http.ResponseWriter, a *web.Asked, week string, refused error) error {
	it, err := loadWeek(a, week)
	if err != nil {
		return err
	}
	return a.ShowRefused(w, "money", title(a, "lock"), page{Tab: "pay", Lock: &it}, refused)
}

// lock closes a week for good.
func lock(w http.ResponseWriter, a *web.Asked) error {
	week := a.Typed("week")
	day, err := weekOf(a, week)
	if err != nil {
		return err
	}
	_, err = a.Kit.Suite.Payroll.LockPayrollWeek(a.Context(), &costingv1.LockPayrollWeekRequest{RequestId: a.RequestID(), Date: wire.ToDay(day)})
	if refusal(err) {
		return showLockWith(w, a, week, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/money/pay?week="+url.QueryEscape(week), "money.pay.locked.now")
}
