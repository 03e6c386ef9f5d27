package commissions

import (
	"net/http"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// cancelling is what would be owed if a commission were cancelled, before it is.
type cancelling struct {
	*intakev1.CommissionOrder
	Path   string
	Paid   string // as it was typed
	Reason string
	Owed   []figure // none: it cannot be known now
	Etag   string
}

// figure is an amount with its name and how it came to be.
type figure struct {
	Name, Why, Amount string
	Strong            bool
}

func showCancel(w http.ResponseWriter, a *web.Asked) error {
	return showCancelWith(w, a, a.URL.Query().Get("paid"), nil)
}

// showCancelWith works out what would be owed with what was paid so far, and shows it with why something was refused.
func showCancelWith(w http.ResponseWriter, a *web.Asked, paid string, refused error) error {
	c, err := ordered(a)
	if err != nil {
		return err
	}
	it := &cancelling{CommissionOrder: c, Path: addressOf(c) + "/cancel", Paid: paid, Reason: a.Typed("reason"), Etag: c.Etag}
	r, err := previewed(a, c, paid)
	if err != nil && !web.Refusal(err) {
		return err
	}
	if err == nil {
		it.Owed, it.Etag = figuresOf(a.Voice, r.Settlement), r.Etag
	} else if refused == nil {
		refused = err
	}
	return show(w, a, a.Voice.T("commissions.cancel.title", c.Number), page{Tab: "commissions", Cancel: it}, refused)
}

func previewed(a *web.Asked, c *intakev1.CommissionOrder, paid string) (*intakev1.PreviewCancellationResponse, error) {
	amount, err := paidOf(a, paid)
	if err != nil {
		return nil, err
	}
	return a.Kit.Suite.Commissions.PreviewCancellation(a.Context(), &intakev1.PreviewCancellationRequest{Commission: c.Name, DepositPaid: amount})
}

func paidOf(a *web.Asked, text string) (*moneyv1.Money, error) {
	f := &typed.Form{Values: map[string][]string{"paid": {text}}, Voice: a.Voice}
	return f.Money("paid"), f.Err()
}

// cancel cancels what was looked at; where the commission or what was owed is another by now, it is shown anew.
func cancel(w http.ResponseWriter, a *web.Asked) error {
	amount, err := paidOf(a, a.Typed("paid"))
	if err == nil {
		_, err = a.Kit.Suite.Commissions.CancelCommission(a.Context(), &intakev1.CancelCommissionRequest{RequestId: a.RequestID(), Commission: name(a), Reason: a.Typed("reason"), DepositPaid: amount, Etag: a.Typed("etag")})
	}
	if err != nil && web.Refusal(err) {
		return showCancelWith(w, a, a.Typed("paid"), movedOn(a, err))
	}
	if err != nil {
		return err
	}
	return a.After(w, "/commissions/"+a.PathValue("id"), "commissions.cancelled")
}

// figuresOf explains what is owed, figure by figure.
func figuresOf(v *words.Voice, s *intakev1.Settlement) (out []figure) {
	add := func(key, why string, m *moneyv1.Money, strong bool) {
		out = append(out, figure{v.T("commissions.owed." + key), why, v.Money(m), strong})
	}
	if s.Rule != intakev1.CancelRule_CANCEL_RULE_NOTHING {
		add("work", v.T("commissions.owed.work.why", s.Minutes/60, s.Minutes%60, v.Money(s.Rate)), s.Labour, false)
		add("material", v.T("commissions.owed.material.why", v.Money(s.MaterialCost), s.MarkupPercent), s.Material, false)
		if v.Minor(s.Discount) != 0 {
			out = append(out, figure{v.T("commissions.owed.discount"), v.T("commissions.owed.discount.why"), "−" + v.Money(s.Discount), false})
		}
		add("tax", s.TaxPercent+" %", s.Tax, false)
	}
	if s.Rule == intakev1.CancelRule_CANCEL_RULE_WORK_DONE_AND_PERCENT {
		add("rest", v.T("commissions.owed.rest.why", s.PercentOfRest, v.Money(s.Approved)), s.OfRest, false)
	}
	add("owed", v.T("commissions.owed.owed.why", v.Money(s.Approved)), s.Owed, true)
	add("paid", "", s.DepositPaid, false)
	if v.Minor(s.ToRefund) > 0 {
		add("back", "", s.ToRefund, true)
		return out
	}
	add("left", "", s.ToPay, true)
	return out
}
