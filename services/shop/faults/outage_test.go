package faults_test

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// The broker is killed every second or two, and is away for up to half a second. Of 50 kills in a
// few minutes a dozen are left. Nobody who gives a command notices.
func brokerDies(x *trial) {
	x.open(setting{})
	check, kills := x.memory(), 0
	x.busy(func() {
		x.between(500*time.Millisecond, 1500*time.Millisecond)
		x.broker.process.kill()
		x.between(50*time.Millisecond, 500*time.Millisecond)
		x.broker.start(x)
		kills++
	})
	x.Logf("%d kills", kills)
	if x.floor.history.unsure > 0 || x.floor.history.seen(fault.Exhausted) > 0 {
		x.found("noticed: commands failed without the broker")
	}
	x.caughtUp(10 * time.Second)
	check()
	x.checkBooks()
}

// Postgres is stopped at once and started again, about every second and a half, which makes a dozen
// times of 20; in between a few sessions are ended. Whoever gives commands is told to try again, and
// nothing that was answered is lost. Commits are slow to reach it, so that some are always under way.
func postgresDies(x *trial) {
	x.open(setting{own: true, judges: producers(func([]string) fate { return fate{late: x.dice.upTo(tardy)} })})
	x.floor.pace = hurry
	check, stops := x.memory(), 0
	var slowest time.Duration
	x.busy(func() {
		for range 3 {
			x.between(100*time.Millisecond, 500*time.Millisecond)
			var n int
			x.db.row(x, `SELECT count(pg_terminate_backend(pid)) FROM (SELECT pid FROM pg_stat_activity WHERE usename LIKE 'faults_%' ORDER BY random() LIMIT 2) AS s`, nil, &n)
		}
		x.db.server.stopAtOnce(x)
		x.db.server.start(x)
		slowest = max(slowest, x.answering())
		stops++
	})
	x.Logf("%d stops", stops)
	x.took("an answer from every service, once Postgres was back,", slowest, 5*time.Second)
	if n := x.floor.history.seen(fault.Internal); n > 0 {
		x.found("errors: %d times a client was told of more than an outage", n)
	}
	x.caughtUp(5 * time.Second)
	check()
	x.checkBooks()
}

// answering waits until every service reads its database, and says how long that took.
func (x *trial) answering() time.Duration {
	x.Helper()
	since, shop := time.Now(), x.fleet.shop
	for _, ask := range []func(context.Context) error{
		func(ctx context.Context) error {
			_, err := shop.Intake.ListPieces(ctx, &intakev1.ListPiecesRequest{PageSize: 1})
			return err
		},
		func(ctx context.Context) error {
			_, err := shop.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageSize: 1})
			return err
		},
		func(ctx context.Context) error {
			_, err := shop.Materials.ListProducts(ctx, &materialsv1.ListProductsRequest{PageSize: 1})
			return err
		},
		func(ctx context.Context) error {
			_, err := shop.Sales.ListListings(ctx, &salesv1.ListListingsRequest{PageSize: 1})
			return err
		},
		func(ctx context.Context) error {
			_, err := shop.Costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: 1})
			return err
		},
	} {
		for ask(x.Context()) != nil && time.Since(since) < time.Minute {
			x.wait(10 * time.Millisecond)
		}
	}
	return time.Since(since)
}
