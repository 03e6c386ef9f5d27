package server_test

import (
	"context"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/costing/costingsvc"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var monday = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)

// producer is another service's event log, and the people workflow knows.
type producer struct {
	eventsv1.UnimplementedEventLogServiceServer
	workflowv1.UnimplementedPeopleServiceServer
	name   string
	people map[string]bool

	mu     sync.Mutex
	epoch  string
	away   bool
	silent bool // it tells its heads, and no events
	events []*eventsv1.Envelope
	unseen string // id of the event that was recorded behind the back of whoever reads the whole log
}

func (p *producer) setAway(away bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.away = away
}

var errAway = fault.New(fault.Unavailable, "AWAY", "It is away for the moment.")

func (p *producer) ListEvents(_ context.Context, r *eventsv1.ListEventsRequest) (*eventsv1.ListEventsResponse, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.away || p.silent {
		return nil, errAway
	}
	out := &eventsv1.ListEventsResponse{Epoch: p.epoch}
	for _, e := range p.events {
		if r.Aggregate == nil && e.EventId != p.unseen || r.Aggregate != nil && (e.AggregateId == r.Aggregate.Id && e.Version > r.AfterVersion) {
			out.Events = append(out.Events, e)
		}
	}
	return out, nil
}

func (p *producer) ListHeads(context.Context, *eventsv1.ListHeadsRequest) (*eventsv1.ListHeadsResponse, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.away {
		return nil, errAway
	}
	heads := map[string]int64{}
	for _, e := range p.events {
		heads[e.AggregateId] = max(heads[e.AggregateId], e.Version)
	}
	out := &eventsv1.ListHeadsResponse{Epoch: p.epoch}
	for aggregate, version := range heads {
		out.Heads = append(out.Heads, &eventsv1.ListHeadsResponse_Head{Aggregate: &eventsv1.Aggregate{Id: aggregate}, Version: version})
	}
	return out, nil
}

func (p *producer) GetPerson(_ context.Context, r *workflowv1.GetPersonRequest) (*workflowv1.GetPersonResponse, error) {
	if !p.people[r.Name] {
		return nil, fault.New(fault.NotFound, "PERSON_NOT_FOUND", "There is no such person; look the name up.").At("person")
	}
	return &workflowv1.GetPersonResponse{Person: &workflowv1.Person{Name: r.Name}}, nil
}

// add writes an event into the log, as the next version of its aggregate.
func (p *producer) add(aggregate, piece id.ID, e *eventsv1.Envelope) *eventsv1.Envelope {
	p.mu.Lock()
	defer p.mu.Unlock()
	e.EventId, e.Producer, e.Epoch, e.AggregateId, e.Version = id.New().String(), p.name, p.epoch, aggregate.String(), 1
	for _, before := range p.events {
		if before.AggregateId == e.AggregateId {
			e.Version = before.Version + 1
		}
	}
	if piece != id.Nil {
		e.PieceId = piece.String()
	}
	if e.OccurredAt == nil {
		e.OccurredAt = timestamppb.New(monday)
	}
	if e.RecordedAt == nil {
		e.RecordedAt = timestamppb.New(monday.Add(time.Duration(len(p.events)) * time.Second))
	}
	p.events = append(p.events, e)
	return e
}

// office is a running costing service and the producers it follows.
type office struct {
	*svctest.Service
	costing costingv1.CostingServiceClient
	rates   costingv1.PayRateServiceClient
	payroll costingv1.PayrollServiceClient
	books   costingv1.BooksServiceClient
	answers costingv1.AnswerServiceClient
	from    map[string]*producer
	peers   map[string]grpc.ClientConnInterface
	nell    id.ID
	harmer  harmer
}

func setup(t testing.TB) *office { return setupAt(t, nil) }

// setupAt begins at an hour of the shop's clock; nil: the machine's.
func setupAt(t testing.TB, now func() time.Time) *office {
	t.Helper()
	o := &office{from: map[string]*producer{}, nell: id.New()}
	o.peers = map[string]grpc.ClientConnInterface{}
	for _, name := range []string{"intake", "workflow", "materials", "sales"} {
		p := &producer{name: name, epoch: "one", people: map[string]bool{id.Name("people", o.nell): true}}
		o.from[name] = p
		o.peers[name] = svctest.Fake(t, func(r grpc.ServiceRegistrar) {
			eventsv1.RegisterEventLogServiceServer(r, p)
			workflowv1.RegisterPeopleServiceServer(r, p)
		})
	}
	o.Service = svctest.Start(t, costingsvc.Name, costingsvc.Run, svctest.Options{Peers: o.peers, Now: now})
	t.Cleanup(o.harmer.close)
	o.costing, o.rates, o.books = costingv1.NewCostingServiceClient(o.Conn), costingv1.NewPayRateServiceClient(o.Conn), costingv1.NewBooksServiceClient(o.Conn)
	o.payroll = costingv1.NewPayrollServiceClient(o.Conn)
	o.answers = costingv1.NewAnswerServiceClient(o.Conn)
	return o
}

// takenIn tells of a piece that was bought.
func (o *office) takenIn(tag int32, price int64) id.ID {
	piece := id.New()
	o.from["intake"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: tag, Title: "Stool",
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(price)}}}}})
	return piece
}

