package server_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func takeBackOf(issue string) *materialsv1.TakeBackIssueRequest {
	return &materialsv1.TakeBackIssueRequest{RequestId: svctest.NewID(), Issue: issue, Reason: "meant 150 mL", TakeBackTime: later(60)}
}

// later is some minutes after noon.
func later(minutes int) *timestamppb.Timestamp {
	return timestamppb.New(noon.AsTime().Add(time.Duration(minutes) * time.Minute))
}

func (b *bundle) takeBack(t *testing.T, issue string) *materialsv1.TakeBackIssueResponse {
	t.Helper()
	resp, err := b.TakeBackIssue(svctest.Ctx(t), takeBackOf(issue))
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func (b *bundle) issues(t *testing.T, r *materialsv1.ListIssuesRequest) *materialsv1.ListIssuesResponse {
	t.Helper()
	resp, err := b.ListIssues(t.Context(), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func TestServer_TakeBackIssue(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	lots := &materialsv1.ListLotsRequest{Product: product, ShowUsedUp: true}
	before, err := b.ListLots(t.Context(), lots)
	if err != nil {
		t.Fatal(err)
	}
	issued := b.issue(t, b.issueOf(product, of("1500", "mL")))
	told := b.Last(t).GetMaterialIssued()

	got := b.takeBack(t, issued.Issue.Name)
	want := proto.CloneOf(issued.Issue)
	want.TakenBack, want.TakeBackReason = true, "meant 150 mL"
	same(t, "issue", want, got.Issue)
	if p := got.Product; p.OnHand.Value != "3" || p.Value.Units != 36 || p.Value.Nanos != 0 || p.Etag != `"3"` {
		t.Errorf("product = %v, want 3 L at 36.00, and still version 3", p)
	}
	after, err := b.ListLots(t.Context(), lots)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "lots", before, after)
	e := b.Last(t)
	happened(t, e, b.piece, 2)
	same(t, "occurred_at", later(60), e.OccurredAt)
	same(t, "event", &eventsv1.MaterialTakenBack{
		IssueId: told.IssueId, ProductId: told.ProductId, ProductName: told.ProductName, StageId: told.StageId, StageKind: told.StageKind,
		Pass: told.Pass, Quantity: told.Quantity, Cost: told.Cost, Draws: told.Draws, Reason: "meant 150 mL",
		Parts: []*eventsv1.StockEntryUndone_Part{{EntryId: told.IssueId, OccurredAt: noon, ValueChange: told.Cost}}}, e.GetMaterialTakenBack())

	var reason, actor string
	var at time.Time
	b.query(t, `SELECT reason, actor, undone_at FROM materials.entry WHERE purpose = 'take back'`, &reason, &actor, &at)
	if reason != "meant 150 mL" || actor != svctest.Actor || !at.Equal(later(60).AsTime()) {
		t.Errorf("kept %q by %q at %v", reason, actor, at)
	}
	b.balanced(t)
}

// What was taken back is drawn from first again, and the right amount can be issued.
func TestServer_TakeBackIssue_TheRightAmountAfterwards(t *testing.T) {
	b := setup(t)
	product, lots := b.stocked(t)
	b.takeBack(t, b.issue(t, b.issueOf(product, of("1500", "mL"))).Issue.Name)
	got := b.issue(t, b.issueOf(product, of("150", "mL")))
	if len(got.Issue.Draws) != 1 || got.Issue.Draws[0].Lot != lots[0] || got.Issue.Cost.Units != 1 || got.Issue.Cost.Nanos != 500_000_000 {
		t.Errorf("issue = %v, want 0.15 L of the first lot for 1.50", got.Issue)
	}
	b.balanced(t)
}

// It is a correction: neither the piece's end nor another service's absence forbids it.
func TestServer_TakeBackIssue_OfAPieceThatWasScrapped(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	issue := b.issue(t, b.issueOf(product, of("1", "L"))).Issue.Name
	b.others.pieces[b.piece] = intakev1.Piece_STATE_SCRAPPED
	delete(b.others.stages, b.stage)
	if got := b.takeBack(t, issue); !got.Issue.TakenBack {
		t.Errorf("TakeBackIssue = %v", got)
	}
}

func TestServer_TakeBackIssue_AskedAgain(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	r := takeBackOf(b.issue(t, b.issueOf(product, of("1", "L"))).Issue.Name)
	first, err := b.TakeBackIssue(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	events := len(b.Events(t))
	second, err := b.TakeBackIssue(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "the second answer", first, second)
	if n := len(b.Events(t)); n != events {
		t.Errorf("%d events, want %d", n, events)
	}
	other := takeBackOf(r.Issue)
	other.RequestId, other.Reason = r.RequestId, "another"
	svctest.Refused(t, b.Service, b.TakeBackIssue, other, fault.Invalid, "REQUEST_ID_REUSED")
}

func TestServer_TakeBackIssue_Refuses(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	issue := b.issue(t, b.issueOf(product, of("1", "L"))).Issue.Name
	gone := b.issue(t, b.issueOf(product, of("1", "L"))).Issue.Name
	b.takeBack(t, gone)
	wax := shellac()
	wax.DisplayName = "Paste wax"
	ofAnother := b.add(t, wax).Name + "/issues/" + bare(issue)
	to := func(name string) func(*materialsv1.TakeBackIssueRequest) {
		return func(r *materialsv1.TakeBackIssueRequest) { r.Issue = name }
	}
	cases := map[string]struct {
		change        func(*materialsv1.TakeBackIssueRequest)
		kind          fault.Kind
		reason, field string
	}{
		"BeforeTheIssue": {func(r *materialsv1.TakeBackIssueRequest) {
			r.TakeBackTime = timestamppb.New(noon.AsTime().Add(-24 * time.Hour))
		}, fault.Invalid, "TAKE_BACK_BEFORE_ISSUE", "take_back_time"},
		"Twice":          {to(gone), fault.Precondition, "ISSUE_TAKEN_BACK", "issue"},
		"Unknown":        {to(product + "/issues/" + id.New().String()), fault.NotFound, "ISSUE_NOT_FOUND", "issue"},
		"OfAnother":      {to(ofAnother), fault.NotFound, "ISSUE_NOT_FOUND", "issue"},
		"UnknownProduct": {to(id.Name("products", id.New(), "issues", id.New())), fault.NotFound, "ISSUE_NOT_FOUND", "issue"},
		"NoName":         {to(""), fault.Invalid, "INVALID_NAME", "issue"},
		"ALot":           {to(id.Name("products", id.New(), "lots", id.New())), fault.Invalid, "INVALID_NAME", "issue"},
		"NoReason":       {func(r *materialsv1.TakeBackIssueRequest) { r.Reason = " " }, fault.Invalid, "INVALID_FIELD", "reason"},
		"NoRequestID":    {func(r *materialsv1.TakeBackIssueRequest) { r.RequestId = "" }, fault.Invalid, "INVALID_FIELD", "request_id"},
		"Tomorrow": {func(r *materialsv1.TakeBackIssueRequest) {
			r.TakeBackTime = timestamppb.New(time.Now().Add(24 * time.Hour))
		}, fault.Invalid, "TIME_IN_FUTURE", "take_back_time"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			r := takeBackOf(issue)
			c.change(r)
			refusedAt(t, svctest.Refused(t, b.Service, b.TakeBackIssue, r, c.kind, c.reason), c.field)
		})
	}
}

// Ten people take the same issue back: it goes back once.
func TestServer_TakeBackIssue_Race(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	issue := b.issue(t, b.issueOf(product, of("2", "L"))).Issue.Name
	var all sync.WaitGroup
	var done atomic.Int64
	for range 10 {
		all.Go(func() {
			_, err := b.TakeBackIssue(svctest.Ctx(t), takeBackOf(issue))
			if err == nil {
				done.Add(1)
			} else if !fault.Is(err, "ISSUE_TAKEN_BACK") {
				t.Errorf("TakeBackIssue: %v", err)
			}
		})
	}
	all.Wait()
	if done.Load() != 1 {
		t.Errorf("it went back %d times", done.Load())
	}
	b.balanced(t)
}

// A product that is not low any more falls low again.
func TestServer_TakeBackIssue_ClearsLow(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t) // 3 L
	b.setThreshold(t, threshold(product, of("2", "L")))
	first := b.issue(t, b.issueOf(product, of("0.5", "L"))).Issue.Name
	low := b.issue(t, b.issueOf(product, of("1.5", "L")))
	if !low.Product.Low {
		t.Errorf("product = %v, want it low", low.Product)
	}
	if r := b.takeBack(t, first); !r.Product.Low { // 1.5 L
		t.Errorf("product = %v, want it still low", r.Product)
	}
	b.low(t, product, 1)
	if r := b.takeBack(t, low.Issue.Name); r.Product.Low { // 3 L
		t.Errorf("product = %v, want it not low", r.Product)
	}
	b.issue(t, b.issueOf(product, of("1.5", "L")))
	b.low(t, product, 2)
	b.dense(t)
}

func TestServer_ListIssues(t *testing.T) {
	b := setup(t)
	shelf, _ := b.stocked(t)
	other := b.other(t, "Paste wax")
	elsewhere := id.Name("pieces", id.New(), "stages", id.New())
	b.others.stages[elsewhere] = b.others.stages[b.stage]
	give := func(product, stage string, minute int) *materialsv1.Issue {
		r := b.issueOf(product, of("0.25", "L"))
		r.Stage, r.IssueTime = stage, later(minute)
		return b.issue(t, r).Issue
	}
	second := give(shelf, b.stage, 20)
	first := give(shelf, elsewhere, 10) // written down late
	third := give(other, b.stage, 30)
	fourth := give(other, elsewhere, 30) // in the same minute as the one before
	second = b.takeBack(t, second.Name).Issue

	all := []*materialsv1.Issue{fourth, third, second, first}
	same(t, "all", &materialsv1.ListIssuesResponse{Issues: all}, b.issues(t, &materialsv1.ListIssuesRequest{}))
	same(t, "of a product", &materialsv1.ListIssuesResponse{Issues: []*materialsv1.Issue{second, first}},
		b.issues(t, &materialsv1.ListIssuesRequest{Product: shelf}))
	same(t, "to a piece", &materialsv1.ListIssuesResponse{Issues: []*materialsv1.Issue{third, second}},
		b.issues(t, &materialsv1.ListIssuesRequest{Piece: b.piece}))
	same(t, "of a product to a piece", &materialsv1.ListIssuesResponse{Issues: []*materialsv1.Issue{third}},
		b.issues(t, &materialsv1.ListIssuesRequest{Product: other, Piece: b.piece}))
	same(t, "of nothing", &materialsv1.ListIssuesResponse{}, b.issues(t, &materialsv1.ListIssuesRequest{Product: id.Name("products", id.New())}))

	var paged []*materialsv1.Issue
	for r := (&materialsv1.ListIssuesRequest{PageSize: 1}); ; {
		got := b.issues(t, r)
		paged = append(paged, got.Issues...)
		if r.PageToken = got.NextPageToken; r.PageToken == "" {
			break
		}
	}
	same(t, "page by page", &materialsv1.ListIssuesResponse{Issues: all}, &materialsv1.ListIssuesResponse{Issues: paged})
}
