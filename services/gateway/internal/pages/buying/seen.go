package buying

import (
	"net/http"
	"path"

	"google.golang.org/protobuf/types/known/timestamppb"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// seenAtOnce is how many prospects a page shows.
const seenAtOnce = 50

// states are the choices of the list, the first of which is all.
var states = []string{"all", "open", "bought", "declined"}

var stateOf = map[string]intakev1.Prospect_State{"open": intakev1.Prospect_STATE_OPEN, "bought": intakev1.Prospect_STATE_BOUGHT, "declined": intakev1.Prospect_STATE_DECLINED}

// stateClass is how a state looks.
var stateClass = map[string]string{"open": "ready", "bought": "done", "declined": "wait"}

// seen is the list of what was kept.
type seen struct {
	State  string
	States []string
	Lines  []line
	Next   string // the address of the next page; empty: this is the last
}

// line is one prospect of a list.
type line struct {
	Number             int32
	Address            string
	Title, Kind        string
	State, Class       string
	Verdict            verdict
	Asking, Paid, Most string
	Source, Reason     string
	Tag                int32 // of the piece that it became
	Seen               *timestamppb.Timestamp
}

func linesOf(v *words.Voice, all []*intakev1.Prospect) (out []line) {
	for _, p := range all {
		out = append(out, lineOf(v, p))
	}
	return out
}

func lineOf(v *words.Voice, p *intakev1.Prospect) line {
	s := p.GetSighting()
	it := line{Number: p.Number, Address: addressOf(p), Title: s.GetTitle(), Kind: kindText(v, s.GetKind()), State: stateWord(p), Verdict: verdictOf(v, p.Advice),
		Asking: v.Money(s.GetAskingPrice()), Most: mostOf(v, p.Advice, s.GetAskingPrice()), Source: s.GetSource(), Reason: p.DeclineReason, Tag: p.PieceTag, Seen: p.SeenTime}
	it.Class = stateClass[it.State]
	if p.Paid != nil {
		it.Paid = v.Money(p.Paid)
	}
	return it
}

func stateWord(p *intakev1.Prospect) string {
	for word, s := range stateOf {
		if s == p.State {
			return word
		}
	}
	return "open"
}

// addressOf is the page of a prospect.
func addressOf(p *intakev1.Prospect) string { return "/buying/seen/" + path.Base(p.Name) }

func showSeen(w http.ResponseWriter, a *web.Asked) error {
	q := a.URL.Query()
	it := seen{State: states[0], States: states}
	if _, known := stateOf[q.Get("state")]; known {
		it.State = q.Get("state")
	}
	r, err := a.Kit.Suite.Prospects.ListProspects(a.Context(), &intakev1.ListProspectsRequest{State: stateOf[it.State], PageSize: seenAtOnce, PageToken: q.Get("page")})
	if err != nil {
		return err
	}
	it.Lines = linesOf(a.Voice, r.Prospects)
	if r.NextPageToken != "" {
		it.Next = "/buying/seen?state=" + it.State + "&page=" + r.NextPageToken
	}
	return show(w, a, a.Voice.T("buying.seen"), page{Tab: "seen", Seen: &it}, nil)
}

func showOne(w http.ResponseWriter, a *web.Asked) error {
	p, err := find(a)
	if err != nil {
		return err
	}
	return showOneWith(w, a, p, nil)
}

func find(a *web.Asked) (*intakev1.Prospect, error) {
	r, err := a.Kit.Suite.Prospects.GetProspect(a.Context(), &intakev1.GetProspectRequest{Name: "prospects/" + a.PathValue("id")})
	return r.GetProspect(), err
}

// showOneWith shows what was kept, with the advice of then.
func showOneWith(w http.ResponseWriter, a *web.Asked, p *intakev1.Prospect, refused error) error {
	it := answerOf(a.Voice, p.Sighting, p.Advice)
	it.Values = valuesOf(a.Voice, p.Sighting)
	if err := it.wantedThen(a, p.Advice); err != nil {
		return err
	}
	l := lineOf(a.Voice, p)
	it.Kept, it.Etag = &l, p.Etag
	it.typed(a.PostForm)
	return show(w, a, a.Voice.T("buying.number", p.Number), page{Tab: "seen", Answer: &it}, refused)
}

// wantedThen adds the target and the chance that were reckoned with, where the terms say others today: they may
// have been for that once.
func (it *answer) wantedThen(a *web.Asked, then *intakev1.Advice) error {
	r, err := a.Kit.Suite.Prospects.GetBuyingTerms(a.Context(), &intakev1.GetBuyingTermsRequest{})
	if err != nil {
		return err
	}
	target, chance := typed.Money(then.GetTargetPerHour(), a.Voice.Currency), tenth(then.GetChance()*100)
	if target == typed.Money(r.Terms.GetTargetPerHour(), a.Voice.Currency) && chance == tenth(r.Terms.GetChance()*100) {
		return nil
	}
	it.Values.Set("target", target)
	it.Values.Set("chance", chance)
	it.Want = a.Voice.T("buying.as.of.then", a.Voice.Money(then.GetTargetPerHour()), a.Voice.Percent(then.GetChance()))
	return nil
}
