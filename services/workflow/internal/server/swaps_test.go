package server_test

import (
	"slices"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// swapFloor is a Monday at nine: Nell has to strip the top, Ira to sand the case, of one piece.
type swapFloor struct {
	*plannedFloor
	workflowv1.SwapServiceClient
	ira                string
	stripTop, sandCase string
}

func setupSwaps(t *testing.T) *swapFloor {
	t.Helper()
	p := setupPlanning(t)
	s := &swapFloor{plannedFloor: p, SwapServiceClient: workflowv1.NewSwapServiceClient(p.Conn), ira: p.person(t, "Ira", "strip"),
		stripTop: p.stages["strip top"].Name, sandCase: p.stages["sand case"].Name}
	s.give(t, s.stripTop, s.nell)
	s.give(t, s.sandCase, s.ira)
	return s
}

// give has somebody have a stage from now on.
func (s *swapFloor) give(t testing.TB, stage, person string) {
	t.Helper()
	s.assign(t, &workflowv1.AssignStageRequest{RequestId: svctest.NewID(), Stage: stage, Person: person})
}

// ask is Nell's offer of the stripping to Ira, for his sanding or for nothing.
func (s *swapFloor) ask(forStage string) *workflowv1.OfferSwapRequest {
	return &workflowv1.OfferSwapRequest{RequestId: svctest.NewID(), Person: s.nell, Stage: s.stripTop, ToPerson: s.ira, ForStage: forStage, Note: "my wrist"}
}

func (s *swapFloor) offer(t testing.TB, r *workflowv1.OfferSwapRequest) *workflowv1.Swap {
	t.Helper()
	resp, err := s.OfferSwap(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp.Swap
}

func answer(swap, person string, accept bool) *workflowv1.AnswerSwapRequest {
	return &workflowv1.AnswerSwapRequest{RequestId: svctest.NewID(), Swap: swap, Person: person, Accept: accept}
}

func withdraw(swap, person string) *workflowv1.WithdrawSwapRequest {
	return &workflowv1.WithdrawSwapRequest{RequestId: svctest.NewID(), Swap: swap, Person: person}
}

func (s *swapFloor) swaps(t testing.TB, person string) []*workflowv1.Swap {
	t.Helper()
	r, err := s.ListSwaps(svctest.Ctx(t), &workflowv1.ListSwapsRequest{Person: person})
	if err != nil {
		t.Fatal(err)
	}
	return r.Swaps
}

// who is whose stages are, in one word each.
func (s *swapFloor) who(t testing.TB) string {
	t.Helper()
	return s.stage(t, s.stripTop).AssigneeName + " " + s.stage(t, s.sandCase).AssigneeName
}

// An accepted offer has both stages change hands, each told in the order of the piece's versions.
func TestServer_AnswerSwap(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	r := s.ask(s.sandCase)
	w := s.offer(t, r)
	if again := s.offer(t, r); !cmp.Equal(w, again, protocmp.Transform()) {
		t.Error("asked again, another offer was made")
	}
	want := &workflowv1.Swap{Name: w.Name, State: workflowv1.Swap_STATE_OPEN, Person: s.nell, PersonName: "Nell", ToPerson: s.ira, ToPersonName: "Ira", Note: "my wrist", OfferTime: at(0),
		Offered: &workflowv1.Swap_Side{Stage: s.stripTop, Piece: s.piece, PieceTag: 7, Title: "strip (top)", Kind: "strip", PartLabel: "top"},
		Wanted:  &workflowv1.Swap_Side{Stage: s.sandCase, Piece: s.piece, PieceTag: 7, Title: "sand (case)", Kind: "sand", PartLabel: "case"}}
	if diff := cmp.Diff(want, w, protocmp.Transform()); diff != "" {
		t.Errorf("offer (-want +got):\n%s", diff)
	}
	offered := &eventsv1.SwapOffered{SwapId: tail(w.Name), PersonId: tail(s.nell), PersonName: "Nell", ToPersonId: tail(s.ira), ToPersonName: "Ira", StageId: tail(s.stripTop), Kind: "strip",
		ForStageId: tail(s.sandCase), ForKind: "sand", ForPieceId: tail(s.piece), Note: "my wrist"}
	if diff := cmp.Diff(offered, s.Last(t).GetSwapOffered(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	before := len(s.Events(t))
	a := answer(w.Name, s.ira, true)
	for range 2 { // asked again, it is done once
		if r, err := s.AnswerSwap(svctest.Ctx(t), a); err != nil || r.Swap.State != workflowv1.Swap_STATE_ACCEPTED {
			t.Fatalf("AnswerSwap = %v, %v", r, err)
		}
	}
	if got := s.who(t); got != "Ira Nell" {
		t.Errorf("the stages are %s's", got)
	}
	told, version := []string{}, s.Events(t)[before-1].Version
	for i, e := range s.Events(t)[before:] {
		told = append(told, e.GetStageAssigned().GetPersonName()+e.GetSwapEnded().GetOutcome())
		if e.Version != version+int64(i)+1 || "pieces/"+e.PieceId != s.piece {
			t.Errorf("event %d of version %d: %v", i, e.Version, e)
		}
	}
	if want := []string{"Ira", "Nell", "accepted"}; !slices.Equal(told, want) {
		t.Errorf("told is %q, want %q", told, want)
	}
	for _, person := range []string{s.nell, s.ira} {
		if l := s.swaps(t, person); len(l) != 1 || l[0].State != workflowv1.Swap_STATE_ACCEPTED || l[0].EndTime == nil {
			t.Errorf("listed is %v", l)
		}
	}
	if l := s.swaps(t, s.odo); len(l) != 0 {
		t.Errorf("of Odo's are listed %v", l)
	}
}

// Declined and withdrawn nothing changes hands, and a week later nobody is told of it any more.
func TestServer_AnswerSwap_Declined(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	if _, err := s.AnswerSwap(svctest.Ctx(t), answer(s.offer(t, s.ask("")).Name, s.ira, false)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.WithdrawSwap(svctest.Ctx(t), withdraw(s.offer(t, s.ask("")).Name, s.nell)); err != nil {
		t.Fatal(err)
	}
	if e := s.Last(t).GetSwapEnded(); e.GetOutcome() != "withdrawn" || e.ForStageId != "" || s.who(t) != "Nell Ira" {
		t.Errorf("event %v; the stages are %s's", e, s.who(t))
	}
	if l := s.swaps(t, s.ira); len(l) != 2 || l[0].State != workflowv1.Swap_STATE_WITHDRAWN || l[1].State != workflowv1.Swap_STATE_DECLINED {
		t.Errorf("listed is %v", l)
	}
	r, err := s.ListSwaps(svctest.Ctx(t), &workflowv1.ListSwapsRequest{Person: s.ira, PageSize: 1})
	if err != nil {
		t.Fatal(err)
	}
	if r, err = s.ListSwaps(svctest.Ctx(t), &workflowv1.ListSwapsRequest{Person: s.ira, PageSize: 1, PageToken: r.NextPageToken}); err != nil || len(r.Swaps) != 1 || r.Swaps[0].State != workflowv1.Swap_STATE_DECLINED {
		t.Errorf("the second page is %v, %v", r, err)
	}
	s.wall.set(7*24*60 + 1)
	if l := s.swaps(t, s.ira); len(l) != 0 {
		t.Errorf("a week later are listed %v", l)
	}
}

// An offer whose stage went to somebody else has ended by itself: it is not accepted, says why, and gives way to
// another one. Nobody is told of it after a week.
func TestServer_AnswerSwap_Overtaken(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	w := s.offer(t, s.ask(s.sandCase))
	says(t, svctest.Refused(t, s.Service, s.OfferSwap, s.ask(""), fault.Precondition, "SWAP_OPEN"), "to Ira already")
	s.give(t, s.sandCase, s.odo)
	for _, accept := range []bool{true, false} {
		says(t, svctest.Refused(t, s.Service, s.AnswerSwap, answer(w.Name, s.ira, accept), fault.Precondition, "SWAP_ENDED"), "Ira no longer has sand (case).")
	}
	if l := s.swaps(t, s.ira); len(l) != 1 || l[0].State != workflowv1.Swap_STATE_OVERTAKEN || l[0].Text != "Ira no longer has sand (case)." || l[0].Said.GetReason() != "SWAP_GIVEN_AWAY" || l[0].EndTime != nil {
		t.Errorf("listed is %v", l)
	}
	other := s.offer(t, s.ask(""))
	if l := s.swaps(t, s.ira); len(l) != 2 || l[0].Name != other.Name || l[0].State != workflowv1.Swap_STATE_OPEN || l[1].Said.GetReason() != "SWAP_REPLACED" || l[1].EndTime == nil {
		t.Errorf("listed are %v", l)
	}
	s.give(t, s.stripTop, s.odoStrips(t))
	s.wall.set(7*24*60 + 1)
	if l := s.swaps(t, s.ira); len(l) != 0 {
		t.Errorf("a week later are listed %v", l)
	}
}

// odoStrips is somebody else who can strip.
func (s *swapFloor) odoStrips(t testing.TB) string { return s.person(t, "Tom", "strip") }

func TestServer_OfferSwap_Refuses(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	offer := func(person, stage, to, forStage string) *workflowv1.OfferSwapRequest {
		return &workflowv1.OfferSwapRequest{RequestId: svctest.NewID(), Person: person, Stage: stage, ToPerson: to, ForStage: forStage}
	}
	stripCase, coat := s.stages["strip case"].Name, s.stages["coat top"].Name
	s.give(t, coat, s.nell)
	if _, err := s.PinStage(svctest.Ctx(t), pin(coat, s.nell, nil)); err != nil {
		t.Fatal(err)
	}
	s.give(t, stripCase, s.nell)
	s.clockedOn(t, s.nell, stripCase, 0)
	nobody := id.Name("people", id.New())
	for _, c := range []struct {
		r      *workflowv1.OfferSwapRequest
		kind   fault.Kind
		reason string
	}{
		{offer(s.nell, "stages/x", s.ira, ""), fault.Invalid, "INVALID_NAME"},
		{offer(s.nell, s.stripTop, s.ira, "stages/x"), fault.Invalid, "INVALID_NAME"},
		{offer(s.nell, s.piece+"/stages/"+svctest.NewID(), s.ira, ""), fault.NotFound, "STAGE_NOT_FOUND"},
		{offer(s.nell, s.stripTop, s.ira, id.Name("pieces", id.New(), "stages", id.New())), fault.NotFound, "STAGE_NOT_FOUND"},
		{offer(nobody, s.stripTop, s.ira, ""), fault.NotFound, "PERSON_NOT_FOUND"},
		{offer(s.nell, s.stripTop, nobody, ""), fault.NotFound, "PERSON_NOT_FOUND"},
		{offer(s.nell, s.stripTop, s.nell, ""), fault.Invalid, "SAME_PERSON"},
		{offer(s.ira, s.stripTop, s.nell, ""), fault.Precondition, "NOT_THEIRS"},
		{offer(s.nell, s.stripTop, s.ira, coat), fault.Precondition, "NOT_THEIRS"},
		{offer(s.nell, s.stripTop, s.ira, s.stripTop), fault.Precondition, "NOT_THEIRS"},
		{offer(s.nell, s.stripTop, s.odo, ""), fault.Precondition, "SKILL_MISSING"},
		{offer(s.nell, coat, s.ira, ""), fault.Precondition, "STAGE_PINNED"},
		{offer(s.nell, stripCase, s.ira, ""), fault.Precondition, "STAGE_HAS_OPEN_CLOCK"},
	} {
		svctest.Refused(t, s.Service, s.OfferSwap, c.r, c.kind, c.reason)
	}
	w := s.offer(t, s.ask(""))
	svctest.Refused(t, s.Service, s.AnswerSwap, answer(id.Name("swaps", id.New()), s.ira, true), fault.NotFound, "SWAP_NOT_FOUND")
	svctest.Refused(t, s.Service, s.AnswerSwap, answer(w.Name, nobody, true), fault.NotFound, "PERSON_NOT_FOUND")
	svctest.Refused(t, s.Service, s.AnswerSwap, answer(w.Name, s.odo, false), fault.Precondition, "SWAP_OF_OTHERS")
	svctest.Refused(t, s.Service, s.WithdrawSwap, withdraw(w.Name, s.ira), fault.Precondition, "SWAP_OF_OTHERS")
	svctest.Refused(t, s.Service, s.ListSwaps, &workflowv1.ListSwapsRequest{Person: nobody}, fault.NotFound, "PERSON_NOT_FOUND")
	if _, err := s.PinStage(svctest.Ctx(t), pin(s.stripTop, s.nell, nil)); err != nil {
		t.Fatal(err)
	}
	svctest.Refused(t, s.Service, s.AnswerSwap, answer(w.Name, s.ira, true), fault.Precondition, "STAGE_PINNED")
}

// Of many answers that come at once one counts, and all others are told that it has ended.
func TestServer_AnswerSwap_Racing(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	for _, accepting := range []bool{false, true} {
		w := s.offer(t, s.ask(s.sandCase))
		before := len(s.Events(t))
		ends := map[string]func() error{
			"decline":  func() error { return failed(s.AnswerSwap(svctest.Ctx(t), answer(w.Name, s.ira, false))) },
			"withdraw": func() error { return failed(s.WithdrawSwap(svctest.Ctx(t), withdraw(w.Name, s.nell))) },
		}
		if accepting {
			ends["accept"] = func() error { return failed(s.AnswerSwap(svctest.Ctx(t), answer(w.Name, s.ira, true))) }
		}
		won := racing(t, ends)
		want, events := "Nell Ira", 1
		if won == "accept" {
			want, events = "Ira Nell", 3
		}
		if got := s.who(t); got != want || len(s.Events(t))-before != events {
			t.Errorf("won has %q; the stages are %s's, and %d things were told", won, got, len(s.Events(t))-before)
		}
	}
}

func failed[T any](_ T, err error) error { return err }

// racing does each of some things six times, all at once, and gives what was done; all but one are told that the
// offer has ended.
func racing(t *testing.T, ends map[string]func() error) (won string) {
	t.Helper()
	var all sync.WaitGroup
	var mu sync.Mutex
	var done []string
	for range 6 {
		for name, end := range ends {
			all.Go(func() {
				err := end()
				mu.Lock()
				defer mu.Unlock()
				if err == nil {
					done = append(done, name)
				} else if !fault.Is(err, "SWAP_ENDED") {
					t.Errorf("%s = %v", name, err)
				}
			})
		}
	}
	all.Wait()
	if len(done) != 1 {
		t.Fatalf("done was %q, want one", done)
	}
	return done[0]
}

// Two who each accept the other's offer, of the same stages the other way round, do not wait for each other for ever.
func TestServer_AnswerSwap_Crosswise(t *testing.T) {
	t.Parallel()
	s := setupSwaps(t)
	w := s.offer(t, s.ask(s.sandCase))
	back := s.offer(t, &workflowv1.OfferSwapRequest{RequestId: svctest.NewID(), Person: s.ira, Stage: s.sandCase, ToPerson: s.nell, ForStage: s.stripTop})
	var all sync.WaitGroup
	errs := make([]error, 2)
	all.Go(func() { _, errs[0] = s.AnswerSwap(svctest.Ctx(t), answer(w.Name, s.ira, true)) })
	all.Go(func() { _, errs[1] = s.AnswerSwap(svctest.Ctx(t), answer(back.Name, s.nell, true)) })
	all.Wait()
	if (errs[0] == nil) == (errs[1] == nil) || s.who(t) != "Ira Nell" {
		t.Errorf("answered %v; the stages are %s's", errs, s.who(t))
	}
}
