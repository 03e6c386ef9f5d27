package bench

import (
	"context"
	"fmt"
	"sync"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/id"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

const (
	alertRate = 100 // commands a second
	alertWait = 10 * time.Second
)

// watched is a product that goes below its threshold and above it again, and what a watcher has
// seen of that.
type watched struct {
	name string
	seen chan sighting

	turn  sync.Mutex // a slow command holds up the next one of the product
	times int        // commands so far
	low   bool
}

// sighting is an alert of a threshold that was raised, or was closed.
type sighting struct {
	raised bool
	at     time.Time
}

// alertBench knows how long each crossing took to be seen.
type alertBench struct {
	*stockBench
	products []*watched
	byName   map[string]*watched
	mu       sync.Mutex
	lags     []time.Duration
}

// alerting gives commands at an even pace, in turn to each product two issues and two deliveries,
// of which the second and the third cross its threshold, and times these from the answer to when
// a watcher has seen the alert raised or closed. All rounds are one stretch of time.
func (b *stockBench) alerting(ctx context.Context, o Options, r *Stock) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	a := &alertBench{stockBench: b, byName: map[string]*watched{}}
	for n := range b.alerted {
		if err := a.add(ctx, n); err != nil {
			return err
		}
	}
	if err := a.watch(ctx); err != nil {
		return err
	}
	length := time.Duration(o.Rounds) * o.Slice
	if err := a.run(ctx, int(alertRate*length.Seconds())); err != nil {
		return err
	}
	if len(a.lags) == 0 {
		return fmt.Errorf("in %s no product crossed its threshold; measure for longer", length)
	}
	o.Say("%d products crossed their thresholds %d times in %s", b.alerted, len(a.lags), length)
	r.Crossings, r.AlertP50ms, r.AlertP99ms = len(a.lags), percentile(a.lags, 0.50), percentile(a.lags, 0.99)
	return nil
}

// add makes a product with something of it, and then a threshold of 10 L, so that it never was below. Half of them have their first command behind them,
// so that not all cross at once.
func (a *alertBench) add(ctx context.Context, n int) error {
	p, err := a.materials.AddProduct(ctx, &materialsv1.AddProductRequest{RequestId: id.New().String(), DisplayName: fmt.Sprintf("Alerted %d", n), Unit: "L"})
	if err != nil {
		return err
	}
	w := &watched{name: p.Product.Name, times: n % 2, seen: make(chan sighting, 16)}
	a.products, a.byName[w.name] = append(a.products, w), w
	if _, err := a.receive(ctx, w, []string{"15", "12"}[n%2]); err != nil {
		return err
	}
	_, err = a.materials.SetRestockThreshold(ctx, &materialsv1.SetRestockThresholdRequest{RequestId: id.New().String(), Product: w.name, RestockThreshold: litres("10")})
	return err
}

// watch follows the alerts, from those on that are open now; the products had none of theirs.
func (a *alertBench) watch(ctx context.Context) error {
	stream, err := a.restock.WatchAlerts(ctx, &materialsv1.WatchAlertsRequest{})
	if err != nil {
		return err
	}
	for {
		r, err := stream.Recv()
		if err != nil {
			return err
		}
		if r.Position != "" {
			break // from here on it is changes
		}
	}
	go a.see(stream)
	return nil
}

func (a *alertBench) see(stream grpc.ServerStreamingClient[materialsv1.WatchAlertsResponse]) {
	for {
		r, err := stream.Recv()
		if err != nil {
			return // the measurement is over
		}
		w := a.byName[r.Alert.GetProduct()]
		if w == nil || r.Alert.Kind != "below threshold" || r.Change == materialsv1.WatchAlertsResponse_CHANGE_UPDATED {
			continue
		}
		w.seen <- sighting{r.Change == materialsv1.WatchAlertsResponse_CHANGE_RAISED, time.Now()}
	}
}

// run gives the commands, each in its own goroutine so that a slow one does not hold up the others.
func (a *alertBench) run(ctx context.Context, commands int) error {
	tick := time.NewTicker(time.Second / alertRate)
	defer tick.Stop()
	failed := make(chan error, commands)
	var all sync.WaitGroup
	for n := range commands {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-tick.C:
		}
		all.Go(func() {
			if err := a.command(ctx, n); err != nil {
				failed <- err
			}
		})
	}
	all.Wait()
	return first(failed)
}

// command issues or receives 3 L, after the product's command before, and waits for the alert.
func (a *alertBench) command(ctx context.Context, n int) error {
	w := a.products[n%len(a.products)]
	w.turn.Lock()
	defer w.turn.Unlock()
	give := a.receive
	if w.times%4 < 2 {
		give = a.take
	}
	w.times++
	p, err := give(ctx, w, "3")
	if err != nil || p.Low == w.low {
		return err
	}
	answered := time.Now()
	w.low = p.Low
	select {
	case seen := <-w.seen:
		if seen.raised != w.low {
			return fmt.Errorf("of %s an alert was raised or closed that the stock does not ask for", w.name)
		}
		a.mu.Lock()
		defer a.mu.Unlock()
		a.lags = append(a.lags, max(0, seen.at.Sub(answered)))
		return nil
	case <-time.After(alertWait):
		return fmt.Errorf("the alert of %s does not change within %s", w.name, alertWait)
	}
}

func (a *alertBench) receive(ctx context.Context, w *watched, amount string) (*materialsv1.Product, error) {
	r, err := a.materials.ReceiveStock(ctx, &materialsv1.ReceiveStockRequest{RequestId: id.New().String(), Product: w.name,
		Amount: &materialsv1.ReceiveStockRequest_Quantity{Quantity: litres(amount)}, Cost: usd(30_00), Supplier: "Mill 0"})
	return r.GetProduct(), err
}

func (a *alertBench) take(ctx context.Context, w *watched, amount string) (*materialsv1.Product, error) {
	r, err := a.materials.IssueMaterial(ctx, &materialsv1.IssueMaterialRequest{RequestId: id.New().String(), Product: w.name, Quantity: litres(amount),
		Stage: fmt.Sprintf("pieces/%s/stages/%s", nthID("9000", 0), nthID("a000", 0))})
	return r.GetProduct(), err
}
