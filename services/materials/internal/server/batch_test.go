package server_test

import (
	"slices"
	"sync"
	"testing"

	"github.com/shopspring/decimal"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// batched makes stages of pieces of their own into a batch, by weights.
func (b *bundle) batched(weights ...int64) *workflowv1.Batch {
	batch := &workflowv1.Batch{Name: id.Name("batches", id.New()), State: workflowv1.Batch_STATE_OPEN}
	for n, w := range weights {
		piece := id.New()
		stage := id.Name("pieces", piece, "stages", id.New())
		b.others.pieces[id.Name("pieces", piece)] = intakev1.Piece_STATE_IN_HAND
		b.others.stages[stage] = &workflowv1.Stage{Name: stage, Kind: "topcoat_coat", Pass: 1}
		batch.Shares = append(batch.Shares, &workflowv1.Batch_Share{Stage: stage, StageTitle: "clear (front)", PieceTag: int32(n + 1), Pass: 1, Weight: w})
	}
	b.others.batches[batch.Name] = batch
	return batch
}

func toBatch(batch *workflowv1.Batch, product string, q *typev1.Quantity) *materialsv1.IssueToBatchRequest {
	return &materialsv1.IssueToBatchRequest{RequestId: svctest.NewID(), Product: product, Quantity: q, Batch: batch.Name, IssueTime: noon}
}

func pieceOf(stage string) string {
	ids, err := id.FromName("stage", stage, "pieces", "stages")
	if err != nil {
		panic(err)
	}
	return id.Name("pieces", ids[0])
}

// 1.7 L of lots of 1 L for 10.00 and 2 L for 26.00 over three fronts: each gets its issue and
// event, in the pass that its own stage was in, and all together the whole.
func TestServer_IssueToBatch(t *testing.T) {
	b := setup(t)
	product, lots := b.stocked(t)
	batch := b.batched(3, 2, 2)
	b.others.stages[batch.Shares[1].Stage].SendBackTimes = []*timestamppb.Timestamp{noon, later(120)}
	r, err := b.IssueToBatch(svctest.Ctx(t), toBatch(batch, product, of("1700", "mL")))
	if err != nil {
		t.Fatal(err)
	}
	want := []struct {
		litres string
		cents  int64
		pass   int32
	}{{"0.728", 7_28, 1}, {"0.486", 5_50, 2}, {"0.486", 6_32, 1}}
	events := b.Events(t)
	events = events[len(events)-3:]
	for n, i := range r.Issues {
		stage, w := batch.Shares[n].Stage, want[n]
		if i.Stage != stage || i.Quantity.Value != w.litres || i.Pass != w.pass || i.StageKind != "topcoat_coat" || i.Actor != svctest.Actor {
			t.Errorf("issue %d = %v, want %s L in pass %d to %s", n, i, w.litres, w.pass, stage)
		}
		same(t, "cost", usd(w.cents), i.Cost)
		happened(t, events[n], pieceOf(stage), 1)
		e := events[n].GetMaterialIssued()
		same(t, "quantity told", i.Quantity, e.GetQuantity())
		same(t, "cost told", i.Cost, e.GetCost())
		if e.GetIssueId() != bare(i.Name) || e.GetStageId() != bare(stage) || e.GetPass() != w.pass {
			t.Errorf("event %d = %v", n, e)
		}
	}
	if d := r.Issues[1].Draws; len(d) != 2 || d[0].Lot != lots[0] || d[1].Lot != lots[1] {
		t.Errorf("the second front was drawn from %v, want both lots", d)
	}
	// The first litre is 10.00 and 0.7 L of the second lot are 9.10.
	if r.Product.OnHand.Value != "1.3" || r.Product.Value.Units != 16 || r.Product.Value.Nanos != 900_000_000 {
		t.Errorf("left %v at %v, want 1.3 L at 16.90", r.Product.OnHand, r.Product.Value)
	}
	b.balanced(t)
	b.dense(t)
}

// What is counted one by one stays whole, so a stage may get none of it.
func TestServer_IssueToBatch_Counted(t *testing.T) {
	b := setup(t)
	discs := b.add(t, &materialsv1.AddProductRequest{RequestId: svctest.NewID(), DisplayName: "Discs 220", Unit: "disc"}).Name
	r := delivery(discs, "10", 9_99)
	r.Amount = &materialsv1.ReceiveStockRequest_Quantity{Quantity: of("10", "disc")}
	b.receive(t, r)
	batch := b.batched(1, 1, 1)
	got, err := b.IssueToBatch(svctest.Ctx(t), toBatch(batch, discs, of("2", "disc")))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Issues) != 2 || got.Issues[0].Stage != batch.Shares[0].Stage || got.Issues[1].Stage != batch.Shares[1].Stage || got.Issues[0].Quantity.Value != "1" {
		t.Errorf("issues = %v, want one disc to each of the first two", got.Issues)
	}
	b.balanced(t)
}

