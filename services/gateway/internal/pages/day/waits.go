package day

import (
	"context"
	"errors"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// waits is what cannot go on until somebody decides or something comes, and what was promised.
type waits struct {
	Missing  bands.Missing
	Groups   []waiting
	Promises promises
}

// waitFacts are what that is seen from.
type waitFacts struct {
	board       []*workflowv1.BoardLine
	people      []*workflowv1.Person
	stations    []*workflowv1.Station
	outside     []*workflowv1.OutsideWork
	reviews     []*workflowv1.ClockReview
	alerts      []*materialsv1.Alert
	orders      []*intakev1.CommissionOrder
	untested    []untested
	unlooked    int // stages of which nobody looked whether they need a test for lead
	promised    []*workflowv1.BoardLine
	stages      [][]*workflowv1.Stage // of those
	notReckoned int
	called      map[string]titles.Piece
	voice       *words.Voice
	now         time.Time
}

func (d *day) waits(a *web.Asked) (it waits, err error) {
	f, err := d.waitFacts(a)
	if err != nil {
		return it, it.Missing.Of(err)
	}
	it.Groups, it.Promises = f.groups(), f.promises()
	return it, nil
}

func (d *day) waitFacts(a *web.Asked) (*waitFacts, error) {
	f := &waitFacts{voice: a.Voice, now: a.Now()}
	s := a.Kit.Suite
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() error { return d.boardFacts(ctx, a, f) })
	reading.Go(func() (err error) {
		f.people, err = peopleOf(ctx, s)
		return err
	})
	reading.Go(func() error { return f.orderFacts(ctx, a) })
	reading.Go(func() error {
		r, err := s.Stations.ListStations(ctx, &workflowv1.ListStationsRequest{})
		f.stations = r.GetStations()
		return err
	})
	reading.Go(func() (err error) {
		f.outside, err = outsideOf(ctx, s)
		return err
	})
	reading.Go(func() error {
		r, err := s.Reviews.ListClockReviews(ctx, &workflowv1.ListClockReviewsRequest{PageSize: mostWaiting + 1})
		f.reviews = r.GetClockReviews()
		return err
	})
	reading.Go(func() (err error) {
		f.alerts, err = alertsOf(ctx, s)
		if errors.Is(err, fault.Unavailable) {
			return nil // the band of stock says that it is away
		}
		return err
	})
	return f, reading.Wait()
}

// boardFacts reads the board and what is seen from it.
func (d *day) boardFacts(ctx context.Context, a *web.Asked, f *waitFacts) (err error) {
	if f.board, err = boardOf(ctx, a.Kit.Suite); err != nil {
		return err
	}
	if f.called, err = d.called(a, piecesOf(f.board)); err != nil {
		return err
	}
	f.promised, f.notReckoned = atMost(promised(f.board), mostPromises)
	if f.stages, err = stagesOf(ctx, a.Kit.Suite, f.promised); err != nil {
		return err
	}
	f.untested, f.unlooked, err = d.leads.look(ctx, a.Kit.Suite, f.board)
	return err
}

func outsideOf(ctx context.Context, s *clients.Suite) ([]*workflowv1.OutsideWork, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.OutsideWork, string, error) {
		r, err := s.Outside.ListOutsideWork(ctx, &workflowv1.ListOutsideWorkRequest{PageSize: pageSize, PageToken: token})
		return r.GetOutsideWork(), r.GetNextPageToken(), err
	})
}

func alertsOf(ctx context.Context, s *clients.Suite) ([]*materialsv1.Alert, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*materialsv1.Alert, string, error) {
		r, err := s.Restock.ListAlerts(ctx, &materialsv1.ListAlertsRequest{PageSize: pageSize, PageToken: token})
		return r.GetAlerts(), r.GetNextPageToken(), err
	})
}
