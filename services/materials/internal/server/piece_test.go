package server_test

import (
	"sync"
	"testing"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// dense checks that the events of each product and piece have the versions 1, 2, 3 …, and
// counts them.
func (b *bundle) dense(t *testing.T) map[string]int64 {
	t.Helper()
	versions := map[string]int64{}
	for _, e := range b.Events(t) {
		of := e.AggregateKind + "s/" + e.AggregateId
		if versions[of]++; e.Version != versions[of] {
			t.Errorf("event %v of %s has version %d, want %d", e, of, e.Version, versions[of])
		}
	}
	return versions
}

// Many hands take of two cans for two pieces at once, and put some back: what is told of
// each product and of each piece has versions without holes.
func TestServer_IssueMaterial_TwoProductsToOnePiece(t *testing.T) {
	b := setup(t)
	can, wax := b.other(t, "Clear lacquer"), b.other(t, "Paste wax") // each at one price, so that nothing costs something else later
	elsewhere := id.Name("pieces", id.New(), "stages", id.New())
	b.others.stages[elsewhere] = b.others.stages[b.stage]
	b.setThreshold(t, threshold(wax, of("4.5", "L"))) // of 5 L, so that it falls low on the way
	const each = 6
	var all sync.WaitGroup
	for range each {
		for _, product := range []string{can, wax} {
			for _, stage := range []string{b.stage, elsewhere} {
				r := b.issueOf(product, of("0.2", "L"))
				r.Stage = stage
				all.Go(func() {
					issued, err := b.IssueMaterial(svctest.Ctx(t), r)
					if err == nil && stage == b.stage {
						_, err = b.TakeBackIssue(svctest.Ctx(t), takeBackOf(issued.Issue.Name))
					}
					if err != nil {
						t.Errorf("to %s of %s: %v", stage, product, err)
					}
				})
			}
		}
	}
	all.Wait()
	versions := b.dense(t)
	if got := versions[b.piece]; got != 4*each {
		t.Errorf("%d facts of the piece that gave back, want %d", got, 4*each)
	}
	if got := versions[elsewhere[:len(b.piece)]]; got != 2*each {
		t.Errorf("%d facts of the piece that kept all, want %d", got, 2*each)
	}
	if got := versions[can]; got != 2 {
		t.Errorf("%d facts of the lacquer, want 2", got)
	}
	b.balanced(t)
}

// other adds a product with 5 L on hand.
func (b *bundle) other(t *testing.T, name string) string {
	t.Helper()
	r := shellac()
	r.DisplayName = name
	product := b.add(t, r).Name
	b.receive(t, delivery(product, "5", 50_00))
	return product
}

// A threshold is not out of date because somebody took of the can meanwhile.
func TestServer_IssueMaterial_LeavesTheEtag(t *testing.T) {
	b := setup(t)
	product, _ := b.stocked(t)
	r := threshold(product, of("1", "L"))
	r.Etag = b.issue(t, b.issueOf(product, of("0.5", "L"))).Product.Etag
	b.issue(t, b.issueOf(product, of("0.5", "L")))
	b.setThreshold(t, r)
}

// What went to a stage before it was sent back is no rework, though it is written down
// afterwards.
func TestServer_IssueMaterial_PassOfItsTime(t *testing.T) {
	b := setup(t) // sent back at noon and two hours later
	product := b.add(t, shellac()).Name
	b.dated(t, product, "5", 50_00, -60)
	for minute, pass := range map[int]int32{-1: 1, 0: 2, 119: 2, 120: 3, 500: 3} {
		r := b.issueOf(product, of("0.1", "L"))
		r.IssueTime = later(minute)
		if got := b.issue(t, r).Issue; got.Pass != pass || b.Last(t).GetMaterialIssued().GetPass() != pass {
			t.Errorf("issued %d minutes after noon for pass %d, want %d", minute, got.Pass, pass)
		}
	}
	never := id.Name("pieces", id.New(), "stages", id.New())
	b.others.stages[never] = &workflowv1.Stage{Name: never, Kind: "sand", Pass: 1}
	r := b.issueOf(product, of("0.1", "L"))
	r.Stage = never
	if got := b.issue(t, r).Issue.Pass; got != 1 {
		t.Errorf("issued for pass %d of a stage that was never sent back, want 1", got)
	}
}