// What was used on a batch may be written down once it is finished.
func TestServer_IssueToBatch_Finished(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	batch := b.batched(1, 1)
	batch.State = workflowv1.Batch_STATE_FINISHED
	if _, err := b.IssueToBatch(svctest.Ctx(t), toBatch(batch, product, of("1", "L"))); err != nil {
		t.Error(err)
	}
}

// What left the batch before the material was used gets none of it; what left after gets its
// part. Once the batch is finished, what is written down went to all, but for what was scrapped.
func TestServer_IssueToBatch_OfWhatWasInIt(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	ended := func(batch *workflowv1.Batch) {
		batch.State, batch.EndTime = workflowv1.Batch_STATE_FINISHED, later(90)
	}
	for name, c := range map[string]struct {
		change func(*workflowv1.Batch)
		minute int
		want   []int
	}{
		"BeforeItLeft":   {func(*workflowv1.Batch) {}, 30, []int{0, 1, 2}},
		"AsItLeft":       {func(*workflowv1.Batch) {}, 60, []int{0, 2}},
		"AfterItLeft":    {func(*workflowv1.Batch) {}, 70, []int{0, 2}},
		"BeforeTheEnd":   {ended, 70, []int{0, 2}},
		"AtTheEnd":       {ended, 90, []int{0, 2}},
		"AfterTheEnd":    {ended, 100, []int{0, 1, 2}},
		"EndAndScrapped": {func(batch *workflowv1.Batch) { ended(batch); b.scrapped(batch.Shares[1]) }, 100, []int{0, 2}},
		"LeftByAScrap":   {func(batch *workflowv1.Batch) { b.scrapped(batch.Shares[1]) }, 70, []int{0, 2}},
	} {
		t.Run(name, func(t *testing.T) {
			batch := b.batched(3, 2, 1)
			batch.Shares[1].LeftTime = later(60)
			c.change(batch)
			r := toBatch(batch, product, of("120", "mL"))
			r.IssueTime = later(c.minute)
			got, err := b.IssueToBatch(svctest.Ctx(t), r)
			if err != nil {
				t.Fatal(err)
			}
			var to []int
			for _, i := range got.Issues {
				to = append(to, slices.IndexFunc(batch.Shares, func(s *workflowv1.Batch_Share) bool { return s.Stage == i.Stage }))
			}
			if !slices.Equal(to, c.want) {
				t.Errorf("it went to %v, want %v", to, c.want)
			}
		})
	}
	b.balanced(t)
}

// scrapped gives up the piece of a share.
func (b *bundle) scrapped(s *workflowv1.Batch_Share) {
	b.others.pieces[pieceOf(s.Stage)] = intakev1.Piece_STATE_SCRAPPED
}