var sanding = id.New()

// worked tells of an hour of Nell's, as it was told before stages had their keys in it.
func (o *office) worked(piece id.ID, start time.Time) {
	o.from["workflow"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: &eventsv1.ClockSpan{
		EntryId: id.New().String(), PersonId: o.nell.String(), PersonName: "Nell", StageId: sanding.String(), StageKind: "sand", Pass: 1,
		Start: timestamppb.New(start), End: timestamppb.New(start.Add(time.Hour))}}}})
}

// named tells what Nell is called from now on.
func (o *office) named(name string) {
	o.from["workflow"].add(o.nell, id.Nil, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PersonAdded{PersonAdded: &eventsv1.PersonAdded{
		PersonId: o.nell.String(), DisplayName: name}}})
}

// clockedOn tells that Nell is on the clock at the seat of a piece.
func (o *office) clockedOn(piece id.ID, start time.Time) *eventsv1.ClockSpan {
	s := &eventsv1.ClockSpan{EntryId: id.New().String(), PersonId: o.nell.String(), PersonName: "Nell", StageId: id.New().String(),
		StageKind: "sand", StageKey: "sand-fine", PartLabel: "seat", Pass: 2, Start: timestamppb.New(start)}
	o.from["workflow"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: s}}})
	return s
}

// clockedOff tells that the clock ended after an hour.
func (o *office) clockedOff(piece id.ID, s *eventsv1.ClockSpan) {
	s = proto.CloneOf(s)
	s.End = timestamppb.New(s.Start.AsTime().Add(time.Hour))
	o.from["workflow"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: s}}})
}

func (o *office) sold(piece id.ID, price int64) {
	o.from["sales"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{Price: usd(price)}}})
}

func usd(minor int64) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "USD", Units: minor / 100, Nanos: int32(minor % 100 * 10_000_000)}
}

func cents(m *moneyv1.Money) int64 { return m.GetUnits()*100 + int64(m.GetNanos())/10_000_000 }

// cost waits until a piece's cost satisfies ok.
func (o *office) cost(t *testing.T, piece id.ID, ok func(*costingv1.PieceCost) bool) *costingv1.PieceCost {
	t.Helper()
	deadline := time.Now().Add(10 * time.Second)
	var last *costingv1.PieceCost
	for time.Now().Before(deadline) {
		r, err := o.costing.GetPieceCost(t.Context(), &costingv1.GetPieceCostRequest{Piece: id.Name("pieces", piece)})
		if err == nil && ok(r.PieceCost) {
			return r.PieceCost
		}
		if err != nil && !fault.Is(err, "PIECE_NOT_FOUND") {
			t.Fatal(err)
		}
		last = r.GetPieceCost()
		<-time.After(10 * time.Millisecond)
	}
	t.Fatalf("the cost does not come to what is wanted: %v", last)
	return nil
}

func rateOf(person id.ID, perHour int64, day *date.Date) *costingv1.SetPayRateRequest {
	return &costingv1.SetPayRateRequest{RequestId: svctest.NewID(), Person: id.Name("people", person), PerHour: usd(perHour), EffectiveDate: day}
}

func dayOf(month, day int32) *date.Date { return &date.Date{Year: 2026, Month: month, Day: day} }

func (o *office) setRate(t *testing.T, perHour int64, day *date.Date) {
	t.Helper()
	if _, err := o.rates.SetPayRate(svctest.Ctx(t), rateOf(o.nell, perHour, day)); err != nil {
		t.Fatal(err)
	}
}

