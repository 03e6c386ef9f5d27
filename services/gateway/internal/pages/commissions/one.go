package commissions

import (
	"errors"
	"net/http"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// one is a commission.
type one struct {
	*intakev1.CommissionOrder
	Path     string
	Client   *intakev1.Client
	Newest   *intakev1.Estimate
	Lines    []lineShown
	Compared compared
	Changes  []changeShown
	State    string // the catalogue's word
	Open     bool   // it may be revised
	Answers  bool   // the client may answer its estimate
	Approved bool
	Expired  bool
	Headless bool // nobody said whose letters the shop's are
	Typed    typedIn
	Hows     []string
	Owed     []figure // of one that was cancelled
}

// typedIn is a form that was refused: its name, and what was typed into it.
type typedIn struct {
	Form   string
	Values map[string][]string
}

// Was gives what was typed into a field of a form.
func (t typedIn) Was(form, field string) string {
	if v := t.Values[field]; t.Form == form && len(v) > 0 {
		return v[0]
	}
	return ""
}

// lineShown is a line as it is read.
type lineShown struct{ What, Much, Price string }

// changeShown is a change order.
type changeShown struct {
	*intakev1.ChangeOrder
	Lines []lineShown
	State string
	Open  bool
}

// states are the catalogue's words of states, in the order in which a list offers them.
var states = []string{"estimated", "approved", "declined", "cancelled", "finished"}

var stateOf = map[string]intakev1.CommissionOrder_State{"estimated": intakev1.CommissionOrder_STATE_ESTIMATED, "approved": intakev1.CommissionOrder_STATE_APPROVED,
	"declined": intakev1.CommissionOrder_STATE_DECLINED, "cancelled": intakev1.CommissionOrder_STATE_CANCELLED, "finished": intakev1.CommissionOrder_STATE_FINISHED}

func stateWord(s intakev1.CommissionOrder_State) string {
	for word, is := range stateOf {
		if is == s {
			return word
		}
	}
	return "other"
}

// hows are how a client says something.
var hows = []string{"in_person", "by_phone", "in_writing"}

var howOf = map[string]intakev1.ClientAnswer_How{"in_person": intakev1.ClientAnswer_HOW_IN_PERSON, "by_phone": intakev1.ClientAnswer_HOW_BY_PHONE, "in_writing": intakev1.ClientAnswer_HOW_IN_WRITING}

func showOne(w http.ResponseWriter, a *web.Asked) error { return showOneWith(w, a, "", nil) }

// showOneWith shows a commission, with what was typed into one of its forms and why that was refused.
func showOneWith(w http.ResponseWriter, a *web.Asked, form string, refused error) error {
	if refused != nil && !web.Refusal(refused) {
		return refused
	}
	c, err := ordered(a)
	if err != nil {
		return err
	}
	it, err := loadOne(a, c)
	if err != nil {
		return err
	}
	it.Typed = typedIn{form, a.PostForm}
	return show(w, a, a.Voice.T("commissions.one.title", c.Number, c.Description), page{Tab: "commissions", One: it}, refused)
}

func loadOne(a *web.Asked, c *intakev1.CommissionOrder) (*one, error) {
	it := &one{CommissionOrder: c, Path: addressOf(c), Newest: newest(c), State: stateWord(c.State), Hows: hows}
	var reading errgroup.Group
	reading.Go(func() error {
		r, err := a.Kit.Suite.Clients.GetClient(a.Context(), &intakev1.GetClientRequest{Name: c.Client})
		it.Client = r.GetClient()
		return err
	})
	reading.Go(func() error {
		r, err := a.Kit.Suite.Intake.GetLetterhead(a.Context(), &intakev1.GetLetterheadRequest{})
		it.Headless = r.GetLetterhead().GetShopName() == ""
		if errors.Is(err, fault.Denied) { // a program that may not ask it
			return nil
		}
		return err
	})
	if err := reading.Wait(); err != nil {
		return nil, err
	}
	it.Open = c.State == intakev1.CommissionOrder_STATE_ESTIMATED || c.State == intakev1.CommissionOrder_STATE_DECLINED
	it.Answers, it.Approved = c.State == intakev1.CommissionOrder_STATE_ESTIMATED, c.State == intakev1.CommissionOrder_STATE_APPROVED
	it.Expired = it.Answers && isOver(it.Newest.GetDraft().GetValidUntil(), a.Now().In(a.Voice.Zone))
	it.Lines, it.Compared = linesShown(a.Voice, it.Newest.GetDraft().GetLines()), compare(a.Voice, c.Estimates)
	for _, o := range c.ChangeOrders {
		it.Changes = append(it.Changes, changeShown{o, linesShown(a.Voice, o.Lines), changeWords[o.State], o.State == intakev1.ChangeOrder_STATE_OPEN})
	}
	if s := c.Settlement; s != nil {
		it.Owed = figuresOf(a.Voice, s)
	}
	return it, nil
}

var changeWords = map[intakev1.ChangeOrder_State]string{intakev1.ChangeOrder_STATE_OPEN: "open", intakev1.ChangeOrder_STATE_APPROVED: "approved", intakev1.ChangeOrder_STATE_DECLINED: "declined"}

// HowWord is the catalogue's word of how a client said something.
func (one) HowWord(h intakev1.ClientAnswer_How) string {
	for word, is := range howOf {
		if is == h {
			return word
		}
	}
	return hows[0]
}

// CancelSays is what is owed by an estimate if the client cancels.
func (it one) CancelSays(v *web.View) string {
	return ruleSays(v.Voice, it.Newest.GetCancelRule(), it.Newest.GetCancelPercent())
}

func ruleSays(v *words.Voice, rule intakev1.CancelRule, percent string) string {
	switch rule {
	case intakev1.CancelRule_CANCEL_RULE_NOTHING:
		return v.T("commissions.rule.nothing")
	case intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT:
		return v.T("commissions.rule.percent", percent)
	}
	return v.T("commissions.rule.work")
}

func linesShown(v *words.Voice, lines []*intakev1.EstimateLine) (out []lineShown) {
	for _, l := range lines {
		it := lineShown{What: l.What, Price: v.Money(l.Price)}
		switch of := l.Of.(type) {
		case *intakev1.EstimateLine_Labour_:
			it.Much = v.T("commissions.much.hours", hoursTyped(of.Labour), v.Money(of.Labour.Rate))
		case *intakev1.EstimateLine_Material_:
			it.Much = v.T("commissions.much.material", v.Money(of.Material.Cost), of.Material.MarkupPercent)
		}
		if l.Untaxed {
			it.What += " (" + v.T("commissions.untaxed") + ")"
		}
		out = append(out, it)
	}
	return out
}

// dayText writes a day of the calendar; empty: there is none.
func dayText(v *words.Voice, d *date.Date) string {
	if d == nil {
		return ""
	}
	return v.DayOf(time.Date(int(d.Year), time.Month(d.Month), int(d.Day), 12, 0, 0, 0, v.Zone))
}

// isOver reports whether a day is before today.
func isOver(d *date.Date, today time.Time) bool {
	y, m, day := today.Date()
	return d != nil && time.Date(int(d.Year), time.Month(d.Month), int(d.Day), 0, 0, 0, 0, time.UTC).Before(time.Date(y, m, day, 0, 0, 0, 0, time.UTC))
}

// On writes a day.
func (one) On(v *web.View, d *date.Date) string { return dayText(v.Voice, d) }
