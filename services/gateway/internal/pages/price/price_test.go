package price

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pagetest"
)

func TestAdvice(t *testing.T) {
	s := &shop{answer: bench()}
	v := serve(t, s)
	status, body := v.Get("/money/price/41?trying=&channel=showroom&low=200&high=300")
	pagetest.Want(t, "the advice", status, http.StatusOK, body, []string{
		`<p class="large">420.00`, "It is not listed yet.", ">today<", "1 Apr 2026", "378.00", "420 ▸ 378", ">331<", "93 %", "as advised", "the best single price", "a day of its floor costs 0.80, which follows from what was said of another size (carried by two)", "No more than 535 is advised", "of 8 times that the shop put up such a kind", ">Seen: stood longer<", `class="seen"`,
		"the channel keeps 3.5 %", "after 90 days it goes for about 156", "31 sales of the shop, 2 of them of this kind", "60 % of the price is believed", "2.4 % more are sold", "× 0.80", "0.64 – 1.00",
		"January to March", "attic &lt;b&gt;sale", "Oak bench", "Elm &lt;hall&gt; bench", `value="showroom"`, "List it at this", `class="known"`, "over 2 years",
	}, []string{"<hall>", "style=", "[price", "[buying", "a guess"})
	if r := s.asked; r.Piece != "pieces/p41" || r.Channel != "showroom" || r.Guess.Low.Units != 200 || r.Trying != nil {
		t.Errorf("it was asked %v", r)
	}
	for when, says := range map[*salesv1.Basis_Said]string{
		{When: salesv1.Basis_Said_WHEN_SEEN, SeenTime: timestamppb.New(wednesday.AddDate(0, 0, -15))}: "you believed 320.00 to 560.00 on 3 Mar 2026, when you saw it",
		{When: salesv1.Basis_Said_WHEN_ASKING}:                                                        "you believe 320.00 to 560.00, as you say here", {When: salesv1.Basis_Said_WHEN_TERMS}: "you believe 320.00 to 560.00 of such a kind",
	} {
		when.Guess = &salesv1.Guess{Low: usd(320, 0), High: usd(560, 0)}
		s.answer.Forecast.Basis.Said = when
		_, body = v.Get("/money/price/41")
		pagetest.Want(t, "what was believed", 200, 200, body, []string{says}, []string{"[price"})
	}
	s.answer.Forecast.Basis.Said = nil
	_, body = v.Get("/money/price/41")
	pagetest.Want(t, "nobody believed anything", 200, 200, body, nil, []string{"you believe"})
	s.answer.Ways[1].Beyond, s.answer.DaysListed = true, 3
	_, body = v.Get("/money/price/41?trying=350,50")
	pagetest.Want(t, "what is tried beyond what is known, of a listing that runs", 200, 200, body, []string{"What you try is above 535", "(a guess)"}, []string{"Seen:", `class="seen"`})
	if s.asked.Trying.GetNanos() != 500_000_000 {
		t.Errorf("it tried %v", s.asked.Trying)
	}
}

func TestAdvice_Refused(t *testing.T) {
	for name, c := range map[string]struct {
		refused error
		query   string
		status  int
		says    []string
	}{
		"sold":       {fault.New(fault.Precondition, "PIECE_SOLD", "It is sold."), "", http.StatusUnprocessableEntity, []string{"It is sold."}},
		"no belief":  {fault.New(fault.Precondition, "BELIEF_MISSING", "Nobody says."), "", http.StatusUnprocessableEntity, []string{"Nobody says.", `href="/money/terms?kind=bench"`}},
		"half":       {nil, "?low=200", http.StatusBadRequest, []string{"or neither", `value="200"`}},
		"unreadable": {nil, "?trying=dear", http.StatusBadRequest, []string{"dear"}},
	} {
		t.Run(name, func(t *testing.T) {
			status, body := serve(t, &shop{answer: bench(), refused: c.refused}).Get("/money/price/41" + c.query)
			pagetest.Want(t, name, status, c.status, body, append(c.says, `name="trying"`), []string{"420.00"})
		})
	}
	status, body := serve(t, &shop{answer: bench()}).Get("/money/price/9")
	pagetest.Want(t, "no such piece", status, http.StatusNotFound, body, []string{"no piece with that tag"}, nil)
	status, _ = serve(t, &shop{answer: bench(), refused: fault.New(fault.Unavailable, "AWAY", "Away.")}).Get("/money/price/41")
	if status != http.StatusServiceUnavailable {
		t.Errorf("sales away: %d", status)
	}
}

