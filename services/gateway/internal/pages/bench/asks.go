package bench

import (
	"context"
	"time"

	"tackfree/pkg/clients"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// Ask is what people ask each other to take.
type Ask struct {
	Swap string `json:"swap"`
	Text string `json:"text"`
	Note string `json:"note,omitempty"`
	// Can are the presses that it takes: accept and decline of who is asked, withdraw of who asks; of one that has
	// ended none.
	Can []string `json:"can"`
}

const (
	// mostAsks is how many offers are looked at.
	mostAsks = 50
	// asksShown is for how long whoever asked is shown what came of it.
	asksShown = 24 * time.Hour
)

func (f *found) readSwaps(ctx context.Context, s *clients.Suite, person string) error {
	r, err := s.Swaps.ListSwaps(ctx, &workflowv1.ListSwapsRequest{Person: person, PageSize: mostAsks})
	f.swaps = r.GetSwaps()
	return err
}

// asksOf are the offers that somebody can do something about, and what came of those that they made.
func asksOf(f *found, person string, v *words.Voice) []Ask {
	asks := []Ask{}
	for _, s := range f.swaps {
		mine := s.Person == person
		text, can := "", []string{}
		switch {
		case s.State == workflowv1.Swap_STATE_OPEN && mine:
			text, can = forWhat("bench.ask.mine", s, v, s.ToPersonName), []string{"withdraw"}
		case s.State == workflowv1.Swap_STATE_OPEN:
			text, can = forWhat("bench.ask.theirs", s, v, s.PersonName), []string{"accept", "decline"}
		case mine && recent(s, f.now):
			text = cameOfIt(s, v, f.now)
		}
		if text != "" {
			asks = append(asks, Ask{Swap: s.Name, Text: text, Note: s.Note, Can: can})
		}
	}
	return asks
}

// recent reports whether an offer ended lately, or else was made so.
func recent(s *workflowv1.Swap, now time.Time) bool {
	at := s.EndTime
	if at == nil {
		at = s.OfferTime
	}
	return at.AsTime().Add(asksShown).After(now)
}

// forWhat says who asks whom, and what would be given for it.
func forWhat(key string, s *workflowv1.Swap, v *words.Voice, other string) string {
	if s.Wanted == nil {
		return v.T(key, other, sideOf(s.Offered, v))
	}
	return v.T(key+".for", other, sideOf(s.Offered, v), sideOf(s.Wanted, v))
}

// sideOf names a stage of an offer with its piece.
func sideOf(s *workflowv1.Swap_Side, v *words.Voice) string {
	return title(s.PieceTag, named(s.Kind, s.Title, v))
}

// cameOfIt says how an offer ended; one that its maker took back is not spoken of.
func cameOfIt(s *workflowv1.Swap, v *words.Voice, now time.Time) string {
	switch s.State {
	case workflowv1.Swap_STATE_ACCEPTED:
		return v.T("bench.ask.accepted", s.ToPersonName, sideOf(s.Offered, v))
	case workflowv1.Swap_STATE_DECLINED:
		return v.T("bench.ask.declined", s.ToPersonName, sideOf(s.Offered, v))
	case workflowv1.Swap_STATE_OVERTAKEN:
		return v.T("bench.ask.overtaken", s.ToPersonName, v.Sentence(s.Said, s.Text, now))
	}
	return ""
}

func accept(a *web.Asked, p press) (pressed, error) { return answer(a, p, true) }

func decline(a *web.Asked, p press) (pressed, error) { return answer(a, p, false) }

func answer(a *web.Asked, p press, accepts bool) (pressed, error) {
	_, err := a.Kit.Suite.Swaps.AnswerSwap(a.Context(), &workflowv1.AnswerSwapRequest{RequestId: p.ID, Swap: p.Swap, Person: p.Person, Accept: accepts})
	return pressed{}, err
}

func withdraw(a *web.Asked, p press) (pressed, error) {
	_, err := a.Kit.Suite.Swaps.WithdrawSwap(a.Context(), &workflowv1.WithdrawSwapRequest{RequestId: p.ID, Swap: p.Swap, Person: p.Person})
	return pressed{}, err
}