func (o *office) clean(t *testing.T) {
	t.Helper()
	r, err := o.books.Verify(t.Context(), &costingv1.VerifyRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if !r.Clean {
		t.Errorf("the books differ in %d places: %v", r.DifferenceCount, r.Differences)
	}
}

// A rate that comes after the work, and one that corrects it, cost the work again, in the
// sheet and in the ledger, also for a piece that is sold; and a rebuild says the same.
func TestServer_SetPayRate_InThePast(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.worked(piece, monday)
	o.worked(piece, monday.AddDate(0, 0, 1))
	o.sold(piece, 9_000)
	c := o.cost(t, piece, func(c *costingv1.PieceCost) bool {
		return c.State == costingv1.PieceCost_STATE_SOLD && c.Sums.LabourTime.AsDuration() == 2*time.Hour && cents(c.Sums.Acquisition) == 1_000
	})
	if !c.Provisional || cents(c.Sums.Labour) != 0 {
		t.Errorf("before there is a rate: %v", c)
	}
	o.setRate(t, 2_000, dayOf(3, 1))
	c = o.cost(t, piece, func(c *costingv1.PieceCost) bool { return !c.Provisional })
	if cents(c.Sums.Labour) != 4_000 || cents(c.Sums.Profit) != 9_000-1_000-4_000 || cents(c.Sums.ProfitPerLabourHour) != 2_000 {
		t.Errorf("at 20.00 an hour: %v", c)
	}
	o.setRate(t, 2_300, dayOf(3, 3)) // the second day was at another rate
	if c = o.cost(t, piece, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Labour) == 4_300 }); cents(c.Sums.Profit) != 9_000-1_000-4_300 {
		t.Errorf("with the raise: %v", c)
	}
	shop, err := o.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(shop.Accounts, func(a *costingv1.AccountBalance) bool { return a.Account == "cost_of_goods_sold" })
	if i < 0 || cents(shop.Accounts[i].Balance) != 1_000+4_300 {
		t.Errorf("accounts = %v", shop.Accounts)
	}
	o.clean(t)
}

func TestServer_SetPayRate_Refuses(t *testing.T) {
	t.Parallel()
	o := setup(t)
	refused := func(r *costingv1.SetPayRateRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, o.Service, o.rates.SetPayRate, r, kind, reason)
	}
	o.settle(t)
	refused(rateOf(id.New(), 2_000, dayOf(3, 1)), fault.NotFound, "PERSON_NOT_FOUND")
	refused(rateOf(o.nell, 2_000, dayOf(2, 30)), fault.Invalid, "DATE_MALFORMED")
	refused(rateOf(o.nell, -2_000, dayOf(3, 1)), fault.Invalid, "AMOUNT_NEGATIVE")
	refused(rateOf(o.nell, 10_000_01, dayOf(3, 1)), fault.Invalid, "RATE_ABSURD")
	refused(rateOf(o.nell, 2_000, &date.Date{Year: 9999, Month: 12, Day: 31}), fault.Invalid, "DATE_ABSURD")
	refused(rateOf(o.nell, 2_000, &date.Date{Year: 1999, Month: 12, Day: 31}), fault.Invalid, "DATE_ABSURD")
	euros := rateOf(o.nell, 2_000, dayOf(3, 1))
	euros.PerHour.CurrencyCode = "EUR"
	refused(euros, fault.Invalid, "CURRENCY_NOT_THE_SHOPS")
	r := rateOf(o.nell, 2_000, dayOf(3, 1))
	if _, err := o.rates.SetPayRate(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
	r.PerHour = usd(2_001)
	refused(r, fault.Invalid, "REQUEST_ID_REUSED")
	list, err := o.rates.ListPayRates(t.Context(), &costingv1.ListPayRatesRequest{Person: id.Name("people", o.nell)})
	if err != nil || len(list.PayRates) != 1 || list.PayRates[0].Actor != svctest.Actor {
		t.Errorf("rates = %v, %v", list, err)
	}
}

// settle waits until the first comparison with the producers is written down, for it
// changes rows.
func (o *office) settle(t *testing.T) {
	t.Helper()
	deadline := time.Now().Add(10 * time.Second)
	for {
		p, err := o.books.GetProgress(t.Context(), &costingv1.GetProgressRequest{})
		if err == nil && p.CompareTime != nil {
			return
		}
		if time.Now().After(deadline) {
			t.Fatalf("no comparison: %v, %v", p, err)
		}
		<-time.After(10 * time.Millisecond)
	}
}

