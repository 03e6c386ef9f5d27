package day

import (
	"context"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// floor is who is on what, and what is ready to work.
type floor struct {
	Missing bands.Missing
	Benches []bench
	AtWork  int // people
	Off     []absent
	Ready   ready
}

// floorFacts are what that is seen from.
type floorFacts struct {
	board    []*workflowv1.BoardLine
	entries  []*workflowv1.ClockEntry // that began since the evening before
	people   []*workflowv1.Person
	stations []*workflowv1.Station
	called   map[string]titles.Piece
	voice    *words.Voice
	now      time.Time
}

func (d *day) floor(a *web.Asked) (it floor, err error) {
	f, err := d.floorFacts(a)
	if err != nil {
		return it, it.Missing.Of(err)
	}
	it.Benches, it.AtWork, it.Off = f.benches()
	it.Ready = f.ready()
	return it, nil
}

func (d *day) floorFacts(a *web.Asked) (*floorFacts, error) {
	f := &floorFacts{voice: a.Voice, now: a.Now()}
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() (err error) {
		if f.board, err = boardOf(ctx, a.Kit.Suite); err != nil {
			return err
		}
		f.called, err = d.called(a, f.board)
		return err
	})
	reading.Go(func() (err error) {
		f.entries, err = entriesSince(ctx, a.Kit.Suite, midnight(f.now, a.Voice.Zone).Add(-overnight))
		return err
	})
	reading.Go(func() (err error) {
		f.people, err = peopleOf(ctx, a.Kit.Suite)
		return err
	})
	reading.Go(func() error {
		r, err := a.Kit.Suite.Stations.ListStations(ctx, &workflowv1.ListStationsRequest{})
		f.stations = r.GetStations()
		return err
	})
	return f, reading.Wait()
}

// overnight is how long before midnight a clock may have begun that still runs and that the day shows;
// one that is older was forgotten, and waits for the lead.
const overnight = 12 * time.Hour

func entriesSince(ctx context.Context, s *clients.Suite, from time.Time) ([]*workflowv1.ClockEntry, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
		r, err := s.Clocks.ListClockEntries(ctx, &workflowv1.ListClockEntriesRequest{FromTime: timestamppb.New(from), PageSize: pageSize, PageToken: token})
		return r.GetClockEntries(), r.GetNextPageToken(), err
	})
}
