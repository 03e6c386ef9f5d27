package bench

import (
	"context"
	"fmt"
	"sync"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/suite"
)

// Lag is how long it takes from an answered command to the cost a watcher sees.
type Lag struct {
	Rate  int     `json:"rate"` // commands a second
	P50ms float64 `json:"p50_ms"`
	P99ms float64 `json:"p99_ms"`
}

const (
	lagRate   = 50
	lagPeople = 40
	lagStep   = 10 * time.Minute // of a person's own time, from one command to the next
	patience  = 10 * time.Second // for a cost to be seen
)

// RunLag gives 50 commands a second, in turn a clock-on and a clock-off of each of 40
// people on a piece of their own, to the whole suite with its durable broker, and times
// each clock-off from its answer to the watcher that sees the new labour. All rounds are
// one stretch of time.
func RunLag(ctx context.Context, o Options) (Lag, error) {
	s, stop, err := start(ctx, o, func(so *suite.Options) { so.Reconcile = 30 * time.Second })
	if err != nil {
		return Lag{}, err
	}
	defer stop()
	ctx = caller.With(ctx, caller.Caller{Actor: "bench"})
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	length := time.Duration(o.Rounds) * o.Slice
	b := &lagBench{shop: s.Shop, rate: lagRate, people: lagPeople, commands: int(lagRate * length.Seconds())}
	if err := b.fill(ctx); err != nil {
		return Lag{}, err
	}
	if err := b.run(ctx); err != nil {
		return Lag{}, err
	}
	o.Say("%d clock-offs in %s", len(b.lags), length)
	return b.seen(), nil
}

// seen is what the watchers have seen.
func (b *lagBench) seen() Lag {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.lags) == 0 {
		return Lag{Rate: b.rate}
	}
	return Lag{Rate: b.rate, P50ms: percentile(b.lags, 0.50), P99ms: percentile(b.lags, 0.99)}
}

type lagBench struct {
	shop      *client.Shop
	rate      int // commands a second
	people    int
	commands  int
	unwatched bool          // nobody looks whether the costs are seen
	stop      chan struct{} // ends the commands before there were as many; nil: nothing does
	workers   []*lagWorker

	mu   sync.Mutex
	lags []time.Duration
}

// lagWorker is a person on a piece of their own, and what its watcher has seen.
type lagWorker struct {
	person, stage, piece string
	cautions             []string // ids, of the stage
	seen                 chan time.Time

	turn sync.Mutex // a slow command holds up the person's next one
	on   bool
	at   time.Time // the person's latest instant
}

func (b *lagBench) fill(ctx context.Context) error {
	step := &workflowv1.Step{Key: "sand", Kind: "sand", Scope: workflowv1.Step_SCOPE_PIECE}
	_, err := b.shop.Routes.SaveRoute(ctx, &workflowv1.SaveRouteRequest{RequestId: id.New().String(), Route: &workflowv1.Route{Name: "routes/sand", Steps: []*workflowv1.Step{step}}})
	if err != nil {
		return err
	}
	for i := range b.people {
		w, err := b.worker(ctx, i)
		if err != nil {
			return err
		}
		b.workers = append(b.workers, w)
	}
	for _, w := range b.workers {
		if b.unwatched {
			return nil
		}
		if err := b.watch(ctx, w); err != nil {
			return err
		}
	}
	return nil
}

