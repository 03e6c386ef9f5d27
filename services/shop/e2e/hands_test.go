package e2e_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// Eight people work at once on four pieces for many short stretches, each at a rate of
// their own, and some entries are corrected. What the books say a piece's labour cost is
// what its clock entries come to, to the cent, by plain arithmetic on the entries.
func TestHands_ManyAtOnceAreExact(t *testing.T) {
	s := open(t, nil)
	f := newFloor(t, s.Shop, 8, 4)
	var all sync.WaitGroup
	for i := range f.people {
		all.Go(func() { f.work(t, i, 25) })
	}
	all.Wait()
	verified(t, s.Shop)
	want := f.byHand(t)
	for _, p := range costs(t, s.Shop) {
		if got, _ := wire.FromMoney(p.Sums.Labour, 2); got != want[p.Piece] {
			t.Errorf("labour of piece %d = %d, by hand %d", p.Tag, got, want[p.Piece])
		}
	}
}

// Six people work on one piece while its cost is read over and over. In every answer, of the
// piece, of the list and of the shop, the parts come to the sums, for all of an answer is of
// one moment.
func TestHands_EveryAnswerAddsUp(t *testing.T) {
	s := open(t, nil)
	f := newFloor(t, s.Shop, 6, 1)
	piece := f.stages[0][:len("pieces/")+36]
	eventually(t, "the piece is in the books", func() bool { return len(costs(t, s.Shop)) == 1 })
	var all sync.WaitGroup
	defer all.Wait()
	for i := range f.people {
		all.Go(func() { f.work(t, i, 25) })
	}
	done := make(chan struct{})
	go func() {
		all.Wait()
		close(done)
	}()
	for {
		r, err := s.Shop.Costing.GetPieceCost(t.Context(), &costingv1.GetPieceCostRequest{Piece: piece})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range append(costs(t, s.Shop), r.PieceCost) {
			if lines, sums := byLines(p), bySums(p.Sums); lines != sums {
				t.Errorf("in revision %d the lines come to %+v, the sums to %+v", p.Revision, lines, sums)
			}
		}
		if sums, owed := shopLabour(t, s.Shop); sums != owed {
			t.Errorf("the labour of all pieces is %d, the wages owed for it are %d", sums, owed)
		}
		select {
		case <-done:
			return
		default:
		}
	}
}

// labour is what work on a piece comes to.
type labour struct {
	cost, reworkCost money.Amount
	time, reworkTime time.Duration
}

func byLines(p *costingv1.PieceCost) (sum labour) {
	for _, l := range p.LabourLines {
		cost, _ := wire.FromMoney(l.Cost, 2)
		if l.Rework {
			sum.reworkCost, sum.reworkTime = sum.reworkCost+cost, sum.reworkTime+l.Time.AsDuration()
		} else {
			sum.cost, sum.time = sum.cost+cost, sum.time+l.Time.AsDuration()
		}
	}
	return sum
}

// bySums is for what no material went to: its rework is all labour.
func bySums(s *costingv1.CostSums) labour {
	cost, _ := wire.FromMoney(s.Labour, 2)
	rework, _ := wire.FromMoney(s.Rework, 2)
	return labour{cost, rework, s.LabourTime.AsDuration(), s.ReworkTime.AsDuration()}
}

// shopLabour is the cost of all labour by the sums, and by what is owed for it.
func shopLabour(t *testing.T, shop *client.Shop) (sums, owed money.Amount) {
	t.Helper()
	r, err := shop.Costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range r.Accounts {
		if a.Account == "wages_payable" {
			credit, _ := wire.FromMoney(a.Balance, 2)
			owed = -credit
		}
	}
	total := bySums(r.Total)
	return total.cost + total.reworkCost, owed
}

// floor is people with rates and pieces with one stage each.
type floor struct {
	shop   *client.Shop
	people []string
	rates  map[string]int64 // minor units an hour
	stages []string
}

var owner = caller.Caller{Actor: "Odile"}

func newFloor(t *testing.T, shop *client.Shop, people, pieces int) *floor {
	t.Helper()
	ctx := caller.With(t.Context(), owner)
	f := &floor{shop: shop, rates: map[string]int64{}}
	for i := range people {
		r, err := shop.People.AddPerson(ctx, &workflowv1.AddPersonRequest{RequestId: id.New().String(), DisplayName: fmt.Sprintf("Helper %d", i)})
		if err != nil {
			t.Fatal(err)
		}
		rate := int64(1601 + 37*i)
		f.people, f.rates[r.Person.Name] = append(f.people, r.Person.Name), rate
		_, err = shop.Rates.SetPayRate(ctx, &costingv1.SetPayRateRequest{RequestId: id.New().String(), Person: r.Person.Name,
			PerHour: &moneyv1.Money{CurrencyCode: "USD", Units: rate / 100, Nanos: int32(rate % 100 * 10_000_000)}, EffectiveDate: &date.Date{Year: 2026, Month: 1, Day: 1}})
		if err != nil {
			t.Fatal(err)
		}
	}
	step := &workflowv1.Step{Key: "sand", Kind: "sand", Scope: workflowv1.Step_SCOPE_PIECE}
	if _, err := shop.Routes.SaveRoute(ctx, &workflowv1.SaveRouteRequest{RequestId: id.New().String(), Route: &workflowv1.Route{Name: "routes/sand", Steps: []*workflowv1.Step{step}}}); err != nil {
		t.Fatal(err)
	}
	for range pieces {
		f.stages = append(f.stages, f.piece(ctx, t))
	}
	return f
}

