package bench

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// swapping is the page on which somebody gives a stage back, or asks somebody to take it.
type swapping struct {
	Stage  string
	Title  string // with the tag of its piece
	Reason string
	With   string // who was chosen, people/{id}; and behind a blank the stage that they would give for it
	Note   string
	Hands  []hand
}

// hand is somebody who could be asked, and what is theirs.
type hand struct {
	Person, Name string
	Theirs       []choice
}

func swap(w http.ResponseWriter, a *web.Asked) error {
	return showSwapping(w, a, swapping{Stage: a.URL.Query().Get("stage")}, nil)
}

// showSwapping shows the page of a stage that is theirs; of any other there is nothing to do here.
func showSwapping(w http.ResponseWriter, a *web.Asked, s swapping, refused error) error {
	day, err := a.Kit.Suite.Floor.GetDay(a.Context(), &workflowv1.GetDayRequest{Person: a.User.Person})
	if err != nil {
		return err
	}
	i := slices.IndexFunc(day.Assigned, func(n *workflowv1.NextStage) bool { return n.Stage.Name == s.Stage })
	if i < 0 {
		return a.After(w, "/bench", "bench.swap.gone")
	}
	s.Title = title(day.Assigned[i].PieceTag, titleOf(day.Assigned[i].Stage, a.Voice))
	if err := s.readHands(a.Context(), a); err != nil {
		return err
	}
	return a.ShowRefused(w, "benchswap", a.Voice.T("bench.swap.title"), s, refused)
}

// readHands lists everybody else who is in the shop today, and what they have, by the floor's plan, which knows of all
// that is to be done who has it.
func (s *swapping) readHands(ctx context.Context, a *web.Asked) error {
	people, err := a.Kit.Suite.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageSize: 1000})
	if err != nil {
		return err
	}
	plan, err := a.Kit.Suite.Planning.GetFloorPlan(ctx, &workflowv1.GetFloorPlanRequest{})
	if err != nil {
		return err
	}
	today := a.Now().In(a.Voice.Zone).Format(time.DateOnly)
	for _, p := range people.People {
		if p.Name == a.User.Person || !belongs(p, today) {
			continue
		}
		h := hand{Person: p.Name, Name: p.DisplayName}
		for _, st := range plan.Plan.GetStages() {
			if st.Assigned && !st.InWork && st.Person == p.Name {
				h.Theirs = append(h.Theirs, choice{st.Stage, title(st.PieceTag, named(st.Kind, st.Title, a.Voice))})
			}
		}
		s.Hands = append(s.Hands, h)
	}
	return nil
}

// belongs reports whether somebody works in the shop on a day, yyyy-mm-dd by the shop's own zone.
func belongs(p *workflowv1.Person, day string) bool {
	return typed.Day(p.ActiveFrom) <= day && (p.ActiveTo == nil || day <= typed.Day(p.ActiveTo))
}

func giveBack(w http.ResponseWriter, a *web.Asked) error {
	s := swapping{Stage: a.Typed("stage"), Reason: a.Typed("reason")}
	_, err := a.Kit.Suite.Swaps.RefuseStage(a.Context(), &workflowv1.RefuseStageRequest{RequestId: a.RequestID(), Stage: s.Stage, Person: a.User.Person, Reason: s.Reason})
	return afterSwapping(w, a, s, err, "bench.swap.given")
}

func askToSwap(w http.ResponseWriter, a *web.Asked) error {
	s := swapping{Stage: a.Typed("stage"), With: a.Typed("with"), Note: a.Typed("note")}
	to, forStage, _ := strings.Cut(s.With, " ")
	_, err := a.Kit.Suite.Swaps.OfferSwap(a.Context(), &workflowv1.OfferSwapRequest{RequestId: a.RequestID(), Person: a.User.Person, Stage: s.Stage, ToPerson: to, ForStage: forStage, Note: s.Note})
	return afterSwapping(w, a, s, err, "bench.swap.asked")
}

// afterSwapping goes back to the bench, or shows the page again with what was refused.
func afterSwapping(w http.ResponseWriter, a *web.Asked, s swapping, err error, said string) error {
	switch {
	case fault.Of(err) != nil:
		return showSwapping(w, a, s, err)
	case err != nil:
		return err
	}
	return a.After(w, "/bench", said)
}