func TestAsk(t *testing.T) {
	s := &shop{answer: bench(), terms: &salesv1.SellingTerms{}}
	v := serve(t, s)
	status, body := v.Send("/money/price/41/ask", url.Values{"price": {"420"}, "channel": {"showroom"}, "request_id": {"r1"}})
	pagetest.Want(t, "listed", status, http.StatusSeeOther, body, []string{"/money/price/41"}, nil)
	if l := s.listed; l.RequestId != "r1" || l.Channel != "showroom" || l.AskingPrice.Units != 420 || l.Piece != "pieces/p41" || s.changed != nil {
		t.Errorf("listed by %v, changed by %v", l, s.changed)
	}
	s.listing = &salesv1.Listing{State: salesv1.Listing_STATE_LISTED, Etag: `"4"`, AskingPrice: usd(450, 0)}
	s.answer.AskingPrice, s.answer.DaysListed = usd(450, 0), 12
	_, body = v.Get("/money/price/41")
	pagetest.Want(t, "a listed one", 200, 200, body, []string{"Asked now: 450.00, for 12 days.", "Ask this from now on", `value="&#34;4&#34;"`}, []string{"List it at this"})
	status, body = v.Send("/money/price/41/ask", url.Values{"price": {"420,5"}, "listed": {"1"}, "etag": {`"4"`}, "reason": {"slow"}})
	pagetest.Want(t, "asked anew", status, http.StatusSeeOther, body, []string{"/money/price/41"}, nil)
	if c := s.changed; c.Etag != `"4"` || c.Reason != "slow" || c.AskingPrice.Nanos != 500_000_000 {
		t.Errorf("changed by %v", c)
	}
	status, body = v.Send("/money/price/41/ask?low=300&high=500", url.Values{"price": {"421"}, "listed": {"1"}})
	pagetest.Want(t, "asked with a guess, which is not lost", status, http.StatusSeeOther, body, []string{"/money/price/41?high=500&low=300"}, nil)
	s.fails = fault.New(fault.Conflict, "ETAG_MISMATCH", "It moved on.")
	status, body = v.Send("/money/price/41/ask?low=300&high=500", url.Values{"price": {"409.75"}, "listed": {"1"}, "reason": {"slow & dusty"}})
	pagetest.Want(t, "moved on", status, http.StatusConflict, body, []string{"It moved on.", "420.00", `value="409.75"`, `value="slow &amp; dusty"`, `action="/money/price/41/ask?high=500&amp;low=300"`}, []string{`value="420"`})
	if s.asked.Guess.GetLow().GetUnits() != 300 {
		t.Errorf("the guess is lost: %v", s.asked)
	}
	s.listing = nil
	status, body = v.Send("/money/price/41/ask", url.Values{"price": {"408"}, "channel": {"the window"}})
	pagetest.Want(t, "not listed", status, http.StatusConflict, body, []string{`value="408"`, `value="the window"`}, []string{`value="420"`})
	for _, form := range []url.Values{{"price": {""}, "channel": {"x"}}, {"price": {"x"}, "channel": {"x"}}, {"price": {"5"}}} {
		s.listed = nil
		if status, body = v.Send("/money/price/41/ask", form); status != http.StatusBadRequest || s.listed != nil || !strings.Contains(body, `role="alert"`) {
			t.Errorf("%v: %d, listed %v", form, status, s.listed)
		}
	}
}