func (b *lagBench) worker(ctx context.Context, n int) (*lagWorker, error) {
	person, err := b.shop.People.AddPerson(ctx, &workflowv1.AddPersonRequest{RequestId: id.New().String(), DisplayName: fmt.Sprintf("Helper %d", n)})
	if err != nil {
		return nil, err
	}
	// They begin so long ago that their last instant has come.
	began := time.Now().Add(-time.Duration(b.commands/b.people+2) * lagStep)
	piece, err := b.shop.Intake.TakeInPiece(ctx, &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Title: "Chair", Kind: "chair", TakenInTime: timestamppb.New(began),
		Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "R. Okafor"}}, Parts: []*intakev1.Part{{Label: "seat"}}})
	if err != nil {
		return nil, err
	}
	_, err = b.shop.Tests.RecordLeadTest(ctx, &workflowv1.RecordLeadTestRequest{RequestId: id.New().String(), Piece: piece.Piece.Name,
		Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FREE}, TestTime: timestamppb.New(began)})
	if err != nil {
		return nil, err
	}
	plan, err := b.shop.Stages.PlanStages(ctx, &workflowv1.PlanStagesRequest{RequestId: id.New().String(), Piece: piece.Piece.Name, Route: "routes/sand"})
	if err != nil {
		return nil, err
	}
	return &lagWorker{person: person.Person.Name, piece: piece.Piece.Name, stage: plan.Stages[0].Name, cautions: client.CautionIDs(plan.Stages[0]), at: began, seen: make(chan time.Time, 1)}, nil
}

// watch follows the labour of the worker's piece, once the books know it.
func (b *lagBench) watch(ctx context.Context, w *lagWorker) error {
	for {
		if _, err := b.shop.Costing.GetPieceCost(ctx, &costingv1.GetPieceCostRequest{Piece: w.piece}); err == nil {
			break
		} else if ctx.Err() != nil {
			return ctx.Err()
		}
		time.Sleep(5 * time.Millisecond) // polling the service under measurement, before it begins
	}
	stream, err := b.shop.Costing.WatchPieceCost(ctx, &costingv1.WatchPieceCostRequest{Piece: w.piece})
	if err != nil {
		return err
	}
	first, err := stream.Recv()
	if err != nil {
		return err
	}
	last := first.PieceCost.Sums.LabourTime.AsDuration()
	go func() {
		for {
			r, err := stream.Recv()
			if err != nil {
				return // the measurement is over
			}
			if worked := r.PieceCost.Sums.LabourTime.AsDuration(); worked != last {
				last = worked
				w.seen <- time.Now()
			}
		}
	}()
	return nil
}

// run gives the commands at an even pace, each in its own goroutine so that a slow one does
// not hold up the others.
func (b *lagBench) run(ctx context.Context) error {
	tick := time.NewTicker(time.Second / time.Duration(b.rate))
	defer tick.Stop()
	failed := make(chan error, b.commands)
	var all sync.WaitGroup
commands:
	for n := range b.commands {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-b.stop:
			break commands
		case <-tick.C:
		}
		w := b.workers[n%len(b.workers)]
		all.Go(func() {
			if err := b.command(ctx, w); err != nil {
				failed <- err
			}
		})
	}
	all.Wait()
	select {
	case err := <-failed:
		return err
	default:
		return nil
	}
}

// command clocks the worker on or off, after the worker's command before.
func (b *lagBench) command(ctx context.Context, w *lagWorker) error {
	w.turn.Lock()
	defer w.turn.Unlock()
	w.at = w.at.Add(lagStep)
	if !w.on {
		w.on = true
		_, err := b.shop.Clocks.ClockOn(ctx, &workflowv1.ClockOnRequest{RequestId: id.New().String(), Person: w.person, Stage: w.stage, StartTime: timestamppb.New(w.at),
			AcknowledgedCautions: w.cautions})
		return err
	}
	w.on = false
	_, err := b.shop.Clocks.ClockOff(ctx, &workflowv1.ClockOffRequest{RequestId: id.New().String(), Person: w.person, EndTime: timestamppb.New(w.at)})
	if err != nil {
		return err
	}
	if b.unwatched {
		return nil
	}
	answered := time.Now()
	select {
	case seen := <-w.seen:
		b.mu.Lock()
		b.lags = append(b.lags, max(0, seen.Sub(answered)))
		b.mu.Unlock()
		return nil
	case <-time.After(patience):
		return fmt.Errorf("the cost of %s does not change within %s", w.piece, patience)
	}
}