func (f *floor) piece(ctx context.Context, t *testing.T) string {
	t.Helper()
	p, err := f.shop.Intake.TakeInPiece(ctx, &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Title: "Chair", Kind: "chair",
		TakenInTime: timestamppb.New(time.Date(2026, 3, 2, 7, 0, 0, 0, time.UTC)),
		Origin:      &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "R. Okafor"}}, Parts: []*intakev1.Part{{Label: "seat"}}})
	if err != nil {
		t.Fatal(err)
	}
	_, err = f.shop.Tests.RecordLeadTest(ctx, &workflowv1.RecordLeadTestRequest{RequestId: id.New().String(), Piece: p.Piece.Name,
		Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FREE}})
	if err != nil {
		t.Fatal(err)
	}
	r, err := f.shop.Stages.PlanStages(ctx, &workflowv1.PlanStagesRequest{RequestId: id.New().String(), Piece: p.Piece.Name, Route: "routes/sand"})
	if err != nil {
		t.Fatal(err)
	}
	return r.Stages[0].Name
}

// work clocks one person on and off n times, for milliseconds to hours, and corrects
// every fifth entry.
func (f *floor) work(t *testing.T, person, n int) {
	random := rand.New(rand.NewPCG(7, uint64(person)))
	ctx := caller.With(t.Context(), caller.Caller{Actor: fmt.Sprintf("Helper %d", person)})
	at := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	for i := range n {
		stage := f.stages[random.IntN(len(f.stages))]
		on := &workflowv1.ClockOnRequest{RequestId: id.New().String(), Person: f.people[person], Stage: stage, StartTime: timestamppb.New(at), AcknowledgedCautions: []string{"dust"}}
		if _, err := f.shop.Clocks.ClockOn(ctx, on); err != nil {
			t.Errorf("clock on: %v", err)
			return
		}
		at = at.Add(time.Duration(1+random.IntN(7_200_000)) * time.Millisecond)
		off, err := f.shop.Clocks.ClockOff(ctx, &workflowv1.ClockOffRequest{RequestId: id.New().String(), Person: f.people[person], EndTime: timestamppb.New(at)})
		if err != nil {
			t.Errorf("clock off: %v", err)
			return
		}
		if i%5 == 4 {
			f.correct(ctx, t, off.ClockEntry, random)
		}
		at = at.Add(time.Minute)
	}
}

// correct moves the end half a minute, or the entry to another piece.
func (f *floor) correct(ctx context.Context, t *testing.T, e *workflowv1.ClockEntry, random *rand.Rand) {
	change := &workflowv1.CorrectClockEntryRequest_Replacement{EndTime: timestamppb.New(e.EndTime.AsTime().Add(30 * time.Second))}
	if other := f.stages[random.IntN(len(f.stages))]; other != e.Stage {
		change = &workflowv1.CorrectClockEntryRequest_Replacement{Stage: other}
	}
	_, err := f.shop.Clocks.CorrectClockEntry(ctx, &workflowv1.CorrectClockEntryRequest{RequestId: id.New().String(), ClockEntry: e.Name, Reason: "wrong", Replacement: change})
	if err != nil {
		t.Errorf("correct: %v", err)
	}
}

// byHand costs the entries that count: milliseconds times rate, each rounded half to even.
func (f *floor) byHand(t *testing.T) map[string]money.Amount {
	t.Helper()
	entries, err := client.All(t.Context(), func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
		r, err := f.shop.Clocks.ListClockEntries(ctx, &workflowv1.ListClockEntriesRequest{PageSize: 100, PageToken: token})
		return r.GetClockEntries(), r.GetNextPageToken(), err
	})
	if err != nil {
		t.Fatal(err)
	}
	const hour = 3_600_000
	sums := map[string]money.Amount{}
	for _, e := range entries {
		if e.Superseded {
			continue
		}
		exact := e.EndTime.AsTime().Sub(e.StartTime.AsTime()).Milliseconds() * f.rates[e.Person]
		cents, rest := exact/hour, exact%hour
		if rest*2 > hour || (rest*2 == hour && cents%2 == 1) {
			cents++
		}
		sums[e.Stage[:len("pieces/")+36]] += money.Amount(cents)
	}
	return sums
}