func TestTerms(t *testing.T) {
	s := &shop{terms: &salesv1.SellingTerms{HoldingSmall: usd(0, 40), HoldingMedium: usd(0, 80), HoldingLarge: usd(1, 50), FeePercent: 3.5, DaysBetweenMarkdowns: proto.Int32(21), MostMarkdowns: proto.Int32(0), SalvagePercent: proto.Float64(0), Etag: `"2"`,
		Beliefs: []*salesv1.SellingTerms_Belief{{Kind: "desk", Price: &salesv1.Guess{Low: usd(200, 0), High: usd(340, 0)}, DaysLikely: 30}}}}
	v := serve(t, s)
	status, body := v.Get("/money/terms?kind=bench")
	pagetest.Want(t, "the form", status, http.StatusOK, body, []string{`value="0.40"`, `value="3.5"`, `value="desk"`, `value="200"`, `value="bench"`,
		// what nobody said stands in grey, and nothing is said as nothing
		`name="between" inputmode="numeric" maxlength="3" placeholder="14" autocomplete="off" value="21"`, `name="markdowns" inputmode="numeric" maxlength="2" placeholder="3" autocomplete="off" value="0"`,
		`name="horizon" inputmode="numeric" maxlength="3" placeholder="180" autocomplete="off" value=""`, `name="salvage" inputmode="decimal" maxlength="6" placeholder="40" autocomplete="off" value="0"`}, []string{"[price", "style="})
	status, body = v.Send("/money/terms", url.Values{"small": {"0,50"}, "fee": {"4"}, "between": {"10"}, "markdowns": {"0"}, "salvage": {"35.5"}, "etag": {`"2"`},
		"kind": {"desk", "", " Bench "}, "low": {"210", "", "150"}, "high": {"350", "", "260"}, "days": {"", "", "25"}})
	pagetest.Want(t, "kept", status, http.StatusSeeOther, body, []string{"/money/terms"}, nil)
	got := s.set.Terms
	if got.HoldingSmall.Nanos != 500_000_000 || got.FeePercent != 4 || got.GetDaysBetweenMarkdowns() != 10 || got.MostMarkdowns == nil || *got.MostMarkdowns != 0 || got.HorizonDays != nil || got.HoldingMedium != nil || got.GetSalvagePercent() != 35.5 || s.set.Etag != `"2"` || len(got.Beliefs) != 2 {
		t.Fatalf("kept %v", s.set)
	}
	if b := got.Beliefs[1]; b.Kind != "bench" || b.Price.Low.Units != 150 || b.Price.High.Units != 260 || b.DaysLikely != 25 {
		t.Errorf("believed %v", b)
	}
	s.set = nil
	status, body = v.Send("/money/terms", url.Values{"kind": {"desk"}, "low": {"210"}, "high": {""}})
	pagetest.Want(t, "half a belief", status, http.StatusBadRequest, body, []string{"a desk sells for", `value="210"`}, nil)
	if s.set != nil {
		t.Error("half a belief was kept")
	}
}

// Two owners who believe other things are shown both, and the form has what each of them added.
func TestTerms_ChangedMeanwhile(t *testing.T) {
	now := &salesv1.SellingTerms{FeePercent: 5, Etag: `"9"`, Beliefs: []*salesv1.SellingTerms_Belief{{Kind: "chair", Price: &salesv1.Guess{Low: usd(20, 0), High: usd(40, 0)}}}}
	s := &shop{terms: now, fails: fault.New(fault.Conflict, "ETAG_MISMATCH", "It moved on.")}
	was := valuesOf(voice("en"), &salesv1.SellingTerms{FeePercent: 3}).Encode()
	status, body := serve(t, s).Send("/money/terms", url.Values{"fee": {"3"}, "kind": {"desk"}, "low": {"200"}, "high": {"300"}, "days": {""}, "was": {was}, "etag": {`"2"`}})
	pagetest.Want(t, "both", status, http.StatusConflict, body, []string{"What changed meanwhile", `name="fee" inputmode="decimal" maxlength="6" autocomplete="off" value="5"`, `value="desk"`, `value="chair"`, `value="&#34;9&#34;"`}, nil)
}

func TestPrice_ForOwners(t *testing.T) {
	v := serve(t, &shop{role: typev1.Role_ROLE_LEAD, answer: bench()})
	for _, path := range []string{"/money/price/41", "/money/terms"} {
		status, body := v.Get(path)
		pagetest.Want(t, path, status, http.StatusForbidden, body, []string{"for the owner"}, []string{"420"})
	}
}