func TestServer_IssueToBatch_AskedAgain(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	batch := b.batched(1, 1)
	r := toBatch(batch, product, of("3", "L"))
	first, err := b.IssueToBatch(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	events := len(b.Events(t))
	batch.State = workflowv1.Batch_STATE_DISSOLVED // since then; and the stock is used up
	again, err := b.IssueToBatch(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "the second answer", first, again)
	if n := len(b.Events(t)); n != events {
		t.Errorf("%d events, want %d", n, events)
	}
}

func TestServer_IssueToBatch_Refuses(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	quantity := func(value, unit string) func(*materialsv1.IssueToBatchRequest) {
		return func(r *materialsv1.IssueToBatchRequest) { r.Quantity = of(value, unit) }
	}
	none := func(*materialsv1.IssueToBatchRequest) {}
	cases := map[string]struct {
		change        func(*materialsv1.IssueToBatchRequest)
		batch         func(*workflowv1.Batch)
		kind          fault.Kind
		reason, field string
	}{
		"NoSuchProduct": {func(r *materialsv1.IssueToBatchRequest) { r.Product = id.Name("products", id.New()) }, nil, fault.NotFound, "PRODUCT_NOT_FOUND", "product"},
		"NoSuchBatch":   {func(r *materialsv1.IssueToBatchRequest) { r.Batch = id.Name("batches", id.New()) }, nil, fault.NotFound, "BATCH_NOT_FOUND", "batch"},
		"NotABatch":     {func(r *materialsv1.IssueToBatchRequest) { r.Batch = b.stage }, nil, fault.Invalid, "INVALID_NAME", "batch"},
		"Dissolved":     {none, func(batch *workflowv1.Batch) { batch.State = workflowv1.Batch_STATE_DISSOLVED }, fault.Precondition, "BATCH_DISSOLVED", "batch"},
		"StageGone":     {none, func(batch *workflowv1.Batch) { delete(b.others.stages, batch.Shares[1].Stage) }, fault.NotFound, "STAGE_NOT_FOUND", "batch"},
		"Scrapped": {none, func(batch *workflowv1.Batch) {
			b.others.pieces[pieceOf(batch.Shares[1].Stage)] = intakev1.Piece_STATE_SCRAPPED
		}, fault.Precondition, "PIECE_SCRAPPED", "batch"},
		"TooMuch":        {quantity("3.001", "L"), nil, fault.Precondition, "STOCK_TOO_SMALL", "quantity"},
		"TooLittle":      {quantity("1", "mL"), nil, fault.Invalid, "QUANTITY_ABSURD", "quantity"},
		"ASlip":          {quantity("1000001", "L"), nil, fault.Invalid, "QUANTITY_ABSURD", "quantity"},
		"AnotherMeasure": {quantity("1", "kg"), nil, fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "quantity"},
		"Nothing":        {quantity("0", "L"), nil, fault.Invalid, "QUANTITY_NOT_POSITIVE", "quantity"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			batch := b.batched(1, 2)
			r := toBatch(batch, product, of("1", "L"))
			c.change(r)
			if c.batch != nil {
				c.batch(batch)
			}
			refusedAt(t, svctest.Refused(t, b.Service, b.IssueToBatch, r, c.kind, c.reason), c.field)
		})
	}
}

// Many issue from two cans to batches of the same stages in either order, and to the stages
// one by one: nothing goes below zero, nobody waits in a circle, and all adds up.
func TestServer_IssueToBatch_Race(t *testing.T) {
	b := setup(t)
	products := []string{b.add(t, shellac()).Name}
	wax := shellac()
	wax.DisplayName = "Paste wax"
	products = append(products, b.add(t, wax).Name)
	for _, p := range products {
		b.receive(t, delivery(p, "1", 9_99))
	}
	batch := b.batched(1, 2, 3, 4)
	reversed := &workflowv1.Batch{Name: id.Name("batches", id.New()), Shares: slices.Clone(batch.Shares)}
	slices.Reverse(reversed.Shares)
	b.others.batches[reversed.Name] = reversed
	batches := []*workflowv1.Batch{batch, reversed}
	var taken [2]decimal.Decimal
	var mu sync.Mutex
	note := func(product int, q string, err error) {
		mu.Lock()
		defer mu.Unlock()
		switch {
		case err == nil:
			taken[product] = taken[product].Add(decimal.RequireFromString(q))
		case !fault.Is(err, "STOCK_TOO_SMALL"):
			t.Errorf("issue: %v", err)
		}
	}
	var all sync.WaitGroup
	for n := range 12 {
		product := n % 2
		all.Go(func() {
			_, err := b.IssueToBatch(svctest.Ctx(t), toBatch(batches[product], products[product], of("0.17", "L")))
			note(product, "0.17", err)
		})
		all.Go(func() {
			_, err := b.IssueMaterial(svctest.Ctx(t), &materialsv1.IssueMaterialRequest{RequestId: svctest.NewID(), Product: products[1-product],
				Quantity: of("0.05", "L"), Stage: batch.Shares[n%4].Stage, IssueTime: noon})
			note(1-product, "0.05", err)
		})
	}
	all.Wait()
	for n, product := range products {
		p, err := b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: product})
		if err != nil {
			t.Fatal(err)
		}
		left := decimal.RequireFromString(p.Product.OnHand.Value)
		if left.IsNegative() || !left.Add(taken[n]).Equal(decimal.NewFromInt(1)) {
			t.Errorf("of 1 L, %v was taken and %v is left", taken[n], left)
		}
	}
	b.balanced(t)
	b.dense(t)
}
