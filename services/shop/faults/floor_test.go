package faults_test

import (
	"context"
	"fmt"
	"sync"
	"time"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

const (
	owner   = "Odile"
	helpers = 5
)

// floor is what all hands know: the shop, and what there is in it.
type floor struct {
	ctx     context.Context
	shop    *client.Shop
	history *history
	seed    uint64
	opening time.Time
	pace    time.Duration // between two commands of one hand

	people  []*workflowv1.Person
	product string

	mu     sync.Mutex
	latest time.Time // by anybody's account of the day
	stages []string  // that can be worked on
	pieces []string  // that can be sold
	issues []string
	sales  []string
}

// with does something with the lists, alone.
func (f *floor) with(do func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	do()
}

// put adds one to a list.
func (f *floor) put(list *[]string, what string) { f.with(func() { *list = append(*list, what) }) }

// newFloor lays the shop out before anything goes wrong: helpers with a rate each, one route, one
// product with lots of odd costs, and the first pieces.
func newFloor(ctx context.Context, shop *client.Shop, seed uint64) (*floor, error) {
	day := time.Now().AddDate(0, 0, -10).UTC()
	f := &floor{ctx: ctx, shop: shop, history: newHistory(), seed: seed, opening: time.Date(day.Year(), day.Month(), day.Day(), 14, 0, 0, 0, time.UTC)}
	h := f.hand(owner, 0)
	for i := range helpers {
		a, _ := give(h, "person_added", &workflowv1.AddPersonRequest{RequestId: h.request(), DisplayName: fmt.Sprintf("Helper %d", i)}, shop.People.AddPerson)
		f.people = append(f.people, a.GetPerson())
		h.setRate(a.GetPerson().GetName(), 1601+37*int64(i))
	}
	route := &workflowv1.Route{Name: "routes/sand", Steps: []*workflowv1.Step{{Key: "sand", Kind: "sand", Scope: workflowv1.Step_SCOPE_PIECE}}}
	give(h, "route_saved", &workflowv1.SaveRouteRequest{RequestId: h.request(), Route: route}, shop.Routes.SaveRoute)
	product, _ := give(h, "product_added", &materialsv1.AddProductRequest{RequestId: h.request(), DisplayName: "Gel stripper", Unit: "L"}, shop.Materials.AddProduct)
	f.product = product.GetProduct().GetName()
	for range 6 {
		h.receive()
		h.takeIn()
	}
	if !f.history.allDone() {
		return nil, fmt.Errorf("the shop could not be laid out: %s", f.history.summary())
	}
	f.pace = usualPace
	return f, nil
}

// busy lets everybody work until stop is called, which waits until they have put down what they
// were at.
func (f *floor) busy() (stop func()) {
	over := make(chan struct{})
	var all sync.WaitGroup
	turns := func(turn func()) func() {
		return func() {
			for {
				select {
				case <-over:
					return
				default:
					turn()
				}
			}
		}
	}
	for i, p := range f.people {
		h := f.hand(p.DisplayName, uint64(i+1))
		all.Go(turns(func() { h.work(p.Name) }))
	}
	all.Go(turns(f.hand(owner, helpers+1).rule))
	return func() {
		close(over)
		all.Wait()
	}
}