func TestServer_Reads(t *testing.T) {
	t.Parallel()
	o := setup(t)
	svctest.Refused(t, o.Service, o.costing.GetPieceCost, &costingv1.GetPieceCostRequest{Piece: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND")
	svctest.Refused(t, o.Service, o.costing.GetPieceCost, &costingv1.GetPieceCostRequest{Piece: "7"}, fault.Invalid, "INVALID_NAME")
	var pieces []id.ID
	for tag := range int32(5) {
		pieces = append(pieces, o.takenIn(tag+1, 100))
	}
	for _, piece := range pieces { // they are fetched in no order
		o.cost(t, piece, func(*costingv1.PieceCost) bool { return true })
	}
	r := &costingv1.ListPieceCostsRequest{PageSize: 2}
	var tags []int32
	for {
		resp, err := o.costing.ListPieceCosts(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range resp.PieceCosts {
			tags = append(tags, c.Tag)
		}
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			break
		}
	}
	if !slices.Equal(tags, []int32{1, 2, 3, 4, 5}) {
		t.Errorf("tags = %v", tags)
	}
}

// Labour is told by person and stage, in the words for the stage that people use; where they
// are not known, in that for its kind.
func TestServer_LabourLines(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	o.worked(piece, monday)
	o.named("Nell Quist")
	seat := o.clockedOn(piece, monday.Add(time.Hour))
	o.clockedOff(piece, seat)
	c := o.cost(t, piece, func(c *costingv1.PieceCost) bool {
		return len(c.LabourLines) == 2 && c.LabourLines[0].PersonName == "Nell Quist"
	})
	line := func(stage, key, part string, rework bool) *costingv1.LabourLine {
		return &costingv1.LabourLine{Person: id.Name("people", o.nell), PersonName: "Nell Quist", Stage: id.Name("pieces", piece) + "/stages/" + stage,
			StageKind: "sand", StageKey: key, PartLabel: part, Rework: rework, Time: durationpb.New(time.Hour), Cost: usd(2_000)}
	}
	want := []*costingv1.LabourLine{line(sanding.String(), "sand", "", false), line(seat.StageId, "sand-fine", "seat", true)}
	if diff := cmp.Diff(want, c.LabourLines, protocmp.Transform()); diff != "" {
		t.Errorf("labour lines (-want +got):\n%s", diff)
	}
	o.clean(t)
}

// A piece that is sold while somebody works on it shows no final profit until they have
// clocked off.
func TestServer_SoldWhileAClockRuns(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.setRate(t, 2_000, dayOf(3, 1))
	clock := o.clockedOn(piece, monday)
	o.sold(piece, 9_000)
	c := o.cost(t, piece, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Acquisition) == 1_000 && cents(c.Sums.Revenue) == 9_000 && c.Provisional
	})
	if want := []string{"somebody is on the clock at it now"}; !slices.Equal(c.ProvisionalReasons, want) {
		t.Errorf("reasons = %q, want %q", c.ProvisionalReasons, want)
	}
	o.clean(t)
	o.clockedOff(piece, clock)
	if c = o.cost(t, piece, func(c *costingv1.PieceCost) bool { return !c.Provisional }); cents(c.Sums.Profit) != 9_000-1_000-2_000 {
		t.Errorf("profit = %d, want it with the hour", cents(c.Sums.Profit))
	}
	o.clean(t)
}

// A piece that is sold while a part of it is at others shows no final profit until their bill
// has come.
func TestServer_SoldWhileAPartIsOut(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	cane := o.sentOut(piece, 9_900)
	o.sold(piece, 20_000)
	o.clean(t)
	c := o.cost(t, piece, func(*costingv1.PieceCost) bool { return true })
	if want := []string{"caning by Reedmere Caning is out, quoted 99.00"}; !c.Provisional || !slices.Equal(c.ProvisionalReasons, want) {
		t.Errorf("reasons = %q, want %q", c.ProvisionalReasons, want)
	}
	if _, err := o.books.Rebuild(t.Context(), &costingv1.RebuildRequest{}); err != nil {
		t.Fatal(err)
	}
	o.clean(t)
	o.billed(piece, cane, 10_200)
	o.clean(t)
	if c = o.cost(t, piece, func(*costingv1.PieceCost) bool { return true }); c.Provisional || cents(c.Sums.Profit) != 20_000-1_000-10_200 {
		t.Errorf("after the bill: %v", c)
	}
}

// No lock spans two services, so a piece can be sold and scrapped at the same moment. Its
// cost is counted once and its sheet says what to do.
func TestServer_SoldAndScrapped(t *testing.T) {
	t.Parallel()
	o := setup(t)
	piece := o.takenIn(7, 1_000)
	o.sold(piece, 9_000)
	o.from["intake"].add(piece, piece, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{Reason: "split"}}})
	c := o.cost(t, piece, func(c *costingv1.PieceCost) bool {
		return c.Provisional && cents(c.Sums.Revenue) == 9_000 && cents(c.Sums.Acquisition) == 1_000
	})
	if c.State != costingv1.PieceCost_STATE_SOLD || !strings.Contains(c.ProvisionalReasons[0], "refund the sale") {
		t.Errorf("sheet = %v", c)
	}
	shop, err := o.costing.GetShopCost(t.Context(), &costingv1.GetShopCostRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range shop.Accounts {
		if want := map[string]int64{"cost_of_goods_sold": 1_000, "scrap_loss": 0, "work_in_process": 0}; a.Account != "cash_clearing" && a.Account != "revenue" && cents(a.Balance) != want[a.Account] {
			t.Errorf("%s = %v, want %d", a.Account, a.Balance, want[a.Account])
		}
	}
	o.clean(t)
}
